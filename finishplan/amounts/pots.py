"""The pots of a run: what its schedule mixes, turns to and lays, in ml. One pot serves until the schedule mixes another
of its mix on that palette."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from finishplan.run.films import Laid
from finishplan.run.model import Pot, Run, Task, Turn

ByCoat = Mapping[tuple[int, str, int], Sequence[tuple[str, float]]]
"""(mix, ml) laid by (pass, part, coat)."""


def pots_and_turns(run: Run, laid: Laid, brush_ml: float) -> tuple[tuple[Pot, ...], tuple[Turn, ...]]:
    """Every pot in order of mixing and every turn in order of time, neither measured out in drops. laid: on one
    casting. brush_ml: lost to the brush at each turn, taken from the turn's pot."""
    by_coat: dict[tuple[int, str, int], list[tuple[str, float]]] = {}
    for (no, part, coat, mix), ml in laid.items():
        by_coat.setdefault((no, part, coat), []).append((mix, ml))
    pots, turns = list[Pot](), list[Turn]()
    # Each painter has a palette, and turns only to pots that lie on it.
    for painter in sorted({t.painter for t in run.tasks}):
        mine = sorted((t for t in run.tasks if t.painter == painter), key=lambda t: (t.start_min, t.end_min))
        own = _Palette(painter, by_coat, brush_ml)
        turns += own.work(mine)
        pots += own.pots
    # A pot mixed during a wait may dry up before anybody turns to it: nothing is measured out for it.
    used = [p for p in pots if p.ml]
    return (
        tuple(sorted(used, key=lambda p: (p.made_min, p.painter))),
        tuple(sorted(turns, key=lambda t: (t.start_min, t.painter))),
    )


class _Palette:
    """One painter's pots while the tasks go by."""

    def __init__(self, painter: int, by_coat: ByCoat, brush_ml: float) -> None:
        self.painter, self.by_coat, self.brush_ml = painter, by_coat, brush_ml
        self.pots: list[Pot] = []
        self.live: dict[str, int] = {}
        self.begun: set[int] = set()
        self.painted = {mix for laid in by_coat.values() for mix, _ in laid}

    def work(self, tasks: Sequence[Task]) -> Iterator[Turn]:
        """The turns of the tasks."""
        turns: dict[str, Turn] = {}
        for task in tasks:
            if task.kind == "mix" and task.mix in self.painted:
                # A new pot ends what was laid from the old one of its mix; other mixes on the brush go on.
                yield from self._left(turns, task.mix)
                no = sum(p.mix == task.mix for p in self.pots)
                self.live[task.mix] = len(self.pots)
                self.pots.append(Pot(task.mix, self.painter, no, task.start_min, task.end_min, 0, 0.0))
            # The brush is rinsed: whatever was on it has ended.
            elif task.kind == "change":
                yield from self._left(turns)
                self._take(task.mix, task.end_min, self.brush_ml, 1)
            elif task.kind == "coat":
                self._lay(task, turns)
        yield from self._left(turns)

    def _left(self, turns: dict[str, Turn], mix: str = "") -> list[Turn]:
        """The turns that end, of one mix or of all."""
        return [turns.pop(m) for m in list(turns) if mix in ("", m)]

    def _lay(self, task: Task, turns: dict[str, Turn]) -> None:
        for mix, ml in self.by_coat.get((task.pass_no, task.part, task.coat), ()):
            self._take(mix, task.end_min, ml, 0)
            if mix not in turns:
                number = self.live[mix]
                pot, fresh = self.pots[number], number not in self.begun
                self.begun.add(number)
                turns[mix] = Turn(
                    task.start_min, task.end_min, self.painter, task.pass_no, mix, pot=pot.no, fresh=fresh
                )
            turns[mix] = replace(turns[mix], end_min=task.end_min, ml=turns[mix].ml + ml)

    def _take(self, mix: str, until: float, ml: float, turns: int) -> None:
        if mix in self.live:  # else a primer, whose amount is reckoned by itself
            pot = self.pots[self.live[mix]]
            self.pots[self.live[mix]] = replace(pot, until_min=until, ml=pot.ml + ml, turns=pot.turns + turns)
