"""What each command shows in the terminal; figures to standard output, warnings to standard error."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from finishplan.basics.words import counted, duration, listed
from finishplan.cli.terminal import Cell, plain, say, table
from finishplan.drawing.model import Area, Drawing
from finishplan.job.job import AreaJob, Job
from finishplan.job.offers import offers
from finishplan.job.parts import grouped, parts_of_areas
from finishplan.paint.model import Box, Ingredient, Mix
from finishplan.paint.settings import DROP_ML

if TYPE_CHECKING:
    from finishplan.paint.report import PaintFacts
    from finishplan.plan.plan import Plan

MOST_NAMED = 4
"""Areas that a row of the passes names beside their coats."""


def off_by(mix: Mix) -> str:
    """How far a mix lies from its aim, and from the drawing where that is another figure."""
    return f"{mix.delta_e:.1f}" + (f" ({mix.delta_e_drawn:.1f} from the drawing)" if mix.drawing_is_elsewhere else "")


def coats_told(work: Iterable[tuple[str, int, int, int]]) -> str:
    """'5'; '4, 1 more along the edge' where the last are needed only there, '4 or 3, 1 more along the edge' where on
    some areas; '1 undercoat, 4 on 48' where others get their own colour. work: (kind, area, coats, of them at the
    line)."""
    rows = list(work)
    # Some areas of a pass may get it as undercoat while others have it as their colour.
    under = sorted({coats for kind, _, coats, _ in rows if kind == "undercoat"})
    others = [row for row in rows if row[0] != "undercoat"]
    if under and others:
        ids = sorted({area for _, area, _, _ in others})
        where = f"on {' '.join(map(str, ids))}" if len(ids) <= MOST_NAMED else "on the others"
        return f"{' or '.join(map(str, under))} undercoat, {coats_told(others)} {where}"
    most = max(coats - line for _, _, coats, line in rows)
    along = sorted({(coats - line, line) for _, _, coats, line in rows if line}, reverse=True)
    along_words = [f"{whole}, {line} more along the edge" for whole, line in along]
    return " or ".join(along_words if any(whole == most for whole, _ in along) else [str(most), *along_words])


def written(files: Sequence[Path]) -> None:
    """The folder and what was written into it, pages as a number."""
    if not files:
        return
    pages = [f for f in files if f.stem.startswith("page") and f.suffix == ".png"]
    names = [f.name for f in files if f not in pages]
    pictures = [counted(len(pages), "page picture")] if pages else []
    say(f"Written into {files[0].parent}: {listed([*names, *pictures])}")


def show_drawing(drawing: Drawing, job: Job, files: list[Path], mm_per_px: float | None = None) -> None:
    """The reading: kind, palette, areas (in mm and cm2 where the scale is known), parts, what was noticed and what is
    offered."""
    kinds = {"flat": "a flat digital drawing", "scan": "a scan", "photo": "a photo"}
    areas, colours = counted(len(drawing.areas), "area"), counted(len(drawing.palette), "colour")
    say(f"{drawing.source}: {kinds[drawing.kind]}, {areas} in {colours}")
    # A colour that only lines have is no paint.
    used = [c for c in drawing.palette if c.areas]
    shares = [[_swatch(c.hex), f"{100 * c.share:.2f} %", _ids(c.areas)] for c in used]
    table(["colour", "share", "areas"], shares, "Palette")
    part_of = parts_of_areas(drawing, job)
    _show_areas(drawing, job, part_of, mm_per_px)
    twins = {p.name: _twin(drawing, p.twin_of, p.mirrored) for p in drawing.parts if p.twin_of is not None}
    parts: list[list[Cell]] = [[name, _ids(ids), twins.get(name, "")] for name, ids in grouped(part_of).items()]
    table(["part", "areas", ""], parts, "Parts")
    for word, ids in offers(drawing, job).items():
        about = _OFFERS[word][len(ids) > 1]
        them = "them" if len(ids) > 1 else "it"
        say(f"- {counted(len(ids), 'area')} ({_ids(ids)}): {about}: take {them} with --accept {word}")
    for line in drawing.notes:
        say(f"- {line}")
    written(files)


_OFFERS = {
    "dots": (
        "a small enclosed spot, easier to dot on than to cut around",
        "small enclosed spots, easier to dot on than to cut around",
    ),
    "recesses": ("may be a hollow", "may be hollows"),
    "shades": (
        "a tone of a colour beside it, with no line between",
        "tones of colours beside them, with no line between",
    ),
    "gaps": (
        "as white as the paper, with the figure all round: perhaps a gap, and not painted",
        "as white as the paper, with the figure all round: perhaps gaps, and not painted",
    ),
}
"""What is said of one area, and of several."""


def _show_areas(drawing: Drawing, job: Job, part_of: Mapping[int, str], mm_per_px: float | None) -> None:
    unit = "px" if mm_per_px is None else "mm"
    sizes = [f"narrowest, {unit}", f"widest, {unit}", *(["cm2 as drawn"] * (unit == "mm"))]
    rows: list[list[Cell]] = [
        [str(a.id), job.areas.get(a.id, AreaJob()).name, part_of[a.id], _swatch(a.hex), *_measures(a, mm_per_px)]
        for a in drawing.areas
    ]
    table(["area", "name", "part", "colour", "share", *sizes], rows, "Areas")


def _measures(area: Area, mm_per_px: float | None) -> list[str]:
    """Share, narrowest and widest place, and area where the scale is known."""
    from finishplan.drawing.export import area_mm

    share = f"{100 * area.share:.2f} %"
    if mm_per_px is None:
        return [share, f"{area.narrow_px:.0f}", f"{area.wide_px:.0f}"]
    known = area_mm(area, mm_per_px)
    return [share, f"{known['narrow_mm']:.1f}", f"{known['wide_mm']:.1f}", f"{known['cm2']:.3f}"]


def show_mixes(mixes: list[Mix], asked: list[str], volume_ml: float, box: Box) -> None:
    """Recipes in drops, with how far off and how far a pot may lie, and the cautions of the paints used."""
    from finishplan.paint.hazards import hazards_in
    from finishplan.paint.mixing import drops_for

    table(
        [
            "asked",
            "predicted",
            "drops",
            "colour error",
            "under lamp light",
            "expected spread",
            "effect of one extra drop",
        ],
        [
            [
                colour,
                (m.name, m.hex),
                " + ".join(f"{n} {ingredient_text(i)}" for n, i in zip(drops_for(m, volume_ml), m.recipe, strict=True)),
                off_by(m) + ("" if m.reachable else " (out of reach)"),
                f"{m.delta_e_a:.1f}",
                f"{m.expect_within:.1f}" + (" (estimate)" if m.estimate else ""),
                f"{m.drop_delta_e:.1f} ({_drop_name(m)})" if m.drop_paint else "",
            ]
            for colour, m in zip(asked, mixes, strict=True)
        ],
        f"Recipes for {volume_ml:g} ml, drops of {DROP_ML:g} ml; differences in CIEDE2000",
    )
    for line in (*_let_down(mixes, volume_ml), *_alike(mixes, asked), *hazards_in(mixes, box), *box.table.cautions):
        say(f"- {line}")


def _let_down(mixes: list[Mix], volume_ml: float) -> Iterator[str]:
    """How to make each pre-mix, enough of it for all these mixes."""
    from finishplan.paint.measuring import let_down, let_down_words, premix_drops
    from finishplan.paint.mixing import drops_for

    once = list({m.id: m for m in mixes}.values())
    # Two colours asked may be one mix, and its pre-mix is made once.
    each = {m.id: (drops_for(m, volume_ml)[0] // m.recipe[0].parts,) for m in once}
    names = {i.premix: ingredient_text(i) for m in once for i in m.recipe}
    for premix, drops in premix_drops(once, each).items():
        yield f"{names[premix]}, {drops} drops: {let_down_words(let_down(premix, drops))}"


def _alike(mixes: list[Mix], asked: list[str]) -> Iterator[str]:
    """Colours asked apart whose mixes come out so close that one pot serves."""
    from finishplan.colour.light import delta_e
    from finishplan.paint.settings import DRAWN_ALIKE

    pots: list[tuple[Mix, list[str]]] = []
    for m, colour in zip(mixes, asked, strict=True):
        # The first pot near enough: what is alike to it need not be alike to each other, but one pot serves all.
        near = (names for other, names in pots if float(delta_e(m.lab, other.lab)) < DRAWN_ALIKE)
        if (names := next(near, None)) is not None:
            names.append(colour)
        else:
            pots.append((m, [colour]))
    for _, names in pots:
        if len(dict.fromkeys(names)) > 1:
            yield f"{', '.join(names)}: mixes within {DRAWN_ALIKE:g} of each other: one pot serves"


def _drop_name(mix: Mix) -> str:
    """Common name of the ingredient of which one drop too many moves the mix the most."""
    return next(i.name for i in mix.recipe if i.paint == mix.drop_paint)


def show_run(plan: "Plan") -> None:
    """The run: totals, what matters, quantities."""
    from finishplan.plan.left_out import left_out
    from finishplan.run.words import least, taken, when

    run = plan.run
    finish = run.finish_min
    say(f"{plan.scheme.name}: {counted(run.castings, 'casting')}, {counted(run.painters, 'painter')}")
    hand, waiting = (duration(m, days=False) for m in (run.painter_min, run.waiting_min))
    say(f"Painted in {taken(run)}: {hand} of work, {waiting} of waiting")
    turns = f"{counted(run.pots_mixed, 'pot')} mixed, {counted(run.mix_changes, 'turn')} to a mix"
    say(f"Schedule: {least(run)}; {turns}")
    if run.castings > 1:
        # The middle one of those painted, the lower where two are: by then half the run stands.
        half = when(run, sorted(finish)[(len(finish) - 1) // 2])
        say(f"Casting 1 is painted {when(run, finish[0])}; half the run {half}")
    for line in (*run.advice, *filter(None, [left_out([plan])]), *plan.run_notes):
        say(f"- {line}")
    # One stretch without a clock has nothing to put into columns.
    if len(run.sessions) > 1 or run.sessions[0].at_min is not None:
        evenings: list[list[Cell]] = [
            [str(s.no), s.clock, s.clock_end, duration(s.end_min - s.start_min, up=True), " ".join(s.open)]
            for s in run.sessions
        ]
        table(["evening", "starts", "ends", "at the bench", "open from before"], evenings, "Evenings")
    _show_quantities(plan)


def _show_quantities(plan: "Plan") -> None:
    from finishplan.sheets.words import ml

    mixes = {m.id: m for m in (*plan.mixes, *plan.order.extra_mixes)}
    rows: list[list[Cell]] = []
    for q in plan.quantities:
        mix = mixes.get(q.id) if q.what == "mix" else None
        amounts = [ml(q.ml_per_casting), ml(q.ml_run), str(q.drops or ""), f"{q.buy_ml:g} ml" if q.short_ml else ""]
        rows.append([q.what, (q.name, mix.hex) if mix else q.name, *amounts, recipe_text(mix) if mix else ""])
    table(["what", "name", "one casting", "the run", "drops", "to buy", "recipe (parts)"], rows, "Quantities")


def show_box(box: Box, facts: "Sequence[PaintFacts]") -> None:
    """The paints: masstone, tint and over black; hiding, tinting strength, cautions."""
    table(
        [
            "paint",
            "CI",
            "masstone",
            "tint",
            "over black",
            "coats over white, black",
            "m2 a litre",
            "strength",
            "opacity",
        ],
        [
            [
                f.paint.name,
                f.paint.ci,
                _swatch(f.masstone),
                _swatch(f.tint) if f.tint else "",
                _swatch(f.over_black),
                f"{_coats(f.coats_over_white)}, {_coats(f.coats_over_black)}",
                f"{f.m2_per_litre:.1f}",
                f"{f.strength:.2f}" if f.strength is not None else "",
                f.opacity,
            ]
            for f in facts
        ],
        f"{box.table.name}: {counted(len(facts), 'paint')}; coats are thin ones by brush",
    )
    for f in facts:
        for hazard in f.paint.hazards:
            say(f"- {f.paint.name}: {hazard}")
    for line in (*box.notes, *box.table.cautions):
        say(f"- {line}")


def _swatch(hex: str) -> Cell:
    # Where no swatch can be shown, the table itself puts the code before a cell's text: once will do.
    return hex if plain() else (hex, hex)


def _coats(count: int | None) -> str:
    return "over 20" if count is None else str(count)


def ingredient_text(ingredient: Ingredient) -> str:
    """The name of an ingredient; a pre-mix spelt out."""
    premix = ingredient.premix
    return ingredient.name + (f" ({premix.parts}:{premix.of} in {premix.into_name})" if premix else "")


def _ids(ids: Sequence[int]) -> str:
    return " ".join(map(str, ids))


def _twin(drawing: Drawing, other: int | None, mirrored: bool) -> str:
    name = drawing.parts[other].name if other is not None else ""
    return f"the same shape as {name}" + (", mirrored" if mirrored else "")


def recipe_text(mix: Mix) -> str:
    """'3 titanium white + 1 raw umber'."""
    return " + ".join(f"{i.parts} {ingredient_text(i)}" for i in mix.recipe)
