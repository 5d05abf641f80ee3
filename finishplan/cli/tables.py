"""What each command shows in the terminal; figures to standard output, warnings to standard error."""

from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from finishplan.basics.words import counted, duration
from finishplan.cli.terminal import Cell, plain, say, table
from finishplan.drawing.model import Area, Drawing
from finishplan.paint.model import Box, Ingredient, Mix

if TYPE_CHECKING:
    from finishplan.order.model import PaintingOrder, Pass
    from finishplan.paint.report import PaintFacts
    from finishplan.plan.plan import Plan
    from finishplan.run.model import Run, Session

MOST_NAMED = 4
"""Areas that a row of the passes names beside their coats."""


def show_plan(plan: "Plan", files: list[Path]) -> None:
    """The summary of a plan: palette, passes, time, files."""
    from finishplan.sheets.words import sentence

    run, primer = plan.run, plan.order.primer
    mixes = (*plan.mixes, *plan.order.extra_mixes)
    parts, areas = counted(len(plan.scheme.parts), "part"), counted(len(plan.scheme.areas), "area")
    say(f"{plan.scheme.name}: {parts}, {areas}, {counted(len(plan.mixes), 'mix', 'mixes')}")
    say(f"Primer: {primer.why}")
    say("")
    table(
        ["mix", "colour", "recipe (parts)", "off by", "within"],
        [[m.id, (m.name, m.hex), recipe_text(m), f"{m.delta_e:.1f}", f"{m.expect_within:.1f}"] for m in mixes],
        "Palette",
    )
    hexes = {m.id: m.hex for m in mixes}
    names = {m.id: m.name for m in mixes}
    table(
        ["pass", "mix", "what", "areas", "coats", "brush", "recoat"],
        [
            [
                str(p.no),
                (" + ".join(f"{id} {names.get(id, '')}" for id in (p.mix, *p.also_open)), hexes.get(p.mix, "#808080")),
                p.kind,
                _ids(sorted(p.areas)),
                _pass_coats(plan.order, p),
                p.brush,
                duration(p.recoat_min, up=True),
            ]
            for p in plan.order.passes
        ],
        "Passes, in order",
    )
    count, who = counted(run.castings, "casting"), counted(run.painters, "painter")
    hand = duration(run.painter_min, days=False)
    say(f"Run of {count}: painted in {_span(run, run.makespan_min)}, with {hand} of work by {who}.")
    least = _span(run, run.lower_bound_min)
    known = "no schedule is shorter" if run.proven else f"no schedule is shorter than {least}"
    say(f"Waiting: {duration(run.waiting_min, days=False)}; {known}.")
    for line in (*run.advice, *plan.notes):
        say(f"- {sentence(line)}")
    _files(files)


def _span(run: "Run", value_min: float) -> str:
    """From the start of the run: in days where it is broken off between sessions, else in hours of work."""
    return duration(value_min, days=len(run.sessions) > 1)


def _pass_coats(order: "PaintingOrder", one: "Pass") -> str:
    """As `coats_told`, of a pass."""
    return coats_told((w.kind, w.area, w.coats, order.line_coats(w)) for w in one.work)


def coats_told(work: Iterable[tuple[str, int, int, int]]) -> str:
    """'5'; '4 + 1 at the line' where the last are needed only there, '4, 3 + 1 at the line' where on some areas;
    '1 undercoat, 4 on 48' where others get their own colour. work: (kind, area, coats, of them at the line)."""
    rows = list(work)
    under = sorted({coats for kind, _, coats, _ in rows if kind == "undercoat"})
    others = [row for row in rows if row[0] != "undercoat"]
    if under and others:
        ids = sorted({area for _, area, _, _ in others})
        where = f"on {' '.join(map(str, ids))}" if len(ids) <= MOST_NAMED else "on the others"
        return f"{' or '.join(map(str, under))} undercoat, {coats_told(others)} {where}"
    most = max(coats - line for _, _, coats, line in rows)
    along = sorted({(coats - line, line) for _, _, coats, line in rows if line}, reverse=True)
    told = [f"{whole} + {line} at the line" for whole, line in along]
    return ", ".join(told if any(whole == most for whole, _ in along) else [str(most), *told])


def _files(files: list[Path]) -> None:
    say("Written:")
    for path in files:
        say(f"  {path}")


def show_drawing(drawing: Drawing, files: list[Path], mm_per_px: float | None = None) -> None:
    """The reading: kind, palette, areas (in mm and cm2 where the scale is known), parts, what was noticed."""
    kinds = {"flat": "a flat digital drawing", "scan": "a scan", "photo": "a photo"}
    areas, colours = counted(len(drawing.areas), "area"), counted(len(drawing.palette), "colour")
    say(f"{drawing.source}: {kinds[drawing.kind]}, {areas} in {colours}")
    table(
        ["colour", "share", "areas"],
        [[_swatch(c.hex), f"{100 * c.share:.2f} %", _ids(c.areas)] for c in drawing.palette],
        "Palette",
    )
    unit = "px" if mm_per_px is None else "mm"
    table(
        [
            "area",
            "part",
            "colour",
            "share",
            f"narrowest, {unit}",
            f"widest, {unit}",
            *(["cm2 as drawn"] * (unit == "mm")),
        ],
        [[str(a.id), drawing.parts[a.part].name, _swatch(a.hex), *_measures(a, mm_per_px)] for a in drawing.areas],
        "Areas",
    )
    twins = {i: (p.twin_of, p.mirrored) for i, p in enumerate(drawing.parts) if p.twin_of is not None}
    table(
        ["part", "areas", ""],
        [[p.name, _ids(p.areas), _twin(drawing, *twins[i]) if i in twins else ""] for i, p in enumerate(drawing.parts)],
        "Parts",
    )
    for area in drawing.areas:
        for hint in area.hints:
            say(f"- area {area.id} may be '{hint.flag}': {hint.why}")
    for line in drawing.notes:
        say(f"- {line}")
    _files(files)


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
        ["asked", "predicted", "drops", "off by", "under A", "within", "one drop too many"],
        [
            [
                colour,
                (m.name, m.hex),
                " + ".join(f"{n} {ingredient_text(i)}" for n, i in zip(drops_for(m, volume_ml), m.recipe, strict=True)),
                f"{m.delta_e:.1f}" + ("" if m.reachable else " (out of reach)"),
                f"{m.delta_e_a:.1f}",
                f"{m.expect_within:.1f}" + (" (estimate)" if m.estimate else ""),
                f"{m.drop_delta_e:.1f} ({_drop_name(m)})" if m.drop_paint else "",
            ]
            for colour, m in zip(asked, mixes, strict=True)
        ],
        f"Recipes for {volume_ml:g} ml, drops of 0.05 ml; differences in CIEDE2000",
    )
    for line in (*_let_down(mixes, volume_ml), *_alike(mixes, asked), *hazards_in(mixes, box), *box.table.cautions):
        say(f"- {line}")


def _let_down(mixes: list[Mix], volume_ml: float) -> Iterator[str]:
    """How to make each pre-mix, enough of it for all these mixes."""
    from finishplan.paint.measuring import let_down, let_down_words, premix_drops
    from finishplan.paint.mixing import drops_for

    once = list({m.id: m for m in mixes}.values())
    each = {m.id: (drops_for(m, volume_ml)[0] // m.recipe[0].parts,) for m in once}
    names = {i.premix: ingredient_text(i) for m in once for i in m.recipe}
    for premix, drops in premix_drops(once, each).items():
        yield f"{names[premix]}, {drops} drops: {let_down_words(let_down(premix, drops))}"


def _alike(mixes: list[Mix], asked: list[str]) -> Iterator[str]:
    """Colours asked apart whose mixes come out so close that one pot serves."""
    from finishplan.colour.light import delta_e
    from finishplan.paint.settings import MixSettings

    pots: list[tuple[Mix, list[str]]] = []
    for m, colour in zip(mixes, asked, strict=True):
        near = (names for other, names in pots if float(delta_e(m.lab, other.lab)) < MixSettings.merge)
        if (names := next(near, None)) is not None:
            names.append(colour)
        else:
            pots.append((m, [colour]))
    for _, names in pots:
        if len(dict.fromkeys(names)) > 1:
            yield f"{', '.join(names)}: mixes within {MixSettings.merge:g} of each other: one pot serves"


def _drop_name(mix: Mix) -> str:
    """Common name of the ingredient of which one drop too many moves the mix the most."""
    return next(i.name for i in mix.recipe if i.paint == mix.drop_paint)


def show_run(plan: "Plan") -> None:
    """The run: totals, what matters, quantities."""
    from finishplan.sheets.words import ml as amount

    run = plan.run
    finish = run.finish_min
    say(f"{plan.scheme.name}: {counted(run.castings, 'casting')}, {counted(run.painters, 'painter')}")
    hand, waiting = (duration(m, days=False) for m in (run.painter_min, run.waiting_min))
    say(f"Painted in {_span(run, run.makespan_min)}: {hand} of work, {waiting} of waiting")
    proof = "proven the shortest" if run.proven else f"none is shorter than {_span(run, run.lower_bound_min)}"
    say(f"Schedule: found by {run.method}, {proof}; {counted(run.mix_changes, 'mix change')}")
    half = _span(run, sorted(finish)[(len(finish) - 1) // 2])
    if run.castings > 1:
        say(f"Casting 1 is painted after {_span(run, finish[0])}, half the run after {half}")
    for line in (*run.advice, *(note for note in plan.notes if "[run]" in note)):
        say(f"- {line}")
    if run.sessions:
        table(
            ["session", "starts", "ends"],
            [[str(s.no), s.clock or duration(s.start_min), _ends(run, s)] for s in run.sessions],
            "Sessions",
        )
    mixes = {m.id: m for m in (*plan.mixes, *plan.order.extra_mixes)}
    table(
        ["what", "name", "one casting", "the run", "drops", "short of", "recipe (parts)"],
        [
            [
                q.what,
                (q.name, mixes[q.id].hex) if q.what == "mix" and q.id in mixes else q.name,
                amount(q.ml_per_casting),
                amount(q.ml_run),
                str(q.drops or ""),
                amount(q.short_ml) if q.short_ml else "",
                recipe_text(mixes[q.id]) if q.what == "mix" and q.id in mixes else "",
            ]
            for q in plan.quantities
        ],
        "Quantities",
    )


def _ends(run: "Run", session: "Session") -> str:
    """When its last task ends, as on the sheets and in the calendar."""
    from finishplan.sheets.words import session_end

    ends = [t.end_min for t in run.tasks if session.start_min <= t.start_min < session.end_min]
    return session_end(max(ends), session) if ends else "nothing to do"


def show_box(box: Box, facts: "Sequence[PaintFacts]") -> None:
    """The paints: masstone, tint and over black; hiding, tinting strength, cautions."""
    table(
        [
            "paint",
            "CI",
            "masstone",
            "tint",
            "over black",
            "hides white, black (as a plan counts)",
            "full colour over white, black",
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
                ", ".join(map(_coats, hiding)),
                f"{_coats(f.coats_over_white)}, {_coats(f.coats_over_black)}",
                f"{f.strength:.2f}" if f.strength is not None else "",
                f.opacity,
            ]
            for f, hiding in zip(facts, _coats_to_hide(box), strict=True)
        ],
        f"{box.table.name}: {counted(len(facts), 'paint')}; coats are thin ones by brush",
    )
    for f in facts:
        for hazard in f.paint.hazards:
            say(f"- {f.paint.name}: {hazard}")
    for line in (*box.notes, *box.table.cautions):
        say(f"- {line}")


def _swatch(hex: str) -> Cell:
    return hex if plain() else (hex, hex)


def _coats_to_hide(box: Box) -> list[list[int | None]]:
    """Coats of each paint until a white and until a black primer no longer shows, by the plan's rule; None beyond
    MOST_COATS."""
    import numpy as np

    from finishplan.colour.film import inverse_saunderson, opaque
    from finishplan.colour.hiding import BRUSH_COAT_MM
    from finishplan.order.coats import Films
    from finishplan.paint.report import BLACK_PRIMER, MOST_COATS, WHITE_PRIMER

    K, S = (np.array([getattr(p, name) for p in box.paints]) for name in ("K", "S"))
    k1, k2 = box.table.k1, box.table.k2
    grounds = inverse_saunderson(np.array([[WHITE_PRIMER], [BLACK_PRIMER]]) * np.ones(31), k1, k2)
    counts = Films(K, S, opaque(K, S), k1, k2).coats(grounds, BRUSH_COAT_MM, MOST_COATS).tolist()
    return [[n if n <= MOST_COATS else None for n in row] for row in counts]


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
