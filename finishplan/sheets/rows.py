"""The rows of the run sheet: what one painter does in turn on one pass and coat, and how it is said. No layout here."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import groupby

from finishplan.basics.words import counted, listed
from finishplan.order.area_names import whole_coats
from finishplan.plan.plan import Plan
from finishplan.run.model import Task, Turn
from finishplan.run.together import parts_together
from finishplan.sheets.swatches import all_mixes, mixes_of, pots
from finishplan.sheets.words import number, ranges, under_dryer


@dataclass(frozen=True)
class Row:
    """Tasks that one painter does in a row on the same pass and coat. opening: the mix is opened for them first.

    dried: each piece is dried by hand, right before its coat (dried_first) or right after it.
    """

    tasks: tuple[Task, ...]
    opening: Task | None = None
    dried: tuple[Task, ...] = ()
    dried_first: bool = True

    @property
    def first(self) -> Task:
        """The first task, after the opening; not the drying by hand."""
        return self.tasks[0]

    @property
    def start_min(self) -> float:
        """When the painter turns to it."""
        return min(t.start_min for t in (*self.tasks, *self.dried, *([self.opening] if self.opening else [])))

    @property
    def end_min(self) -> float:
        """When it is done."""
        return max(t.end_min for t in (*self.tasks, *self.dried))

    @property
    def groups(self) -> tuple[tuple[tuple[str, ...], tuple[int, ...]], ...]:
        """(parts, castings), castings in the order of working; parts are together where theirs are the same."""
        return parts_together(self.tasks)


def task_rows(tasks: Sequence[Task]) -> list[Row]:
    """Tasks brought together painter by painter, in working order, each opening with what it is for."""
    found: list[Row] = []
    for painter in sorted({t.painter for t in tasks}):
        mine = sorted((t for t in tasks if t.painter == painter), key=lambda t: (t.start_min, t.end_min))
        opening: Task | None = None
        for _, group in groupby(_pieces(mine), _key):
            same = tuple(group)
            done = replace(
                same[0],
                tasks=tuple(t for one in same for t in one.tasks),
                dried=tuple(t for one in same for t in one.dried),
            )
            if opening is not None and (opening.pass_no, opening.mix) == (done.first.pass_no, done.first.mix):
                found[-1] = replace(done, opening=opening)
            else:
                found.append(done)
            opening = done.first if done.first.kind == "change" else None
    return sorted(found, key=lambda row: (row.start_min, row.first.painter))


def _key(row: Row) -> tuple[object, ...]:
    t = row.first
    return t.kind, t.pass_no, t.coat, t.mix, [(d.pass_no, d.coat) for d in row.dried], row.dried_first


def _pieces(tasks: Sequence[Task]) -> list[Row]:
    """Each task a row of its own, but for a piece dried by hand right before or right after its coat."""
    found: list[Row] = []
    held: list[Task] = []
    for t in tasks:
        if held and (held[0].casting, held[0].part) != (t.casting, t.part):
            found, held = [*found, *map(_alone, held)], []
        last = found[-1] if found else None
        if t.kind == "coat":
            found.append(Row((t,), dried=tuple(held)))
            held = []
        elif t.kind != "dryer":
            found.append(_alone(t))
        elif last and not held and not last.dried and _film(last.first) == _film(t) and not _follows(tasks, t):
            found[-1] = replace(last, dried=(t,), dried_first=False)
        else:
            held.append(t)
    return [*found, *map(_alone, held)]


def _alone(task: Task) -> Row:
    return Row((task,))


def _film(task: Task) -> tuple[object, ...]:
    return task.casting, task.part, task.pass_no, task.coat


def _follows(tasks: Sequence[Task], task: Task) -> bool:
    """Whether the next thing done is a coat on the same piece."""
    after = next((t for t in tasks if t.start_min >= task.end_min - 1e-6 and t is not task), None)
    return after is not None and after.kind == "coat" and (after.casting, after.part) == (task.casting, task.part)


def pots_of(plan: Plan, row: Row) -> tuple[Turn, ...]:
    """The turns to a mix that begin with a task of the row."""
    starts = {t.start_min for t in row.tasks}
    mine = (o for o in plan.run.turns if o.painter == row.first.painter and o.start_min in starts)
    return tuple(mine) if row.first.kind == "coat" else ()


def what(plan: Plan, row: Row) -> str:
    """The row in words, the parts in it where they have the same castings: 'Mix red, 5 drops. Pass 3, coat 2: head'."""
    t, one = row.first, len(row.groups) == 1
    where = f": {listed(row.groups[0][0])}" if one and t.part else ""
    each = "each " if len(row.tasks) > 1 else ""
    line = " along the line only" if all(_line_only(plan, row, parts) for parts, _ in row.groups) else ""
    text = {
        "change": "Wash the brush",
        "prime": f"Prime{where}",
        "coat": f"Pass {t.pass_no}, coat {t.coat}{line}{where}{_dried(row)}",
        "dryer": f"After pass {t.pass_no}, coat {t.coat}{where}, {each}{_held(row.tasks)}",
        "step": f"Step{where}",
    }[t.kind]
    return ". ".join([*opened(plan, row), text])


def castings(plan: Plan, row: Row) -> list[str]:
    """The castings in the order of working, a line for each group of parts: '1–12', or 'head 3–12' and 'body 1–12'."""
    if not row.first.casting:
        return ["the bench"]
    if len(row.groups) == 1:
        return [ranges(row.groups[0][1])]
    whole = not all(_line_only(plan, row, parts) for parts, _ in row.groups)
    line = [" (line only)" if whole and _line_only(plan, row, parts) else "" for parts, _ in row.groups]
    return [f"{listed(parts)} {ranges(done)}{s}" for (parts, done), s in zip(row.groups, line, strict=True)]


def opened(plan: Plan, row: Row) -> Iterator[str]:
    """'Mix red, 5 drops', 'Red, same pot', of two mixes both; 'Set up the primer'."""
    t, turns, names = row.first, pots_of(plan, row), {id: m.name for id, m in all_mixes(plan).items()}
    made = [f"{names[o.mix]}, {_amount(plan, o)}" for o in turns if o.drops]
    kept = [names[o.mix] for o in turns if not o.drops]
    same = [f"{listed(kept)}, same pot{'s' * (len(kept) > 1)}"] if kept else []
    if turns:
        mixed = [f"mix {', and '.join(made)}"] if made else []
        words = "; ".join([*mixed, *same])
        yield words[:1].upper() + words[1:]
    elif row.opening and not t.pass_no:
        yield "Set up the primer"
    elif row.opening or t.kind == "change":
        laid = [names[m] for p in plan.order.passes if p.no == t.pass_no for m in mixes_of(p)]
        yield f"Open {listed(laid)}" if laid else "Open the mix"


def _amount(plan: Plan, turn: Turn) -> str:
    weighed = pots(all_mixes(plan)[turn.mix], plan)[1].weighed
    return f"{number(turn.grams)} g" if weighed else counted(turn.drops, "drop")


def _line_only(plan: Plan, row: Row, parts: Iterable[str]) -> bool:
    """Whether none of these parts needs this coat but along its lines."""
    t, names = row.first, set(parts)
    work = [w for p in plan.order.passes if p.no == t.pass_no for w in p.work if not t.part or w.part in names]
    return t.kind == "coat" and bool(work) and t.coat > whole_coats(plan.order, work)


def _dried(row: Row) -> str:
    """', each 2 min under the dryer first (coat 1)'."""
    if not row.dried:
        return ""
    here = row.first.pass_no
    films = dict.fromkeys((d.pass_no, d.coat) for d in row.dried)
    named = listed(f"coat {coat}" if no == here else f"pass {no}, coat {coat}" for no, coat in films)
    each = "each " if len(row.tasks) > 1 else ""
    return f", {each}{_held(row.dried)} " + (f"first ({named})" if row.dried_first else "after")


def _held(dried: Iterable[Task]) -> str:
    return under_dryer(*(t.end_min - t.start_min for t in dried))
