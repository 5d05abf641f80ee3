"""The painting order of one part: its numbered drawing, then each pass as a strip told by its picture."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import Any

from reportlab.platypus import KeepTogether, Spacer

from finishplan.basics.words import counted, duration, listed
from finishplan.order.area_names import line_told, whole_coats
from finishplan.order.brushes import brush_for, glue_bare
from finishplan.order.model import PaintingOrder, Pass, PassKind, PassWork
from finishplan.order.reasons import pass_reasons
from finishplan.paint.model import Mix
from finishplan.plan.plan import Plan
from finishplan.scheme.model import SchemeArea, SchemePart
from finishplan.sheets import look as lk
from finishplan.sheets.blocks import (
    FEW,
    beside_swatch,
    coat_rows,
    heading,
    ingredient_line,
    numbered_picture,
    swatch,
    tick_rows,
)
from finishplan.sheets.columns import Columns, ReadDown, column_width, high
from finishplan.sheets.layout import Room, section
from finishplan.sheets.look import BIG, MM, NAME, NOTE, READ, TITLE, Look
from finishplan.sheets.pictures import PartMap, mixed, painted, part_map, smaller
from finishplan.sheets.swatches import all_mixes, mixes_of, pot_for
from finishplan.sheets.words import edge_notes, ml, names_areas, of_part, sentence, under_dryer

STEP_PX, MAIN_PX = 330, 750
"""Longest side of a step's picture and of the part's numbered picture."""

KEY = (
    "Passes have the whole figure's numbers: those missing paint other parts. Wait: before the next coat and a cut "
    "beside it. Drops: for the largest pot from which the pass paints this part; the run sheet says which pot when. "
    "Pass: paint for all of it. Pre-mix: see the mix's card."
)
"""What the short words of a strip mean, under the heading of the passes."""

MOST_BESIDE = 135
"""A list of areas up to so many millimetres long stands beside the part's picture, a longer one under it."""

QUIET_SHARE, QUIET_LINE = 0.62, "#a8a49b"
"""How far what was painted earlier fades towards white, and the line around it."""

_KINDS = {"undercoat": "Undercoat", "colour": "", "blend": "Shading", "dot": "Dots", "recut": "Recut"}


@dataclass(frozen=True)
class Part:
    """One part with all that its pages need."""

    plan: Plan
    look: Look
    part: SchemePart
    mixes: dict[str, Mix]

    @property
    def passes(self) -> tuple[Pass, ...]:
        """The passes that lay paint on this part."""
        return tuple(p for p in self.plan.order.passes if self.work(p))

    def care(self, laid: Pass) -> tuple[str, ...]:
        """What keeps clear of paint on this part in a pass, and how to hold it."""
        parts = [p.name for p in self.plan.scheme.parts]
        holds = of_part(laid.hold.split("; "), self.part.name, parts)
        masks = of_part(laid.mask, self.part.name, parts)
        return (*map(sentence, masks), *(f"Hold it {h}." for h in holds if h))

    def work(self, laid: Pass) -> tuple[PassWork, ...]:
        """What a pass does on this part."""
        return tuple(w for w in laid.work if w.part == self.part.name)

    def colours(self, laid: Pass) -> dict[int, str]:
        """The colours that a pass lays on this part, by area."""
        return {w.area: self.mixes[w.mix or laid.mix].hex for w in self.work(laid)}


@dataclass(frozen=True)
class BegunPart:
    """What a part's pages show whatever the run is like: how they open, the picture of each step ('P': primer)."""

    opening: list[Any]
    steps: dict[str, Room]


def begin_part(plan: Plan, look: Look, part: SchemePart) -> BegunPart:
    """Lay out and paint the pictures of one part. The plan may lack its run and quantities."""
    main = part_map(plan.drawing, part.areas, MAIN_PX)
    small, here = smaller(main, STEP_PX), Part(plan, look, part, all_mixes(plan))
    colours = dict.fromkeys(part.areas, plan.order.primer.hex)
    steps = {"P": _step_picture(here, small, colours, {}, 24 * MM)} if plan.order.primer.coats else {}
    for laid in here.passes:
        now = here.colours(laid)
        steps[str(laid.no)] = _step_picture(here, small, colours, now)
        colours |= {area: mixed(colour, lk.PAPER_WHITE, QUIET_SHARE) for area, colour in now.items()}
    return BegunPart(_opening(here, main), steps)


def part_story(plan: Plan, look: Look, part: SchemePart, begun: BegunPart) -> list[Any]:
    """All pages of one part."""
    here = Part(plan, look, part, all_mixes(plan))
    story = [*section(f"Painting order: {part.name}"), *begun.opening]
    if not here.passes:
        return [*story, look.para("Nothing is painted on this part.", READ)]
    story += [*heading(look, "Passes", keep=75 * MM), look.para(KEY, NOTE, lk.QUIET), Spacer(1, 1.5 * MM)]
    bare = (sentence(glue_bare(part)),) if part.glue_faces else ()
    told: tuple[str, ...] = ()
    if plan.order.primer.coats:
        story += _primer_strip(here, begun, bare)
        told = bare
    for laid in here.passes:
        care = here.care(laid)
        story += _pass_strip(here, laid, begun, tuple(line for line in care if line not in told))
        told = (*bare, *care)
    return story


def _opening(here: Part, main: PartMap) -> list[Any]:
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
    paint = partial(painted, main, final, line=plan.drawing.ink or lk.INK, grey=look.grey)
    left = 0.54 * look.measure
    right = look.measure - left - 6 * MM
    rows = [_area_row(here, i, right, final) for i in part.areas]
    listed_mm = sum(high(r, right) for r in rows) / MM
    beside = listed_mm < MOST_BESIDE
    frame = (left, min(100, max(54, listed_mm)) * MM) if beside else (look.measure, 97 * MM)
    picture = numbered_picture(look, paint, main.labels, part.areas, frame, READ)
    if beside:
        return [*story, Columns([(0, left, [picture]), (left + 6 * MM, right, rows)], look.depth)]
    half = column_width(look)
    return [*story, picture, Spacer(1, 3 * MM), ReadDown(look, [_area_row(here, i, half, final) for i in part.areas])]


def _final_colours(here: Part) -> dict[int, str]:
    colours = dict.fromkeys(here.part.areas, here.plan.order.primer.hex)
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


@dataclass(frozen=True)
class Frame:
    """Left edge and width of a strip's columns. left: number, picture and recipe together."""

    number: tuple[float, float]
    picture: tuple[float, float]
    recipe: tuple[float, float]
    left: tuple[float, float]
    do: tuple[float, float]


def _frame(look: Look) -> Frame:
    left = 104 * MM
    do = left + 4 * MM
    return Frame((0, 12 * MM), (12 * MM, 43 * MM), (57 * MM, left - 57 * MM), (0, left), (do, look.measure - do))


def _step_picture(
    here: Part, small: PartMap, colours: dict[int, str], now: dict[int, str], high: float = 38 * MM
) -> Room:
    width = _frame(here.look).picture[1]
    seen, grey = colours | now, here.look.grey
    paint = partial(painted, small, seen, strong=frozenset(now), line=QUIET_LINE, grey=grey)
    return numbered_picture(here.look, paint, small.labels, now, (width, high), NOTE)


def _strip(
    here: Part,
    number: str,
    picture: Any,
    recipe: list[Any],
    do: list[Any],
    coats: Sequence[str],
    why: Sequence[str] = (),
) -> list[Any]:
    """One strip: number, picture, recipe, what to do; boxes to tick for each of `coats` (their labels); why.

    Boxes and reasons run under all of it, or, where there is more to do than fits beside the picture, under that.
    """
    look, at, count = here.look, _frame(here.look), here.plan.run.castings
    few = count <= FEW
    sign = look.para(number, BIG if len(number) < 3 else NAME, lk.ACCENT, "heavy")
    told = [(*at.number, [sign]), (*at.picture, [picture]), (*at.recipe, recipe)]
    reasons = [look.para(" ".join(map(sentence, why)), NOTE, lk.QUIET, "slant")] if why else []
    ways = []
    for wide in (look.measure, at.left[1]):
        ticks = coat_rows(look, coats, count, wide) if few else []
        foot = [Spacer(1, 1.5 * MM), *ticks, *([Spacer(1, 0.8 * MM)] if ticks else []), *reasons]
        stack = [(*at.left, [Columns(told, look.depth), *foot]), (*at.do, do)]
        if wide == look.measure:
            stack = [(0, wide, [Columns([*told, (*at.do, do)], look.depth), *foot])]
        ways.append(Columns(stack, look.depth, rule=look.colour(lk.RULE), pad=2 * MM))
    strip = min(ways, key=lambda way: way.wrap(look.measure, look.depth)[1])
    if few:
        return [strip]
    rows = [tick_rows(look, c if count == 1 else f"{number}: {c}", count, look.measure) for c in coats]
    return [KeepTogether([strip, *rows[0]]), *(KeepTogether(r) for r in rows[1:]), Spacer(1, 3 * MM)]


def _primer_strip(here: Part, begun: BegunPart, care: Sequence[str]) -> list[Any]:
    look, at = here.look, _frame(here.look)
    primer, dry = here.plan.order.primer, here.plan.dry[0]
    title = look.para(f"{primer.name.removesuffix(' primer')} primer", NAME, face="strong")
    recipe = [beside_swatch(look, primer.hex, at.recipe[1], [title])]
    between = "between coats and " if primer.coats > 1 else ""
    wait = f"{between}before the first pass; touch dry in {duration(dry.touch_dry_min, up=True)}."
    do = [
        look.para(f"Prime the whole part, {counted(primer.coats, 'thin coat')}.", READ, face="strong"),
        *map(look.para, care),
        look.rich(f"{look.mark(f'Wait {duration(dry.recoat_min, up=True)}', 'heavy')} {look.mark(wait)}"),
    ]
    primed = ["primed"] if primer.coats == 1 else [f"primer {c}" for c in range(1, primer.coats + 1)]
    return _strip(here, "P", begun.steps["P"], recipe, do, primed)


def _pass_strip(here: Part, laid: Pass, begun: BegunPart, care: Sequence[str]) -> list[Any]:
    work = here.work(laid)
    used = [m for m in mixes_of(laid) if m == laid.mix or any(w.mix == m for w in work)]
    recipe = [f for m in used for f in _recipe(here, laid, here.mixes[m], _frame(here.look).recipe[1])]
    coats = [_coat_label(here, work, c) for c in range(1, max(w.coats for w in work) + 1)]
    return _strip(
        here,
        str(laid.no),
        begun.steps[str(laid.no)],
        recipe,
        _what_to_do(here, laid, work, care),
        coats,
        _reasons(here, laid),
    )


def _coat_label(here: Part, work: Sequence[PassWork], coat: int) -> str:
    whole = whole_coats(here.plan.order, work)
    return f"coat {coat}" if coat <= whole else f"coat {coat}, line"


def _reasons(here: Part, laid: Pass) -> list[str]:
    """Why the pass stands here, areas of this part only; not what 'The same mix goes on' says already."""
    order, scheme = here.plan.order, here.plan.scheme
    inside = [e for e in order.edges if set(e.areas) & set(here.part.areas)]
    own = replace(laid, work=here.work(laid))
    lines = pass_reasons(own, order.passes, inside, {c.area: c for c in order.coats}, {a.id: a for a in scheme.areas})
    areas = [(a.id, a.name) for a in scheme.areas]
    general = [w for w in laid.why if not w.startswith("one mix on ") and not names_areas(w, areas)]
    return list(dict.fromkeys([w for w in lines if w in laid.why or names_areas(w, areas)] + general))


def _recipe(here: Part, laid: Pass, mix: Mix, width: float) -> list[Any]:
    """Swatch, name and the drops of the largest pot that paints this part in the pass."""
    look, plan = here.look, here.plan
    pot, many = pot_for(mix, plan, laid, here.part.name)
    wide = 12 * MM if pot.weighed else 9 * MM

    def line(amount: str, words: Any) -> Columns:
        figure = look.para(amount, READ, face="strong", alignment=2)
        return Columns([(0, wide, [figure]), (wide + 2 * MM, width - wide - 2 * MM, [words])], look.depth)

    lines = [line(a, ingredient_line(look, i)) for a, i in zip(pot.amounts, mix.recipe, strict=True)]
    takes = sum(q.ml_run for q in plan.quantities if (q.what, q.id, q.mix) == ("pass", str(laid.no), mix.id))
    need = f"; pass {ml(takes)}" if takes else ""
    title = [
        look.rich(f"{look.mark(mix.id, 'heavy')} {look.mark(mix.name, 'strong')}", NAME),
        look.para(sentence(f"{many}{need}"), NOTE, lk.QUIET),
    ]
    return [beside_swatch(look, mix.hex, width, title), Spacer(1, 1 * MM), *lines]


def _coats_words(order: PaintingOrder, laid: Pass, work: Sequence[PassWork]) -> str:
    """'Shading: 2 thin coats.'; where a pass lays undercoats beside other work, each with its areas."""
    beds = [w for w in work if w.kind == "undercoat"]
    others = [w for w in work if w.kind != "undercoat"]
    if beds and others:
        return " ".join(_coats_of(order, laid, some, f" on {_areas(some)}") for some in (others, beds))
    return _coats_of(order, laid, work)


def _areas(work: Sequence[PassWork]) -> str:
    ids = sorted({w.area for w in work})
    return f"area{'s' * (len(ids) > 1)} {listed(ids)}"


def _coats_of(order: PaintingOrder, laid: Pass, work: Sequence[PassWork], where: str = "") -> str:
    most = whole_coats(order, work)
    fewer: dict[int, list[PassWork]] = {}
    for w in work:
        if (whole := w.coats - order.line_coats(w)) < most:
            fewer.setdefault(whole, []).append(w)
    less = "; ".join(f"{_areas(some)}: only {n}" for n, some in sorted(fewer.items()))
    said = f" ({less})" if less else ""
    kinds = dict.fromkeys(w.kind for w in work)
    kind = _KINDS[next(iter(kinds)) if len(kinds) == 1 else laid.kind if laid.kind in kinds else "colour"]
    return (f"{kind}: " if kind else "") + counted(most, "thin coat") + where + said + line_told(order, work) + "."


def _what_to_do(here: Part, laid: Pass, work: Sequence[PassWork], care: Sequence[str]) -> list[Any]:
    look, scheme, mark = here.look, here.plan.scheme, here.look.mark
    parts = [p.name for p in scheme.parts]
    head = f"{mark(_coats_words(here.plan.order, laid, work), 'heavy')} {mark(sentence(_brush(here, laid, work)))}"
    out = [look.rich(head)]
    own = next((s.text for s in here.plan.steps if s.key == f"pass-{laid.no}" and s.own_text), "")
    out += [look.para(sentence(own), READ, face="strong")] if own else []
    notes = edge_notes(laid, here.plan.order.edges, work)
    plain = tuple(sorted({w.area for w in work} - {i for areas, _ in notes for i in areas}))
    for areas, text in [*([(plain, "")] if plain else []), *notes]:
        named: dict[str, list[int]] = {}
        for i in areas:
            named.setdefault(scheme.area(i).name, []).append(i)
        on = "; ".join(f"{mark(listed(ids), 'heavy')} {mark(name)}" for name, ids in named.items())
        out.append(look.rich(f"{on}: {mark(text[0].lower() + text[1:])}" if text else f"{on}."))
    out += map(look.para, care)
    touch = f"{_by_dryer(here, laid)} (touch dry in {duration(laid.touch_dry_min, up=True)})."
    out.append(look.rich(f"{mark(f'Wait {duration(laid.recoat_min, up=True)}', 'heavy')}{mark(touch)}"))
    others = [p for p in parts if p != here.part.name and any(w.part == p for w in laid.work)]
    if others:
        out.append(look.para(f"The same mix goes on {listed(others)}."))
    return out


def _brush(here: Part, laid: Pass, work: Sequence[PassWork]) -> str:
    """The brush for what the pass paints on this part, that for its specks and lines apart where there is more."""
    areas = {a.id: a for a in here.plan.scheme.areas}
    own = {"dot": "dots", "recut": "the recut line"}
    kinds: dict[PassKind, list[SchemeArea]] = {}
    for w in sorted(work, key=lambda w: w.kind in own):
        kinds.setdefault(w.kind if w.kind in own else "colour", []).append(areas[w.area])
    brushes = {kind: brush_for(these, kind, laid.tool) for kind, these in kinds.items()}
    if len(set(brushes.values())) == 1:
        return next(iter(brushes.values()))
    return "; ".join(f"{own[kind]}: {brush}" if kind in own else brush for kind, brush in brushes.items())


def _by_dryer(here: Part, laid: Pass) -> str:
    """', or 2 min under the dryer and 2 min of rest', where it is in use and the coat may be dried so."""
    paint = here.plan.dry[min(1, len(here.plan.dry) - 1)]
    if not here.plan.room.dryer or paint.dryer_hand_min is None:
        return ""
    held, rest = paint.dryer_hand_min, paint.dryer_rest_min
    if laid.tool == "airbrush":
        seen = [t.end_min - t.start_min for t in here.plan.run.tasks if (t.kind, t.pass_no) == ("dryer", laid.no)]
        held, rest = max(seen, default=0.0), 0.0
    more = f" and {duration(rest, up=True)} of rest" if rest > 0 else ""
    return f", or {under_dryer(held)}{more}" if held else ""
