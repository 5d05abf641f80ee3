"""Drying, the steps from the mould to the box, quantities, and the run's schedule. Times in minutes."""

from dataclasses import dataclass
from typing import Literal

TaskKind = Literal["prime", "coat", "dryer", "change", "step"]


@dataclass(frozen=True)
class Task:
    """One thing one painter does to one casting (0: to the whole bench, as changing the mix)."""

    start_min: float
    end_min: float
    painter: int
    casting: int
    kind: TaskKind
    pass_no: int = 0
    coat: int = 0
    mix: str = ""
    part: str = ""


@dataclass(frozen=True)
class Session:
    """One stretch of work. clock, clock_end: when it begins and ends ('09:00', 'day 2, 09:00') where the job says when
    the run does; the end without the day it begins on."""

    no: int
    start_min: float
    end_min: float
    clock: str = ""
    clock_end: str = ""


@dataclass(frozen=True)
class Turn:
    """What one painter lays of a mix, from turning to it to turning to another. start_min, end_min: of its first and
    its last coat; ml: laid; pot: number of the pot of this mix, from 0; fresh: it is made for this turn; drops, grams:
    of the pot made, none where one made before is good to the end of the turn."""

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
class RunAdvice:
    """What matters about the run. keep_in_work: the fewest castings at which waiting takes less than a
    twentieth of the time, None: more than were tried. first_wait_*: when the first wait begins, how long it
    is and before what ('' and 0: none). dryer_saves_min: what the hair dryer takes off the makespan (does
    take off, where it is in use), None: no coat may be dried so. second_painter_saves_min: what one more
    painter takes off. best_batch: the smallest batch within a twentieth of the best minutes a casting, pass by pass,
    and those. other_*: the same run by the other goal (the fewest mix changes, or where those are asked for the least
    makespan): how much later it ends, and its mix changes and painters' minutes, each less this run's."""

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
    other_later_min: float = 0.0
    other_changes: int = 0
    other_work_min: float = 0.0

    def other_gains(self, fewest_changes: bool) -> bool:
        """Whether the other goal is worth telling: it takes two mix changes off a run that is to end as soon as can
        be, or ends one of the fewest changes a minute sooner."""
        if fewest_changes:
            return self.other_later_min <= -1
        return self.other_changes <= -2 and self.other_later_min >= 0


@dataclass(frozen=True)
class Run:
    """The schedule. lower_bound_min: no schedule is shorter; proven: makespan equals it, or a search proved
    it. finish_min: when each casting's last coat is laid. waiting_min: of all painters, within sessions,
    between the first and the last thing each does. method: how it was found. advice: sentences for the maker;
    advice_figures: the same in numbers."""

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
