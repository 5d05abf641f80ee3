"""The summary of a plan in the terminal: one screen; all figures and reasons stand in the files."""

from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from finishplan.basics.words import counted, duration
from finishplan.cli.tables import coats_told, written
from finishplan.cli.terminal import Cell, say, table
from finishplan.plan.left_out import left_out
from finishplan.plan.sharing_words import exchange
from finishplan.sheets.words import sentence

if TYPE_CHECKING:
    from finishplan.order.model import Pass
    from finishplan.plan.plan import Plan

MOST_LINES = 4
"""Lines of advice, and of notes, that are shown; the others stand in plan.json."""


def show_plan(plan: "Plan", files: Sequence[Path], *, why: bool = False) -> None:
    """What is painted in which order, how long it takes, what to know, where it is written. why: the reasons too."""
    run = plan.run
    parts, areas = counted(len(plan.scheme.parts), "part"), counted(len(plan.scheme.areas), "area")
    mixes = counted(len(plan.mixes) + len(plan.order.extra_mixes), "mix", "mixes")
    say(f"{plan.scheme.name}: {parts}, {areas}, {mixes}, {counted(len(plan.order.passes), 'pass')}")
    if plan.scheme.guessed:
        say(plan.scheme.guessed)
    if told := exchange(plan.pots_within, plan.mix_settings.within):
        say(f"Mixes: {told}")
    say(f"Primer: {plan.order.primer.why}")
    _passes(plan)
    if why:
        _reasons(plan)
    for line in _run_lines(plan):
        say(line)
    # What stands above, or among the advice, is not said again as a note.
    said = {told.casefold() for told in (*run.advice, plan.scheme.guessed)}
    _some(run.advice, [n for n in plan.notes if n.casefold() not in said])
    written(files)


def _passes(plan: "Plan") -> None:
    mixes = {m.id: m for m in (*plan.mixes, *plan.order.extra_mixes)}
    rows: list[list[Cell]] = []
    for p in plan.order.passes:
        names = " + ".join(f"{id} {mixes[id].name}" for id in (p.mix, *p.also_open) if id in mixes)
        colour = mixes[p.mix].hex if p.mix in mixes else "#808080"
        error = f"{mixes[p.mix].delta_e:.1f}" if p.mix in mixes else ""
        rows.append([str(p.no), (names, colour), " ".join(map(str, sorted(p.areas))), _coats(plan, p), error])
    table(["pass", "mix", "areas", "coats", "colour error"], rows, "")


def _coats(plan: "Plan", one: "Pass") -> str:
    told = coats_told((w.kind, w.area, w.coats, plan.order.line_coats(w)) for w in one.work)
    kinds = {"dot": "dots", "blend": "shading", "recut": "touch up the line"}
    return f"{told}, {kinds[one.kind]}" if one.kind in kinds else told


def _reasons(plan: "Plan") -> None:
    for p in plan.order.passes:
        say(f"Pass {p.no}: {' '.join(map(sentence, p.why))}")


def _run_lines(plan: "Plan") -> Iterator[str]:
    from finishplan.run.words import least, taken

    run = plan.run
    castings = counted(run.castings, "casting")
    who = f" by {counted(run.painters, 'painter')}" if run.painters > 1 else ""
    hand = duration(run.painter_min, days=False)
    waiting = duration(run.waiting_min, days=False)
    yield f"{castings} painted in {taken(run)}{who}: {hand} of work, {waiting} of waiting; {least(run)}"
    if told := left_out([plan]):
        yield told


def _some(*groups: Iterable[str]) -> None:
    """The first MOST_LINES lines of each group; how many more there are in all."""
    left = 0
    # Each group by itself: much advice must not push out every note.
    for told in (list(dict.fromkeys(lines)) for lines in groups):
        for line in told[:MOST_LINES]:
            say(f"- {sentence(line)}")
        left += len(told[MOST_LINES:])
    if left:
        say(f"- {left} more in plan.json.")
