"""The first page: the figure, its palette, the primer, the figures that matter, cautions; then the steps."""

from collections.abc import Sequence
from dataclasses import replace
from functools import partial
from typing import Any

from reportlab.platypus import NextPageTemplate, Spacer

from finishplan.basics.words import counted, duration, listed
from finishplan.bench.model import Step
from finishplan.paint.model import Mix
from finishplan.plan.plan import Plan
from finishplan.sheets import look as lk
from finishplan.sheets.blocks import beside_swatch, heading, numbered_picture, plate, tick, title_here
from finishplan.sheets.columns import Columns, ReadDown, column_width
from finishplan.sheets.layout import Room, Section, section
from finishplan.sheets.look import BIG, MM, NAME, NOTE, READ, Look
from finishplan.sheets.pictures import painted, part_map
from finishplan.sheets.swatches import all_mixes, taken_by
from finishplan.sheets.words import amount, number, sentence

FIGURE_WIDE = 0.58
"""Share of the page that the figure on the first page takes."""
FIGURE_PX = 800


def first_page(plan: Plan, look: Look, figure: Room) -> list[Any]:
    """Everything that is true of the whole plan. figure: its `whole_figure`."""
    return [
        NextPageTemplate("sheet"),
        Section("The whole plan"),
        look.para(plan.scheme.name, BIG, face="heavy"),
        Spacer(1, 1.5 * MM),
        look.para(_subtitle(plan), READ, lk.QUIET),
        Spacer(1, 4 * MM),
        _figure_and_facts(plan, look, figure),
        *_said("Mind this first", plan.warnings, look, READ),
        *heading(look, "Palette", keep=45 * MM),
        *_palette(plan, look),
        *_said("Cautions", plan.cautions, look, NOTE),
        *_said("Notes", (*plan.scheme.notes, *plan.order.notes, *plan.notes), look, NOTE),
    ]


def _subtitle(plan: Plan) -> str:
    parts = [
        "Painting order",
        counted(len(plan.scheme.parts), "part"),
        counted(plan.run.castings, "casting"),
        f"{number(plan.scheme.height_mm)} mm high",
    ]
    return " · ".join([*parts, *([plan.date] if plan.date else [])])


def whole_figure(plan: Plan, look: Look) -> Room:
    """The figure as drawn. The plan may lack its run and quantities."""
    whole = part_map(plan.drawing, [a.id for a in plan.drawing.areas], FIGURE_PX)
    colours = {a.id: a.hex for a in plan.drawing.areas}
    paint = partial(painted, whole, colours, line=plan.drawing.ink or lk.INK, grey=look.grey)
    return numbered_picture(look, paint, whole.labels, (), (FIGURE_WIDE * look.measure, 100 * MM), NOTE)


def _figure_and_facts(plan: Plan, look: Look, figure: Room) -> Columns:
    left = FIGURE_WIDE * look.measure
    right = look.measure - left - 6 * MM
    return Columns([(0, left, [figure]), (left + 6 * MM, right, _facts(plan, look, right))], look.depth)


def _fact(look: Look, label: str, value: str, more: str = "") -> list[Any]:
    """A label, its figure, and a line that explains it."""
    told = [look.para(sentence(more), NOTE, lk.QUIET)] if more else []
    return [*_figure(look, label, value), *told, Spacer(1, 2.2 * MM)]


def _figure(look: Look, label: str, value: str) -> list[Any]:
    return [look.para(label, NOTE, lk.ACCENT, "strong"), look.para(value, NAME, face="strong")]


def _facts(plan: Plan, look: Look, width: float) -> list[Any]:
    order, run, primer = plan.order, plan.run, plan.order.primer
    few = "no order of these colours has fewer" if order.proven else f"no order has fewer than {order.bound}"
    room = f"{number(plan.room.temperature_c)} °C, {number(plan.room.humidity_pct)} % relative humidity"
    paint = plan.dry[min(1, len(plan.dry) - 1)]
    dries = f"coats of {number(paint.dry_um)} µm dry film: touch dry in {duration(paint.touch_dry_min, up=True)}"
    again = f"next coat after {duration(paint.recoat_min, up=True)}"
    rests = f"{dries}, {again}. What else the plan rests on stands on the last page"
    whole = duration(run.makespan_min, days=len(run.sessions) > 1)
    changes = counted(run.mix_changes, "mix change")
    who = f"{counted(run.castings, 'casting')}, {counted(run.painters, 'painter')}, {changes}"
    primed = ", priming included" if primer.coats else ""
    each = f"{duration(run.painter_min / run.castings)} for each casting{primed}" if run.castings > 1 else primed[2:]
    return [
        beside_swatch(look, primer.hex, width, _figure(look, "Primer", primer.name if primer.coats else "none")),
        Spacer(1, 0.8 * MM),
        look.para(sentence(primer.why), NOTE, lk.QUIET),
        Spacer(1, 2.2 * MM),
        *_fact(look, "Passes", str(len(order.passes)), few),
        *_fact(look, "From first brush to last coat", whole, who),
        *_fact(look, "Work at the bench", duration(run.painter_min, days=False), each),
        *_other_goal(plan, look),
        *_fact(look, "It rests on", room, rests),
    ]


def _other_goal(plan: Plan, look: Look) -> list[Any]:
    """The same run by the other goal, where that gains something."""
    run, figures, fewest = plan.run, plan.run.advice_figures, plan.run_settings.fewest_changes
    if figures is None or not figures.other_gains(fewest):
        return []
    whole = duration(run.makespan_min + figures.other_later_min, days=len(run.sessions) > 1)
    hand = duration(run.painter_min + figures.other_work_min, days=False)
    changes = counted(run.mix_changes + figures.other_changes, "mix change")
    label = "Or as soon as can be" if fewest else "Or with the fewest mix changes"
    how = f"fewest_changes = {str(not fewest).lower()} under [run] plans it so"
    return _fact(look, label, whole, f"{changes}, {hand} at the bench; {how}")


def _palette(plan: Plan, look: Look) -> list[Any]:
    """Every mix: the drawn colour beside the mixed one, letter, name, areas."""
    across, gap = 4, lk.GUTTER
    width = (look.measure - (across - 1) * gap) / across
    cells = [_palette_cell(look, m, *taken_by(m, plan), width) for m in all_mixes(plan).values()]
    rows = [cells[k : k + across] for k in range(0, len(cells), across)]
    columns = [
        Columns([(n * (width + gap), width, cell) for n, cell in enumerate(row)], look.depth, pad=1.2 * MM)
        for row in rows
    ]
    legend = "Left of each swatch the colour as drawn, right as mixed. The numbers are the areas that take it."
    return [look.para(legend, NOTE, lk.QUIET), *columns]


def _palette_cell(look: Look, mix: Mix, areas: Sequence[int], under: Sequence[int], width: float) -> list[Any]:
    high = 11 * MM

    def draw(canvas: Any) -> None:
        canvas.setLineWidth(0)
        for x, w, colour in ((0, width * 0.35, mix.drawn_hex), (width * 0.35, width * 0.65, mix.hex)):
            canvas.setFillColor(look.colour(colour))
            canvas.rect(x, 0, w, high, stroke=0, fill=1)
        canvas.setStrokeColor(look.colour(lk.QUIET))
        canvas.setLineWidth(0.5)
        canvas.rect(0, 0, width, high)
        plate(canvas, look, mix.id, width * 0.675, high / 2, READ)

    where = "; ".join([", ".join(map(str, areas))] * bool(areas) + [f"undercoat on {listed(under)}"] * bool(under))
    off = "" if mix.reachable else f"; nearest mix, {number(mix.delta_e)} away"
    return [Room(width, high, draw), look.para(mix.name, READ, face="strong"), look.para(where + off, NOTE, lk.QUIET)]


def _said(title: str, lines: Sequence[str], look: Look, size: float) -> list[Any]:
    """A heading and its lines, each once, in two columns."""
    if not lines:
        return []
    paras = [look.para(sentence(text), size, spaceAfter=3) for text in dict.fromkeys(lines)]
    return [*heading(look, title), ReadDown(look, paras)]


def last_page(plan: Plan, look: Look, alone: bool) -> list[Any]:
    """Every number that the plan rests on, with its source: on a page of its own, or under what stands before it."""
    if not plan.assumptions:
        return []
    title = "What the plan rests on"
    return [*(section(title) if alone else []), *title_here(look, title), ReadDown(look, _by_source(plan, look), 3)]


def _by_source(plan: Plan, look: Look) -> list[Any]:
    """The assumptions, those of one source under its name, the source of one or two after each."""
    groups: dict[str, list[str]] = {}
    for a in plan.assumptions:
        words = f"{look.mark(a.name)} {look.mark(amount(a.value, a.unit), 'strong')}"
        groups.setdefault(a.source, []).append(words)
    lines: list[Any] = []
    for source, rows in groups.items():
        if len(rows) < 3:
            lines += [look.rich(f"{row} {look.mark(f'({source})')}", NOTE, spaceAfter=2) for row in rows]
            continue
        head = look.para(f"{sentence(source)[:-1]}:", NOTE, lk.ACCENT, "strong")
        first, *more = [look.rich(row, NOTE, spaceAfter=2) for row in rows]
        lines += [Columns([(0, column_width(look, 3), [Spacer(1, 3), head, first])], 1e6), *more]
    return lines


def steps_page(plan: Plan, look: Look) -> list[Any]:
    """From the mould to the box: every step with a box to tick; the passes, told elsewhere, in one line."""
    if not plan.steps:
        return []
    story = title_here(look, "From the mould to the box")
    passes = [s for s in plan.steps if s.kind == "painting" and s.key.startswith("pass")]
    said: set[str] = set()
    for step in plan.steps:
        if step in passes[1:]:
            continue
        fresh = [c for c in step.cautions if c not in said]
        said.update(fresh)
        together = step in passes and len(passes) > 1
        numbers = f"{step.no}–{passes[-1].no}" if together else str(step.no)
        told = _all_passes(plan, passes) if together else step
        story.append(_step(look, told, numbers, fresh, " each" if plan.run.castings > 1 else ""))
    return story


def _all_passes(plan: Plan, passes: Sequence[Step]) -> Step:
    """The passes as one step, with what the run spends on them; its rests are the run sheet's."""
    spent = sum(t.end_min - t.start_min for t in plan.run.tasks if t.pass_no) / max(plan.run.castings, 1)
    text = f"Paint as the painting order and the run sheet say: {len(passes)} passes"
    return replace(passes[0], text=text, minutes=spent, wait_min=0.0, why="")


def _step(look: Look, step: Step, numbers: str, cautions: Sequence[str], each: str) -> Columns:
    wide = look.measure
    wait = f"{duration(step.wait_min, up=True)} of waiting" if step.wait_min else ""
    time = [f"{duration(step.minutes)}{each}" if step.minutes else "", wait]
    said = [look.para(sentence(step.text), READ)]
    mind = " ".join(sentence(c) for c in cautions)
    more = [look.mark(sentence(step.why), "slant"), f"{look.mark('Mind:', 'strong')} {look.mark(mind)}" if mind else ""]
    if any(more):
        said.append(look.rich(" ".join(more), NOTE, lk.QUIET))
    return Columns(
        [
            (0, 6 * MM, [tick(look)]),
            (7 * MM, 13 * MM, [look.para(numbers, READ, face="heavy")]),
            (21 * MM, wide - 63 * MM, said),
            (wide - 38 * MM, 38 * MM, [look.para(t, READ, lk.QUIET) for t in time if t]),
        ],
        look.depth,
        rule=look.colour(lk.RULE),
        pad=1.2 * MM,
    )


def missing_note(look: Look) -> list[Any]:
    """What the typeface could not print, if anything: read after all other text is set."""
    if not look.missing:
        return []
    codes = listed(f"U+{ord(c):04X}" for c in sorted(look.missing))
    text = f"The sheets' typeface lacks these letters; each is printed as a question mark: {codes}."
    return [Spacer(1, 3 * MM), look.para(text, NOTE, lk.QUIET)]
