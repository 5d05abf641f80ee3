"""The run as it is planned: tasks, sessions, turns, pots, what to tell of it. Times in minutes."""

from dataclasses import dataclass
from typing import Literal

TaskKind = Literal["prime", "coat", "dryer", "change", "mix", "setup", "clear"]


@dataclass(frozen=True)
class Task:
    """One thing one painter does: priming, a coat on one part of one casting; or to the whole bench (casting 0): a turn
    to a mix ('change'), mixing a pot of it, drying the castings in the stream of the hair dryer, setting up, clearing
    away. figure: where the run is of several."""

    start_min: float
    end_min: float
    painter: int
    casting: int
    kind: TaskKind
    pass_no: int = 0
    coat: int = 0
    mix: str = ""
    part: str = ""
    castings: tuple[int, ...] = ()
    figure: str = ""


@dataclass(frozen=True)
class Session:
    """One stretch of work, from setting up to having cleared away. clock, clock_end: when it begins and ends ('09:00',
    'day 2, 09:00') where the job says when the run does; the end without the day it begins on. open: the mixes whose
    pots lie on the palette from before and are used again. at_min: its start in minutes after the midnight before the
    run, where the job says when that begins."""

    no: int
    start_min: float
    end_min: float
    clock: str = ""
    clock_end: str = ""
    open: tuple[str, ...] = ()
    at_min: int | None = None


@dataclass(frozen=True)
class Turn:
    """What one painter lays of a mix, from turning to it to turning to another. start_min, end_min: of its first and
    its last coat; ml: laid; pot: number of the pot of this mix and painter, from 0; fresh: its first turn; drops,
    grams: of a fresh pot."""

    start_min: float
    end_min: float
    painter: int
    pass_no: int
    mix: str
    ml: float = 0.0
    pot: int = 0
    fresh: bool = True
    drops: int = 0
    grams: float = 0.0


@dataclass(frozen=True)
class Pot:
    """One pot of a mix. made_min: when it is mixed, until_min: when it is used last; turns: to it; ml: laid from it and
    lost to the brush; drops, grams: as measured out."""

    mix: str
    painter: int
    no: int
    made_min: float
    until_min: float
    turns: int
    ml: float
    drops: int = 0
    grams: float = 0.0


@dataclass(frozen=True)
class RunAdvice:
    """What matters about the run. keep_in_work: the fewest castings at which waiting takes less than a twentieth of the
    time, None: more than were tried. first_wait_*: when the first wait begins, how long it is and before what ('' and
    0: none). dryer_saves_*: what the hair dryer takes off the time at the bench and off the sessions (does take off,
    where it is in use), minutes None: no coat may be dried so; dryer_hand_min: of its goes.
    second_painter_saves_*: what one more painter takes off the end of the run and off the sessions. best_batch: the
    smallest batch within a twentieth of the best minutes a casting, pass by pass, and those."""

    keep_in_work: int | None
    first_wait_at_min: float
    first_wait_min: float
    first_wait_before: str
    dryer_saves_min: float | None
    dryer_hand_min: float
    second_painter_saves_min: float
    best_batch: int
    best_batch_min_per_casting: float
    first_finished_min: float
    half_finished_min: float
    all_finished_min: float
    dryer_saves_sessions: int = 0
    second_painter_saves_sessions: int = 0


@dataclass(frozen=True)
class Hint:
    """One thing to change that would save time. key, value: of the job file; text: what it saves, for the maker.
    saves_sessions, saves_min: sessions the fewer, and minutes besides: at the bench, or to the end of the run."""

    key: str
    value: bool | int
    text: str
    saves_min: float
    saves_sessions: int = 0


@dataclass(frozen=True)
class Run:
    """The schedule. lower_bound_min: no schedule ends sooner; proven: makespan equals it. attendance_min: from the
    first to the last thing done in each session, setting up and clearing away included; attendance_bound_min,
    sessions_bound, changes_bound: none takes less of it, fewer sessions, fewer turns. painter_min: hands busy, of all
    painters; waiting_min: not busy between the first and the last thing each does in a session. finish_min: when each
    casting's last coat is laid. mix_changes: turns to another mix; pots_mixed: how many. method: how it was found.
    advice: sentences for the maker; advice_figures: the same in numbers; hints: what to change, what saves most
    first."""

    castings: int
    painters: int
    makespan_min: float
    painter_min: float
    waiting_min: float
    lower_bound_min: float
    proven: bool
    tasks: tuple[Task, ...]
    finish_min: tuple[float, ...]
    sessions: tuple[Session, ...] = ()
    advice: tuple[str, ...] = ()
    method: str = ""
    mix_changes: int = 0
    advice_figures: RunAdvice | None = None
    turns: tuple[Turn, ...] = ()
    """Every turn to a mix, second colours worked in wet included, in order of time."""
    pots: tuple[Pot, ...] = ()
    """Every pot in order of mixing."""
    attendance_min: float = 0.0
    attendance_bound_min: float = 0.0
    sessions_bound: int = 1
    changes_bound: int = 0
    pots_mixed: int = 0
    priming_min: float = 0.0
    """Priming all castings before the first session, not among the tasks, and the wait after it."""
    priming_wait_min: float = 0.0
    hints: tuple[Hint, ...] = ()
