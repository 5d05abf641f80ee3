"""The painting order of one part: its numbered drawing, then each pass as a strip whose pictures tell it without words."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from reportlab.platypus import KeepTogether, Spacer

from finishplan.finish.model import Pass, PassWork
from finishplan.paint.model import Mix
from finishplan.plan import Plan
from finishplan.scheme import SchemePart
from finishplan.sheets import look as lk
from finishplan.sheets.blocks import Columns, heading, numbered_picture, swatch, tick_rows
from finishplan.sheets.layout import section
from finishplan.sheets.look import BIG, MM, NAME, NOTE, READ, TITLE, Look
from finishplan.sheets.pictures import PartMap, mixed, painted, part_map
from finishplan.sheets.swatches import all_mixes, ingredient_name, mixes_of, pots
from finishplan.sheets.words import edge_notes, listed, minutes, plural

STEP_PX, MAIN_PX = 330, 900
"""Longest side of a step's picture and of the part's numbered picture."""

QUIET_SHARE, QUIET_LINE = 0.62, "#a8a49b"
"""How far what was painted earlier fades towards white, and the line around it."""

_KINDS = {"undercoat": "undercoat", "colour": "", "blend": "shading", "dot": "dots", "recut": "recut"}


@dataclass(frozen=True)
class Part:
    """One part with all that its pages need."""

    plan: Plan
    look: Look
    part: SchemePart
    mixes: dict[str, Mix]
    step_map: PartMap

    @property
    def passes(self) -> tuple[Pass, ...]:
        """The passes that lay paint on this part."""
        return tuple(p for p in self.plan.order.passes if self.work(p))

    def work(self, laid: Pass) -> tuple[PassWork, ...]:
        """What a pass does on this part."""
        return tuple(w for w in laid.work if w.part == self.part.name)


def part_story(plan: Plan, look: Look, part: SchemePart) -> list[Any]:
    """All pages of one part."""
    here = Part(plan, look, part, all_mixes(plan), part_map(plan.drawing, part.areas, STEP_PX))
    story = [*section(f"Painting order: {part.name}"), *_opening(here)]
    if not here.passes:
        return [*story, look.para("Nothing is painted on this part.", READ)]
    story += heading(look, "Passes", keep=75 * MM)
    colours = {i: plan.order.primer.hex for i in part.areas}
    story.append(_primer_strip(here, colours))
    for laid in here.passes:
        story.append(_strip(here, laid, colours))
        for w in here.work(laid):
            colours[w.area] = mixed(here.mixes[w.mix or laid.mix].hex, lk.PAPER_WHITE, QUIET_SHARE)
    return story


def _opening(here: Part) -> list[Any]:
    """The part's name, facts, numbered picture and list of areas."""
    look, part, plan = here.look, here.part, here.plan
    facts = [f"{part.surface_cm2:.0f} cm² to paint on one casting"]
    if part.copies > 1:
        facts.append(f"{part.copies} copies on each figure")
    if part.after:
        facts.append(f"paint after {listed(part.after)}")
    if part.glue_faces:
        facts.append(f"leave bare for glue: {listed(part.glue_faces)}")
    story = [
        look.para(part.name, TITLE, face="heavy"),
        look.para("; ".join(facts) + ".", READ, lk.QUIET),
        Spacer(1, 3 * MM),
    ]
    final = _final_colours(here)
    main = part_map(plan.drawing, part.areas, MAIN_PX)
    image = painted(main, final, line=plan.drawing.ink or lk.INK, grey=look.grey)
    left = 0.54 * look.measure
    many = len(part.areas) > 14
    frame = (look.measure if many else left, (105 if many else 92) * MM)
    picture = numbered_picture(look, image, main.labels, part.areas, frame, READ)
    right = look.measure - left - 6 * MM
    rows = [_area_row(here, i, right, final) for i in part.areas]
    if not many and sum(r.wrap(right, 1e6)[1] for r in rows) < 115 * MM:
        return [*story, Columns([(0, left, [picture]), (left + 6 * MM, right, rows)], look.depth)]
    half = (look.measure - 6 * MM) / 2
    pairs = [rows[k : k + 2] for k in range(0, len(rows), 2)]
    narrow = [[_area_row(here, i, half, final) for i in part.areas[2 * k : 2 * k + 2]] for k in range(len(pairs))]
    lines = [Columns([(n * (half + 6 * MM), half, [row]) for n, row in enumerate(pair)], look.depth) for pair in narrow]
    return [*story, picture, Spacer(1, 3 * MM), *lines]


def _final_colours(here: Part) -> dict[int, str]:
    colours = {i: here.plan.order.primer.hex for i in here.part.areas}
    return colours | {i: here.plan.mixes[k].hex for i, k in here.plan.mix_of if i in colours}


def _area_row(here: Part, area: int, width: float, final: dict[int, str]) -> Columns:
    """Number, colour chip with the mix's letter, name of the area."""
    look = here.look
    of = dict(here.plan.mix_of)
    spec = here.plan.scheme.area(area)
    letter = here.plan.mixes[of[area]].id if area in of else "–"
    words = f"{spec.name}" if area in of else f"{spec.name}: stays bare"
    number = look.para(str(area), READ, face="heavy", alignment=2)
    chip = swatch(look, final[area], 9 * MM, 4.4 * MM, letter)
    return Columns(
        [(0, 9 * MM, [number]), (12 * MM, 9 * MM, [chip]), (23 * MM, width - 23 * MM, [look.para(words, READ)])],
        look.depth,
    )


def _frame(look: Look) -> dict[str, tuple[float, float]]:
    """Left edge and width of a strip's columns: number, picture, recipe, what to do."""
    wide = look.measure
    return {
        "number": (0, 14 * MM),
        "picture": (14 * MM, 42 * MM),
        "recipe": (60 * MM, 0.29 * wide),
        "do": (60 * MM + 0.29 * wide + 5 * MM, wide - 65 * MM - 0.29 * wide),
    }


def _step_picture(here: Part, colours: dict[int, str], now: dict[int, str]) -> Any:
    width = _frame(here.look)["picture"][1]
    image = painted(here.step_map, colours | now, strong=frozenset(now), line=QUIET_LINE, grey=here.look.grey)
    return numbered_picture(here.look, image, here.step_map.labels, now, (width, width), NOTE)


def _primer_strip(here: Part, colours: dict[int, str]) -> Any:
    look, plan, at = here.look, here.plan, _frame(here.look)
    primer, dry = plan.order.primer, plan.dry[0]
    recipe = [
        Columns([(0, 12 * MM, [swatch(look, primer.hex, 12 * MM, 12 * MM)]),
                 (15 * MM, at["recipe"][1] - 15 * MM, [look.para(f"{primer.name} primer", NAME, face="strong")])], look.depth),
    ]  # fmt: skip
    do = [
        look.para("Prime the whole part.", READ, face="strong"),
        look.para(f"Touch dry in {minutes(dry.touch_dry_min)}; paint after {minutes(dry.recoat_min)}.", READ),
    ]
    columns = [
        (*at["number"], [look.para("P", BIG, lk.ACCENT, "heavy")]),
        (*at["picture"], [_step_picture(here, colours, {})]),
        (*at["recipe"], recipe),
        (*at["do"], do),
    ]
    return KeepTogether(
        [Columns(columns, look.depth, rule=look.colour(lk.RULE), pad=3 * MM), *_ticks(here, "primed", 1)]
    )


def _strip(here: Part, laid: Pass, colours: dict[int, str]) -> Any:
    """One pass: number, picture, recipe, what to do, boxes to tick."""
    look, at = here.look, _frame(here.look)
    work = here.work(laid)
    now = {w.area: here.mixes[w.mix or laid.mix].hex for w in work}
    number = [look.para(str(laid.no), BIG, lk.ACCENT, "heavy")]
    if _KINDS[laid.kind]:
        number.append(look.para(_KINDS[laid.kind], NOTE, lk.ACCENT, "strong"))
    used = [m for m in mixes_of(laid) if m == laid.mix or any(w.mix == m for w in work)]
    recipe = [f for m in used for f in _recipe(here, here.mixes[m], at["recipe"][1])]
    columns = [
        (*at["number"], number),
        (*at["picture"], [_step_picture(here, colours, now)]),
        (*at["recipe"], recipe),
        (*at["do"], _what_to_do(here, laid, work)),
    ]
    most = max(w.coats for w in work)
    ticks = [row for c in range(1, most + 1) for row in _ticks(here, f"coat {c}", c)]
    return KeepTogether([Columns(columns, look.depth, rule=look.colour(lk.RULE), pad=3 * MM), *ticks])


def _ticks(here: Part, label: str, coat: int) -> list[Any]:
    return tick_rows(here.look, label, here.plan.run.castings, here.look.measure)


def _recipe(here: Part, mix: Mix, width: float) -> list[Any]:
    """Swatch, name and the drops of one pot."""
    look, plan = here.look, here.plan
    names = {p.id: p.name for p in plan.box.paints}
    _, pot = pots(mix, plan)
    title = [look.rich(f"{look.mark(mix.id, 'heavy')} {look.mark(mix.name, 'strong')}", NAME)]
    head = Columns(
        [(0, 12 * MM, [swatch(look, mix.hex, 12 * MM, 12 * MM)]), (15 * MM, width - 15 * MM, title)], look.depth
    )
    lines = [
        Columns(
            [
                (0, 8 * MM, [look.para(str(drops), READ, face="strong", alignment=2)]),
                (10 * MM, width - 10 * MM, [look.para(ingredient_name(i, names), READ)]),
            ],
            look.depth,
        )
        for drops, i in zip(pot.drops, mix.recipe, strict=True)
    ]
    made = "drops" if pot.times == 1 else f"drops; made {pot.times} times in the run"
    return [
        head,
        Spacer(1, 1.5 * MM),
        *lines,
        Columns([(10 * MM, width - 10 * MM, [look.para(made, NOTE, lk.QUIET)])], look.depth),
    ]


def _coats_words(work: Sequence[PassWork]) -> str:
    most = max(w.coats for w in work)
    fewer: dict[int, list[int]] = {}
    for w in work:
        if w.coats < most:
            fewer.setdefault(w.coats, []).append(w.area)
    said = "".join(f"; only {n} on {listed(sorted(ids))}" for n, ids in sorted(fewer.items()))
    return plural(most, "thin coat") + said


def _what_to_do(here: Part, laid: Pass, work: Sequence[PassWork]) -> list[Any]:
    look, scheme = here.look, here.plan.scheme
    ids = sorted({w.area for w in work})
    mark = look.mark
    on = ", ".join(f"{mark(str(i), 'heavy')} {mark(scheme.area(i).name)}" for i in ids)
    out = [look.para(f"{_coats_words(work)}. {laid.brush}.", READ, face="strong"), look.rich(f"On {on}.", READ)]
    for areas, text in edge_notes(laid, here.plan.order.edges, ids):
        out.append(look.rich(f"{mark(listed(areas) + ':', 'heavy')} {mark(text)}", READ, spaceBefore=2))
    turned = [e for e in here.plan.order.edges if e.areas in laid.edges and e.reversed_rule and e.second in ids]
    for e in turned:
        out.append(look.para(f"{e.first} before {e.second}: {e.why}.", NOTE, lk.QUIET, "slant"))
    if laid.mask:
        out.append(look.para(f"Leave bare or mask: {listed(laid.mask)}.", READ))
    if laid.hold:
        out.append(look.para(f"Hold it {laid.hold}." if not laid.hold[:1].isupper() else laid.hold, READ))
    wait = (
        f"Touch dry in {minutes(laid.touch_dry_min)}; next coat, or a cut beside it, after {minutes(laid.recoat_min)}."
    )
    out.append(look.rich(f"{mark('Wait', 'heavy')} {mark(wait[0].lower() + wait[1:])}", READ))
    others = [
        p.name for p in here.plan.scheme.parts if p.name != here.part.name and any(w.part == p.name for w in laid.work)
    ]
    if others:
        out.append(look.para(f"While this mix is open: {listed(others)} too.", READ))
    out += [look.para(why if why.endswith(".") else f"{why}.", NOTE, lk.QUIET, "slant") for why in laid.why]
    return out
