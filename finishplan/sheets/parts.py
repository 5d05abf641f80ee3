"""One page a part: the part large with its numbers, its passes beside one another, castings ticked off at the foot."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cache, partial
from math import ceil
from typing import Any

from finishplan.basics.words import duration, listed
from finishplan.order.brushes import glue_bare
from finishplan.plan.part_passes import PartPass
from finishplan.scheme.model import SchemePart
from finishplan.sheets import look as lk
from finishplan.sheets.figure import numbered
from finishplan.sheets.given import Given
from finishplan.sheets.look import GUTTER, LINE, MM, NOTE, NUMBER, READ, SIGN, Lettering
from finishplan.sheets.marks import coat_dots, numbers, paint_name, swatch
from finishplan.sheets.page import (
    Block,
    Page,
    Placed,
    beside,
    filled,
    gap,
    in_columns,
    lowered,
    pages_of,
    snapped,
    sparing,
    stack,
    tight,
    words,
)
from finishplan.sheets.words import sentence

ACROSS = 3
"""Passes beside one another."""
LEAST, MOST = 0.15, 0.46
"""Shares of the page's depth: the least and the most that the numbered part takes."""
_KINDS = {"undercoat": "undercoat", "blend": "shading", "dot": "dots", "recut": "touch up the line"}
SMALL = 8
"""A part of so many areas and passes at most has its passes beside its picture."""
BOXES = 24
"""Castings that get a box each; of more, a box stands for several."""


def section_of(part: SchemePart) -> str:
    """The name of a part's pages."""
    return part.name if part.name.lower().startswith("part") else f"Part: {part.name}"


@dataclass(frozen=True, eq=False)
class _Unit:
    """What the pages of one part are made of. picture: by its depth, each made once; body: its passes, in columns on
    one page; small: the picture stands beside these."""

    part: SchemePart
    title: Block
    picture: Callable[[float], Block]
    tiles: tuple[Block, ...]
    body: Block
    strip: Block
    small: bool

    @property
    def tail(self) -> float:
        """Depth of all but the picture."""
        return self.title.height + self.body.height + self.strip.height


def part_pages(given: Given, only: str | None = None) -> list[Page]:
    """The pages of every part, or of one; parts follow one another on a page while all of them fits."""
    units = [_unit(given, p) for p in given.plan.scheme.parts if only in (None, p.name)]
    pages: list[Page] = []
    group: list[_Unit] = []
    for unit in units:
        if group and not _fit(given, [*group, unit]):
            pages += _pages(given, group)
            group = []
        group.append(unit)
    return [*pages, *_pages(given, group)]


def _fit(given: Given, group: Sequence[_Unit]) -> bool:
    least = sum(u.tail + _above(u, LEAST * given.look.depth).height for u in group)
    return least + 4 * LINE * (len(group) - 1) <= given.look.depth


def _pages(given: Given, group: Sequence[_Unit]) -> list[Page]:
    """The page of a group of parts that fits on one; of a part that does not, as many as it takes."""
    look = given.look
    if not group:
        return []
    if not _fit(given, group):
        # Laid out anew at each size: drawn smaller, the part may fit on one page after all.
        return sparing(lambda look: _alone(replace(given, look=look), group[0].part), look)
    spare = look.depth - sum(u.tail for u in group) - 4 * LINE * (len(group) - 1)
    top, placed = look.top, []
    for k, unit in enumerate(group):
        # What one part leaves of its share is there for those after it.
        shown = _above(unit, min(spare / (len(group) - k), MOST * look.depth))
        spare -= shown.height
        block = stack([unit.title, shown, unit.body, unit.strip])
        placed.append(Placed(block, lk.MARGIN, top))
        top -= block.height + 4 * LINE
    return [Page(tuple(section_of(u.part) for u in group), tuple(placed))]


def _alone(given: Given, part: SchemePart) -> list[Page]:
    """The pages of one part by itself."""
    unit = _unit(given, part)
    return _pages(given, [unit]) if _fit(given, [unit]) else _long(given, unit)


def _long(given: Given, unit: _Unit) -> list[Page]:
    """A part of several pages; its picture takes what the passes under it leave."""
    look, section = given.look, section_of(unit.part)
    room = look.depth - unit.title.height
    least = unit.picture(LEAST * look.depth)
    # A picture is as deep as the names beside it: those alone would leave no room for passes.
    if least.height > 0.6 * room:
        return _very_long(given, unit)
    here = filled(unit.tiles, room - least.height, ACROSS)[-1]
    body = in_columns(unit.tiles[:here], ACROSS, look.measure)
    shown = unit.picture(min(room - body.height, MOST * look.depth))
    pages = [Page((section,), (Placed(stack([unit.title, shown, body]), lk.MARGIN, look.top),))]
    pages += pages_of(look, section, unit.tiles[here:], ACROSS) if here < len(unit.tiles) else []
    last, top = pages[-1], pages[-1].lowest
    if unit.strip.height <= top - look.bottom:
        return [*pages[:-1], Page((section,), (*last.placed, Placed(unit.strip, lk.MARGIN, top)))]
    return [*pages, Page((section,), (Placed(unit.strip, lk.MARGIN, look.top),))]


def _very_long(given: Given, unit: _Unit) -> list[Page]:
    """A part whose areas alone fill a page: its picture, its areas, its passes, each on pages of their own."""
    look, section = given.look, section_of(unit.part)
    frame = (look.measure, look.depth - unit.title.height)
    shown = numbered(given.pictures, unit.part, frame, (NUMBER, READ, NOTE))
    first = Page((section,), (Placed(stack([unit.title, shown]), lk.MARGIN, look.top),))
    names = [_area(given, i, look.span(1, 2)) for i in unit.part.areas]
    rest = pages_of(look, section, unit.tiles, ACROSS)
    strip = Page((section,), (Placed(unit.strip, lk.MARGIN, look.top),))
    return [first, *pages_of(look, section, names, 2), *rest, strip]


def _unit(given: Given, part: SchemePart) -> _Unit:
    look = given.look
    mine = [p for p in given.done if p.part == part.name]
    tiles = tuple(_tile(given, part, one, look.span(1, ACROSS)) for one in mine)
    if not mine:
        tiles = (words(look, "Nothing is painted on this part.", look.span(1, ACROSS)),)
    small = bool(mine) and len(part.areas) <= SMALL and len(mine) <= SMALL
    body = _beside(given, part, tiles) if small else snapped(in_columns(tiles, ACROSS, look.measure))
    # Groups of parts are tried at the same depths, and placing numbers is dear.
    picture = cache(partial(_picture, given, part))
    return _Unit(part, _title(given, part), picture, tiles, body, _strip(given, mine), small)


def _beside(given: Given, part: SchemePart, tiles: Sequence[Block]) -> Block:
    """The passes of a small part beside its picture and the names of its areas."""
    look = given.look
    wide = look.span(1, ACROSS)
    right = in_columns(tiles, ACROSS - 1, look.measure - wide - GUTTER)
    names = stack(_area(given, i, wide) for i in part.areas)
    deep = max(right.height - names.height - 2 * LINE, min(LEAST * look.depth, wide / given.pictures.ratio(part)))
    shown = numbered(given.pictures, part, (wide, deep), (NUMBER, READ, NOTE))
    return snapped(beside((0.0, stack([shown, gap(2 * LINE), names])), (wide + GUTTER, right)))


def _title(given: Given, part: SchemePart) -> Block:
    """The part's name and, beside or under it, its facts."""
    look = given.look
    facts = [f"{part.surface_cm2:.0f} cm² to paint on one casting"]
    facts += [f"{part.copies} copies on each figure"] if part.copies > 1 else []
    facts += [f"paint after {listed(part.after)}"] if part.after else []
    facts += [glue_bare(part)] if part.glue_faces else []
    told = sentence("; ".join(facts))
    left = look.width(look.plain(part.name, "heavy"), "heavy", SIGN) + 4 * MM
    if left + look.width(look.plain(told), "body", READ) <= look.measure:
        name = words(look, part.name, left, SIGN, face="heavy")
        fact = words(look, told, look.measure - left, READ, colour=lk.QUIET)
        return snapped(beside((0.0, name), (left, lowered(fact, 6.0))), LINE)
    name = words(look, part.name, look.measure, SIGN, face="heavy")
    return snapped(stack([name, words(look, told, look.measure, READ, colour=lk.QUIET)]), LINE)


def _above(unit: _Unit, depth: float) -> Block:
    """The picture over the passes; none where they stand beside it."""
    return gap(0.0) if unit.small else unit.picture(depth)


def _picture(given: Given, part: SchemePart, depth: float) -> Block:
    """The numbered part and, beside it, its areas by name; as deep as the room allows and the part is."""
    look = given.look
    left = look.span(5)
    names = _names(given, part, look.measure - left - GUTTER, 1 if len(part.areas) <= 7 else 2)
    # Too many names for two columns: a narrower picture beside three.
    if names.height > depth - LINE:
        left = look.span(4)
        names = _names(given, part, look.measure - left - GUTTER, 3)
    deep = max(min(depth - LINE, left / given.pictures.ratio(part) + 2 * NUMBER), names.height)
    shown = numbered(given.pictures, part, (left, deep), (NUMBER, READ, NOTE))
    return snapped(beside((0.0, shown), (left + GUTTER, names)), LINE)


def _names(given: Given, part: SchemePart, width: float, columns: int) -> Block:
    """The areas: number, letter of the mix on its colour, name."""
    each = (width + GUTTER) / columns - GUTTER
    return in_columns([_area(given, i, each) for i in part.areas], columns, width)


def _area(given: Given, area: int, width: float) -> Block:
    look, spec = given.look, given.plan.scheme.area(area)
    mix = {i: given.plan.mixes[k] for i, k in given.plan.mix_of if i == area}.get(area)
    name = spec.name if mix else f"{spec.name}: stays bare"
    colour = mix.hex if mix else given.plan.order.primer.hex

    def sign(canvas: Any, left: float, top: float) -> None:
        look.write(canvas, str(area), (left + 14, top - 9.5), Lettering(READ, "heavy", align=1))

    chip = lowered(swatch(look, colour, (7 * MM, 3.7 * MM), mix.id if mix else "–", NOTE), 0.5)
    left = 18 + 8.5 * MM
    label = tight(look, name, width - left)
    block = beside((0.0, Block(14.0, 12.0, sign)), (18.0, chip), (left, label))
    return Block(width, max(block.height, 3.5 * LINE), block.draw)


def _tile(given: Given, part: SchemePart, one: PartPass, wide: float) -> Block:
    """A pass on this part: number, swatch, name; picture, coats and areas, recipe; brush, and what else to know."""
    look = given.look
    block = stack(
        [_tile_head(given, one, wide), gap(0.5 * LINE), _shown(given, part, one, wide), _said(given, one, wide)]
    )

    def draw(canvas: Any, left: float, top: float) -> None:
        canvas.setStrokeColor(look.colour(lk.RULE))
        canvas.setLineWidth(0.7)
        canvas.line(left, top, left + wide, top)
        block.draw(canvas, left, top - LINE)

    return snapped(Block(wide, block.height + LINE, draw), 0.5)


def _tile_head(given: Given, one: PartPass, wide: float) -> Block:
    look = given.look
    mixes = [given.mixes[m] for m in one.mixes]
    lead = look.width("00", "heavy", SIGN) + 1.5 * MM
    chip = (10 * MM, 5.6 * MM)
    left = lead + len(mixes) * (chip[0] + 1 * MM) + 1 * MM

    def sign(canvas: Any, x: float, top: float) -> None:
        look.write(canvas, str(one.pass_no), (x, top - 0.8 * SIGN), Lettering(SIGN, "heavy", lk.ACCENT))

    chips = [(lead + k * (chip[0] + 1 * MM), swatch(look, m.hex, chip, m.id)) for k, m in enumerate(mixes)]
    name = tight(look, " + ".join(m.name for m in mixes), wide - left, face="strong")
    return beside((0.0, Block(lead, SIGN, sign)), *chips, (left, name))


def _shown(given: Given, part: SchemePart, one: PartPass, wide: float) -> Block:
    """The part after the pass, beside it the areas under their coats, and the recipe."""
    step = given.pictures.step(one.pass_no, part)
    ratio = step.width / step.height
    across = min(0.34 * wide, 58 * ratio)
    shown = given.pictures.shown(one.pass_no, part, (across, across / ratio))
    left = across + 2 * MM
    return beside((0.0, shown), (left, stack([_coats(given, one, wide - left), _recipe(given, one, wide - left)])))


def _coats(given: Given, one: PartPass, width: float) -> Block:
    """Dots for the coats and the wait after each; under them the areas, those with the same coats together."""
    look, line = given.look, dict(one.line_coats)
    groups: dict[tuple[int, int, str], list[int]] = {}
    for w in one.work:
        groups.setdefault((w.coats, line.get(w.area, 0), _KINDS.get(w.kind, "")), []).append(w.area)
    wait = duration(given.passes[one.pass_no].recoat_min, up=True)
    rows = []
    for k, ((coats, along, kind), areas) in enumerate(sorted(groups.items(), reverse=True)):
        # The wait is the same for all areas of the pass: told in its first row.
        told = ", ".join([*([] if k else [f"wait {wait}"]), *([kind] if kind else [])])
        rows.append(_coats_row(look, coat_dots(look, coats, along, width), sorted(set(areas)), told, width))
    return stack([*rows, gap(0.5 * LINE)])


def _coats_row(look: lk.Look, dots: Block, areas: Sequence[int], told: str, width: float) -> Block:
    """Dots, areas and words in one line where they fit, else the areas in lines of their own."""
    ids, said = numbers(look, areas, width), look.width(told, "strong", READ)
    left, after = dots.width + 4, dots.width + 4 + ids.width + 2
    if ids.height < 2 * NUMBER and after + said <= width:
        label = tight(look, told, said + 1, face="strong") if told else gap(0)
        return beside((0.0, lowered(dots, 4.0)), (left, ids), (after, lowered(label, 1.5)))
    label = tight(look, told, width - left, face="strong") if told else gap(0)
    return stack([beside((0.0, lowered(dots, 4.0)), (left, label)), ids])


def _recipe(given: Given, one: PartPass, width: float) -> Block:
    """The recipe in drops, paint by paint."""
    look, rows = given.look, []
    for id in one.mixes:
        parts = [str(i.parts) for i in given.mixes[id].recipe]
        lead = max(look.width(n, "strong", READ) for n in parts) + 1 * MM
        for count, (name, _) in zip(parts, given.wells[id].ingredients, strict=True):
            rows.append(
                beside((0.0, tight(look, count, lead, face="strong")), (lead, paint_name(look, name, width - lead)))
            )
    return stack(rows)


def _said(given: Given, one: PartPass, wide: float) -> Block:
    """Brush, and what the picture cannot say."""
    look = given.look
    lines = [tight(look, sentence(text), wide) for text in (one.brush, _by_dryer(given)) if text]
    lines += [tight(look, sentence(one.own_text), wide, face="strong")] if one.own_text else []
    return stack([*lines, *(tight(look, sentence(text), wide) for text in one.care)])


def _by_dryer(given: Given) -> str:
    """'or 2 min under the dryer instead of the wait', where it is in use and the coat may be dried so."""
    plan = given.plan
    # The primer's times come first, then the paint's.
    paint = plan.dry[min(1, len(plan.dry) - 1)]
    if not plan.room.dryer or paint.dryer_hand_min is None:
        return ""
    # The more castings in its stream the longer a go: the longest is told.
    held = max((t.end_min - t.start_min for t in plan.run.tasks if t.kind == "dryer"), default=plan.room.dryer_min)
    return f"or {duration(held, up=True)} under the dryer instead of the wait"


def _strip(given: Given, mine: Sequence[PartPass]) -> Block:
    """Boxes to tick: a row a pass, a box a casting, passes side by side where they fit."""
    look, count = given.look, given.plan.run.castings
    if not mine:
        return gap(0.0)
    each = ceil(count / BOXES)
    boxes = ceil(count / each)
    across = 6 if boxes <= 4 else 3 if boxes <= 12 else 2
    many = "" if each == 1 else f" ({each} castings to a box)"
    said = f"Tick when the last coat of the pass is on{many}. Recipes in drops; pots stand on the palette page."
    rows = [_ticks(given, one, (boxes, each, count), look.span(1, across)) for one in mine]
    body = in_columns(rows, across, look.measure)
    return snapped(stack([gap(LINE), words(look, said, look.measure, NOTE, colour=lk.QUIET), body]))


def _ticks(given: Given, one: PartPass, many: tuple[int, int, int], wide: float) -> Block:
    look, (boxes, each, count) = given.look, many
    lead = 34.0
    side = min(14.0, (wide - lead) / boxes)

    def draw(canvas: Any, left: float, top: float) -> None:
        look.write(canvas, str(one.pass_no), (left + 14, top - 10.5), Lettering(READ, "heavy", lk.ACCENT, 1))
        look.write(canvas, one.mixes[0], (left + 18, top - 10.5), Lettering(READ, "strong"))
        canvas.setStrokeColor(look.colour(lk.QUIET))
        canvas.setLineWidth(0.6)
        for k in range(boxes):
            x = left + lead + k * side
            canvas.rect(x, top - 12.5, side - 1.5, 11)
            # Of a box for several the last casting in it.
            named = str(min((k + 1) * each, count))
            if look.width(named, "body", NOTE) <= side - 2 and count > 1:
                at = (x + (side - 1.5) / 2, top - 10)
                look.write(canvas, named, at, Lettering(NOTE, colour=lk.QUIET, align=0.5))

    return Block(wide, 3.75 * LINE, draw)
