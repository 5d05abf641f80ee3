"""The rows of the run sheet: what one painter does in turn on one pass and coat, and how it is said. No layout here."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby

from finishplan.basics.words import counted, duration, listed
from finishplan.order.area_names import whole_coats
from finishplan.plan.plan import Plan
from finishplan.run.model import Pot, Task, Turn
from finishplan.run.together import parts_together
from finishplan.sheets.swatches import all_mixes, pots
from finishplan.sheets.words import number, ranges


@dataclass(frozen=True)
class Row:
    """Tasks that one painter does in a row on the same pass and coat, or mixing one pot after another. opening: the pot
    mixed and the turn to its mix right before them."""

    tasks: tuple[Task, ...]
    opening: tuple[Task, ...] = ()

    @property
    def first(self) -> Task:
        """The first task, after the opening."""
        return self.tasks[0]

    @property
    def start_min(self) -> float:
        """When the painter turns to it."""
        return min(t.start_min for t in (*self.tasks, *self.opening))

    @property
    def end_min(self) -> float:
        """When it is done."""
        return max(t.end_min for t in self.tasks)

    @property
    def groups(self) -> tuple[tuple[tuple[str, ...], tuple[int, ...]], ...]:
        """(parts, castings), castings in the order of working; parts are together where theirs are the same."""
        return parts_together(self.tasks)


def task_rows(tasks: Sequence[Task]) -> list[Row]:
    """Tasks brought together painter by painter, in working order, each with the pot and the turn that it opens
    with."""
    found: list[Row] = []
    for painter in sorted({t.painter for t in tasks}):
        mine = sorted((t for t in tasks if t.painter == painter), key=lambda t: (t.start_min, t.end_min))
        opening: tuple[Task, ...] = ()
        for kind, group in groupby(mine, _key):
            same = tuple(group)
            if kind[0] == "change":
                if found and opening == () and found[-1].first.kind == "mix" and found[-1].tasks[-1].mix == same[0].mix:
                    opening, found = _taken(found)
                opening = (*opening, *same)
            else:
                found.append(Row(same, opening))
                opening = ()
        if opening:
            found.append(Row(opening))
    return sorted(found, key=lambda row: (row.start_min, row.first.painter))


def _taken(rows: list[Row]) -> tuple[tuple[Task, ...], list[Row]]:
    """The last pot mixed, taken out of the last row."""
    *others, last = rows[-1].tasks
    return (last,), [*rows[:-1], *([Row(tuple(others))] if others else [])]


def _key(task: Task) -> tuple[object, ...]:
    if task.kind in ("mix", "change"):
        return (task.kind,)
    return task.kind, task.pass_no, task.coat, task.mix, task.castings


def pots_of(plan: Plan, row: Row) -> tuple[Turn, ...]:
    """The turns to a mix that begin with a task of the row."""
    starts = {t.start_min for t in row.tasks}
    mine = (o for o in plan.run.turns if o.painter == row.first.painter and o.start_min in starts)
    return tuple(mine) if row.first.kind == "coat" else ()


def mixed_in(plan: Plan, tasks: Sequence[Task]) -> tuple[Pot, ...]:
    """The pots that are mixed in these tasks."""
    made = {(p.mix, p.painter, p.made_min): p for p in plan.run.pots}
    keys = ((t.mix, t.painter, t.start_min) for t in tasks if t.kind == "mix")
    return tuple(made[key] for key in keys if key in made)


def what(plan: Plan, row: Row) -> str:
    """The row in words, the parts in it where they have the same castings: 'Mix red, 5 drops. Pass 3, coat 2: head'."""
    t, one = row.first, len(row.groups) == 1
    where = f": {listed(row.groups[0][0])}" if one and t.part else ""
    line = " along the line only" if all(_line_only(plan, row, parts) for parts, _ in row.groups) else ""
    ahead = listed(f"{all_mixes(plan)[p.mix].name}, {_amount(plan, p)}" for p in mixed_in(plan, row.tasks))
    text = {
        "change": "Wash the brush",
        "mix": f"Mix {ahead}" if ahead else "Pour out the primer",
        "prime": f"Prime{where}",
        "coat": f"Pass {t.pass_no}, coat {t.coat}{line}{where}",
        "dryer": f"Hair dryer over all that is wet, {duration(t.end_min - t.start_min, up=True)}",
        "setup": "Set up the bench",
        "clear": "Wash up and clear away; close the palette",
    }[t.kind]
    return ". ".join([*opened(plan, row), text])


def castings(plan: Plan, row: Row) -> list[str]:
    """The castings in the order of working, a line for each group of parts: '1–12', or 'head 3–12' and 'body 1–12'."""
    if row.first.kind == "dryer":
        return [ranges(row.first.castings)]
    if not row.first.casting:
        return ["the bench"]
    if len(row.groups) == 1:
        return [ranges(row.groups[0][1])]
    whole = not all(_line_only(plan, row, parts) for parts, _ in row.groups)
    line = [" (line only)" if whole and _line_only(plan, row, parts) else "" for parts, _ in row.groups]
    return [f"{listed(parts)} {ranges(done)}{s}" for (parts, done), s in zip(row.groups, line, strict=True)]


def opened(plan: Plan, row: Row) -> Iterator[str]:
    """'Mix red, 5 drops', 'Red, same pot', of two mixes both; 'Set up the primer'."""
    turns, names = pots_of(plan, row), {id: m.name for id, m in all_mixes(plan).items()}
    mixed = mixed_in(plan, row.opening)
    made = [f"{names[p.mix]}, {_amount(plan, p)}" for p in mixed]
    kept = [names[o.mix] for o in turns if o.mix not in {p.mix for p in mixed}]
    if made or kept:
        words = [f"mix {', and '.join(made)}"] if made else []
        words += [f"{listed(kept)}, same pot{'s' * (len(kept) > 1)}"] if kept else []
        told = "; ".join(words)
        yield told[:1].upper() + told[1:]
    elif row.opening and row.first.kind == "prime":
        yield "Set up the primer"


def _amount(plan: Plan, pot: Pot) -> str:
    weighed = pots(all_mixes(plan)[pot.mix], plan)[1].weighed
    return f"{number(pot.grams)} g" if weighed else counted(pot.drops, "drop")


def _line_only(plan: Plan, row: Row, parts: Iterable[str]) -> bool:
    """Whether none of these parts needs this coat but along its lines."""
    t, names = row.first, set(parts)
    work = [w for p in plan.order.passes if p.no == t.pass_no for w in p.work if not t.part or w.part in names]
    return t.kind == "coat" and bool(work) and t.coat > whole_coats(plan.order, work)
