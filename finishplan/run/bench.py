"""The bench while a run is worked through: painters, brushes, palettes, wet pieces, sessions. Times in ticks.

Everything is done as early as may be, in the order in which it is asked for. A pot that a coat lacks is mixed in the
last wait before it in which it is not mixed too early to serve, while a well was free ever since; else right before it.
"""

import heapq
from collections.abc import Iterable, Sequence
from typing import Literal, NamedTuple

from finishplan.run.hours import FOREVER
from finishplan.run.problem import Operation, RunProblem

_NONE: tuple[int, ...] = ()


class Done(NamedTuple):
    """One thing done. coat: the number of what is laid, or -1; castings: in the stream of the dryer."""

    kind: Literal["mix", "change", "coat", "dryer"]
    start: int
    end: int
    painter: int
    mix: int = -1
    coat: int = -1
    castings: tuple[int, ...] = ()


class Score(NamedTuple):
    """What a run takes. attendance: from the first to the last thing done in each session, all painters there, setting
    up and clearing away included; hand: what the painters do, without that."""

    sessions: int
    makespan: int
    attendance: int
    turns: int
    hand: int


class Unfit(Exception):
    """An order of things that nobody would follow: a casting is begun for which the rack has no place, or a pot is
    thrown away before it is used."""


class _Wait(NamedTuple):
    """A wait of a painter alone, in whole or what is left of it; pots: that lay on the palette at once since."""

    start: int
    end: int
    pots: int


class _Ahead(NamedTuple):
    """A pot that can be mixed in a wait, from `start` on; wait: its place in the list of them."""

    mix: int
    wait: int
    start: int


class _Plan(NamedTuple):
    """How a painter would come to lay a coat: begin from `now` on with mixing, turn at `turn_at` (-1: not due). ahead:
    what a wait before it was good for."""

    start: int
    now: int
    mixings: tuple[int, ...]
    turn_at: int
    session: int
    ahead: _Ahead | None


class Bench:
    """What stands where. log: None, or a list that takes all that is done."""

    def __init__(self, problem: RunProblem, log: list[Done] | None = None) -> None:
        self.problem, self.log = problem, log
        count, self.alone = problem.base[-1], problem.painters == 1
        self.touch, self.recoat = [0] * count, [0] * count
        # seat -1: nobody has sat down yet, so that the first coat of all takes a turn too.
        self.free, self.brush, self.seat = ([fill] * problem.painters for fill in (0, -1, -1))
        self.pots: list[dict[int, tuple[int, int]]] = [{} for _ in range(problem.painters)]
        self.session, self.at = 0, [(0, *problem.hours.window(0))] * problem.painters
        self.spans: dict[int, tuple[int, int]] = {}
        self.welcome = list(problem.castings.ready)
        self.left = [b - a for a, b in zip(problem.base, problem.base[1:], strict=False)]
        # A piece can be in one painter's hands at a time; of a painter alone that goes without saying.
        self.piece: dict[tuple[int, str], int] = {}
        self.busy = [0] * problem.count
        self.damp: list[list[int]] = [[] for _ in range(problem.count)]
        self.begun = [problem.castings.rack is None] * problem.count
        # A heap of the times at which a place of the rack comes free; all are free at the start.
        self.places = [0] * (problem.castings.rack or 0)
        self.turns = self.hand = self.makespan = self.primed = 0
        self.waits: list[_Wait] = []
        # Coats still to come of each mix tell when a pot has served and its well is free.
        self.to_lay = [0] * len(problem.mixes)
        for _, op in problem.coats:
            for mix in op.used:
                self.to_lay[mix] += 1
        self.mixing, self.life = [m.mixing for m in problem.mixes], [m.life or FOREVER for m in problem.mixes]
        # A shorter wait than the quickest mixing is not worth remembering.
        self.quickest = min((m.mixing for m in problem.mixes if m.mixing), default=FOREVER)

    def copy(self) -> "Bench":
        """The same bench, from which things may go on another way; it logs nothing."""
        made = object.__new__(Bench)
        vars(made).update(vars(self))
        made.log = None
        for name in ("touch", "recoat", "free", "brush", "seat", "at", "spans", "welcome", "left", "piece", "busy"):
            setattr(made, name, getattr(self, name).copy())
        for name in ("begun", "places", "waits", "to_lay"):
            setattr(made, name, getattr(self, name).copy())
        made.pots, made.damp = [p.copy() for p in self.pots], [d.copy() for d in self.damp]
        return made

    def admits(self, casting: int) -> bool:
        """Whether it stands in the rack, or finds a place there."""
        return self.begun[casting] or bool(self.places)

    def ready_at(self, coat: int) -> int:
        """When what the coat waits for is dry enough and the piece at hand."""
        casting, op = self.problem.coats[coat]
        ready, (over, beside) = self.welcome[casting], self.problem.waits[coat]
        recoat, touch = self.recoat, self.touch
        for before in over:  # written out, as this is gone through most of all
            if recoat[before] > ready:
                ready = recoat[before]
        for before in beside:
            if touch[before] > ready:
                ready = touch[before]
        # A painter alone does one thing after the other: these waits cannot bind, and looking them up takes time.
        if not self.alone:
            primed = self.primed if op.kind == "coat" and self.problem.primes_first else 0
            return max(ready, primed, self.piece.get((casting, op.part), 0))
        return ready

    def lay(self, coat: int) -> int:
        """Lay a coat, with the mixing and the turn it takes; its end. Raises Unfit."""
        casting, op = self.problem.coats[coat]
        if not self.begun[casting]:
            self._begin(casting)
        ready, painter = self.ready_at(coat), 0
        if self.alone:
            plan = self._plan(0, op, ready)
        else:
            plans = [(self._plan(k, op, ready), k) for k in range(len(self.free))]
            # Of those who can begin it as soon, the one who has the least to prepare.
            plan, painter = min(plans, key=lambda p: (p[0].start, -p[0].now))
        self._prepare(painter, op, plan)
        end = plan.start + op.work
        self.touch[coat], self.recoat[coat] = end + op.touch, end + op.recoat
        self._spend(painter, plan.start, end, plan.session)
        if self.log is not None:
            self.log.append(Done("coat", plan.start, end, painter, op.mix, coat))
        # Written out as in `ready_at`: of all that a plan does, this is done most often.
        self.makespan = end if end > self.makespan else self.makespan
        self.busy[casting] = end if end > self.busy[casting] else self.busy[casting]
        self.damp[casting].append(coat)
        if not self.alone:
            self.piece[casting, op.part] = end
            self.primed = max(self.primed, end) if op.kind == "prime" else self.primed
        self.left[casting] -= 1
        if not self.left[casting] and self.problem.castings.rack is not None:
            first, last = self.problem.base[casting], self.problem.base[casting + 1]
            # It keeps its place until the last film is dry, not until the last coat is laid.
            heapq.heappush(self.places, max(self.recoat[first:last]))
        return end

    def _begin(self, casting: int) -> None:
        """Give a casting its place in the rack. Raises Unfit where none comes free."""
        if not self.places:
            raise Unfit
        self.begun[casting] = True
        self.welcome[casting] = max(self.welcome[casting], heapq.heappop(self.places))

    def wet(self, coats: Iterable[int]) -> tuple[int, ...]:
        """The castings that hold up these coats and may stand in the hair dryer's stream, as many as fit."""
        most = min(len(self.problem.stream.go), self.problem.count)
        # The go falls to whoever is free first, so that is the moment at which it matters what is wet.
        now, found = min(self.free), dict[int, bool]()
        for coat in coats:
            # Each casting is judged once; only what a coming coat waits for is worth the stream.
            casting = self.problem.coats[coat][0]
            if found.get(casting) is None and self.ready_at(coat) > now:
                wet = self.damp[casting] = [n for n in self.damp[casting] if self.recoat[n] > now]
                # One film wet with solvent keeps the whole casting out of the warm air.
                found[casting] = bool(wet) and all(self.problem.coats[n][1].forced for n in wet)
            if sum(found.values()) == most:
                break
        return tuple(j for j, fits in found.items() if fits)

    def dry(self, castings: Sequence[int]) -> None:
        """One go of the hair dryer over all that is wet on the castings."""
        if not castings:
            return
        painter = self.free.index(min(self.free))
        # No piece is painted while it stands in the stream, and none is put there out of a painter's hands.
        ready = max(self.free[painter], *(self.busy[j] for j in castings))
        hours, length = self.problem.hours, self.problem.stream.go[len(castings) - 1]
        start = hours.fit(max(ready, hours.window(self.session)[0]), length)
        end = start + length
        dry = end + self.problem.stream.rest
        for casting in castings:
            for n in self.damp[casting]:
                # A film that would be dry sooner by itself is not held up by the go.
                self.touch[n], self.recoat[n] = min(self.touch[n], dry), min(self.recoat[n], dry)
            self.damp[casting] = []
            self.busy[casting] = end
            self.welcome[casting] = max(self.welcome[casting], end)
        self._spend(painter, start, end, hours.index(start))
        if self.log is not None:
            self.log.append(Done("dryer", start, end, painter, castings=tuple(castings)))

    def mix_now(self, mix: int) -> None:
        """Mix a pot where a painter alone has none, will need it and a well is free."""
        pots, work = self.pots[0], self.mixing[mix]
        # To be ignored, not refused: the search sets such marks anywhere, and a mark without effect does no harm.
        if not self.alone or not work or mix in pots or not self.to_lay[mix] or len(pots) >= self.problem.wells:
            return
        hours = self.problem.hours
        start = hours.fit(max(self.free[0], hours.window(self.session)[0]), work)
        self._mix(0, mix, start, (), hours.index(start))

    def go_home(self) -> None:
        """Leave the rest to the next session."""
        # Before anything was done there is no session to leave; a HOME there would only push the run back.
        if self.problem.hours.length is not None and self.spans:
            self.session = max(self.spans) + 1

    def score(self) -> Score:
        """What the run has taken."""
        setup = 0 if self.problem.hours.length is None else self.problem.hours.setup
        attendance = sum(b - a + setup for a, b in self.spans.values())
        return Score(len(self.spans), self.makespan, attendance, self.turns, self.hand)

    def _plan(self, painter: int, op: Operation, ready: int) -> _Plan:
        free, window = self.free[painter], self.problem.hours.window
        # `at` keeps how far this was counted: the painter is never free earlier again, so it need not start from 0.
        number, opens, closes = self.at[painter]
        while number < self.session or closes <= free:
            number += 1
            opens, closes = window(number)
        self.at[painter] = number, opens, closes
        while True:
            now = opens if opens > free else free
            # Every session begins with a turn: the brush was washed when the one before ended.
            due = self.problem.turn if self.brush[painter] != op.mix or self.seat[painter] != number else 0
            start, mixings, ahead = (ready if ready > now + due else now + due), _NONE, None
            if self._lacking(painter, op, start + op.work):
                start, mixings, ahead = self._with_pots(painter, op, now + due, ready)
            if start + op.work <= closes:
                for k, mix in enumerate(mixings, 1):
                    made = sum([self.mixing[m] for m in mixings[:k]])
                    # No sooner than lets the k-th pot live to the end of the coat: the wait comes before the mixing.
                    now = max(now, start + op.work - self.life[mix] - made)
                return _Plan(start, now, mixings, start - due if due else -1, number, ahead)
            number += 1
            opens, closes = window(number)

    def _with_pots(
        self, painter: int, op: Operation, begin: int, ready: int
    ) -> tuple[int, tuple[int, ...], _Ahead | None]:
        """Start of a coat, what is mixed right before it, and ahead of it, with the pots it lacks. begin: of the coat
        if it lacked none."""
        took, mixings = 0, _NONE
        # Mixing puts the coat off, and a later coat may find another pot too old: until nothing is added any more.
        while True:
            start = max(begin + took, ready)
            lacking, ahead = self._lacking(painter, op, start + op.work), None
            # Only the first that is lacking: one pot a coat from the waits, the rest right before it.
            if lacking and (ahead := self._ahead(lacking[0], start + op.work)):
                lacking = lacking[1:]
            if lacking == mixings:
                return start, mixings, ahead
            mixings = lacking
            took = sum([self.mixing[m] for m in mixings])

    def _lacking(self, painter: int, op: Operation, until: int) -> tuple[int, ...]:
        """The mixes of a coat of which no pot is live until then."""
        pots, lacking = self.pots[painter], _NONE
        for mix in op.used:
            pot = pots.get(mix)
            # A spray can is not mixed, nor does it take a well.
            if (pot is None or pot[0] + self.life[mix] < until) and self.mixing[mix]:
                lacking = (*lacking, mix)
        return lacking

    def _ahead(self, mix: int, until: int) -> _Ahead | None:
        """The last wait in which a pot of the mix could have been mixed that lives until then."""
        work, life = self.mixing[mix], self.problem.mixes[mix].life
        # Not before the last use of the pot it replaces: that one would have been thrown away while in use.
        last = self.pots[0].get(mix, (0, 0))[1]
        for number in range(len(self.waits) - 1, -1, -1):
            wait = self.waits[number]
            start = wait.start if life is None else max(wait.start, until - life - work)
            if start + work <= wait.end:
                # The last wait that is long enough, and no earlier one: a pot mixed sooner grows stale sooner.
                return _Ahead(mix, number, start) if last <= start else None
        return None

    def _prepare(self, painter: int, op: Operation, plan: _Plan) -> None:
        now, pots = plan.now, self.pots[painter]
        if plan.ahead:
            self._mix_ahead(plan.ahead)
        for mix in plan.mixings:
            now = self._mix(painter, mix, now, op.used, plan.session)
        due = plan.turn_at >= 0
        until = plan.turn_at if due else plan.start
        # Only inside a session that has begun: mixing before its first task would make the evening longer.
        if self.alone and until - now >= self.quickest and plan.session in self.spans:
            self._waited(now, until)
        if due:
            self.brush[painter], self.seat[painter] = op.mix, plan.session
            self.turns += 1
            self._spend(painter, plan.turn_at, plan.start, plan.session)
            if self.log is not None:
                self.log.append(Done("change", plan.turn_at, plan.start, painter, op.mix))
        for mix in op.used:
            if (pot := pots.get(mix)) is not None:
                pots[mix] = pot[0], plan.start + op.work
            self.to_lay[mix] -= 1
            # `to_lay` counts for all painters together: with several, this palette's pot may be done with or not.
            if not self.to_lay[mix] and self.alone:
                pots.pop(mix, None)

    def _mix(self, painter: int, mix: int, now: int, kept: Sequence[int], session: int) -> int:
        """Mix a pot, in place of the one least recently used where no well is free; its end. Raises Unfit."""
        pots, end, gone = self.pots[painter], now + self.mixing[mix], mix
        if mix not in pots and len(pots) >= self.problem.wells:
            # Never a mix of this very coat: __post_init__ of the problem saw to it that they fit the wells together.
            gone = min((m for m in pots if m not in kept), key=lambda m: pots[m][1])
        self._give_up(painter, gone)
        pots[mix] = end, end
        if self.waits:
            self._crowded()
        self._spend(painter, now, end, session)
        if self.log is not None:
            self.log.append(Done("mix", now, end, painter, mix))
        return end

    def _give_up(self, painter: int, mix: int) -> None:
        """The pot of the mix, where there is one, is too old or its well is needed. Raises Unfit if it was not used."""
        # Nothing there: as if made and used at different times, so nothing is wrong.
        made, used = self.pots[painter].pop(mix, (0, 1))
        if made == used:
            raise Unfit

    def _mix_ahead(self, ahead: _Ahead) -> None:
        """Mix a pot in a wait gone by: what was done since stays as it was."""
        end = ahead.start + self.mixing[ahead.mix]
        self._give_up(0, ahead.mix)
        self.pots[0][ahead.mix] = end, end
        # What is left of the wait can take another pot.
        self.waits[ahead.wait] = self.waits[ahead.wait]._replace(start=end)
        # The pot lies on the palette from then on, and so takes a well in every wait since.
        self._crowded(1)
        # Not by way of `_spend`, which would set the painter's clock back to the wait.
        self.hand += end - ahead.start
        if self.log is not None:
            self.log.append(Done("mix", ahead.start, end, 0, ahead.mix))

    def _waited(self, now: int, until: int) -> None:
        """Remember a wait in which a pot could be mixed."""
        if len(self.pots[0]) < self.problem.wells:
            self.waits.append(_Wait(now, until, len(self.pots[0])))

    def _crowded(self, more: int = 0) -> None:
        """Forget the waits since which all wells were taken, now or with so many pots more."""
        pots, wells = len(self.pots[0]), self.problem.wells
        waits = (w._replace(pots=max(w.pots + more, pots)) for w in self.waits)
        self.waits = [w for w in waits if w.pots < wells]

    def _spend(self, painter: int, start: int, end: int, session: int) -> None:
        """The painter is busy with something, and so in that session."""
        self.free[painter] = end
        self.hand += end - start
        first, last = self.spans.get(session, (start, end))
        self.spans[session] = (start if start < first else first), (end if end > last else last)
