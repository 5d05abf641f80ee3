"""A tile of the wall sheet: one pass, its parts side by side, each with its picture, coats and area numbers."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache
from typing import Any

from finishplan.order.model import Pass, PassKind, PassWork
from finishplan.plan.part_passes import mixes_of
from finishplan.scheme.model import SchemePart
from finishplan.sheets import look as lk
from finishplan.sheets.given import Given
from finishplan.sheets.letters import Face
from finishplan.sheets.look import GUTTER, MM, NOTE, NUMBER, READ, SIGN, Lettering
from finishplan.sheets.marks import coat_dots, numbers, swatch, target
from finishplan.sheets.page import Block, beside, gap, lowered, rich, stack, words

SWATCH = (12.5 * MM, 7 * MM)
PAD = 1.5 * MM
LEAST = 76.0
"""Width of a tile at least, and LEAST_CELL that of a part in it where each has its own numbers."""
LEAST_CELL = 44.0
LEAST_PICTURE = {NUMBER: 800.0, READ: 400.0, NOTE: 400.0}
"""Square points of a picture that numbers of this size must leave, else they are set smaller."""
MOST_LINES = 3
"""Lines of a name in a tile."""
MOST_ABREAST, MOST_ROWS = 6, 6
HEADS = 60.0
"""About how much of a tile's depth its head and its numbers take, when rows are chosen."""
_SAID = {"undercoat": "undercoat", "blend": "shade", "dot": "dots", "recut": "touch up"}

Row = list[tuple[int, float]]
"""(pass, width of its tile)."""


def in_rows(given: Given, passes: Sequence[int], room: tuple[float, float], deepest: float) -> list[Row]:
    """The passes in order in as many rows as make their pictures largest; a pass on more parts is wider."""
    weights = [_weight(given, no) for no in passes]
    best: tuple[float, list[list[int]]] = (-1e9, [])
    for count in range(-(-len(passes) // MOST_ABREAST), MOST_ROWS + 1) if passes else ():
        rows = _even(weights, count)
        # Pictures are bounded by the width of the heaviest row, and by what a tile's head leaves of its depth.
        each = room[0] / max(sum(weights[k] for k in row) for row in rows)
        free = min(each, min(room[1] / len(rows), deepest) - HEADS)
        best = max(best, (free, rows), key=lambda found: found[0])
    out = []
    for row in best[1]:
        least = [_least(given, passes[k]) for k in row]
        widths = _shares([weights[k] for k in row], least, room[0] - (len(row) - 1) * GUTTER / 2)
        out.append([(passes[k], wide) for k, wide in zip(row, widths, strict=True)])
    return out


def _least(given: Given, no: int) -> float:
    """Width that the tile's head needs: number and swatches, a name of usual length in one line."""
    mixes = mixes_of(given.passes[no])
    name = given.look.width(given.look.plain(" + ".join(given.mixes[m].name for m in mixes)), "strong", NOTE)
    return max(LEAST, min(name + 2 * PAD + 1, 1.25 * LEAST)) + (len(mixes) > 1) * SWATCH[0]


def _shares(weights: Sequence[float], least: Sequence[float], room: float) -> list[float]:
    """Widths by weight that add up to `room`, none under its least."""
    held: set[int] = set()
    while True:
        # Who would get too little is held at the least, and the rest share what is left, until nobody does.
        free = [k for k in range(len(weights)) if k not in held]
        share = (room - sum(least[k] for k in held)) / (sum(weights[k] for k in free) or 1)
        short = {k for k in free if share * weights[k] < least[k]}
        if not short:
            return [least[k] if k in held else share * weights[k] for k in range(len(weights))]
        held |= short


def _weight(given: Given, no: int) -> float:
    """How much width a pass asks for: each part its picture, and room for its numbers."""
    return 0.4 + min(4.0, sum(_cell_weight(one.work) for one in given.done if one.pass_no == no))


def _cell_weight(work: Sequence[PassWork]) -> float:
    """How much width a part asks for: its picture, its numbers, and the marks before each group of them."""
    kinds = len({(w.coats, w.kind) for w in work})
    return 0.55 + min(len(work), 12) / 20 + 0.15 * kinds


def _even(weights: Sequence[float], count: int) -> list[list[int]]:
    """Indices in order in `count` rows or fewer, of MOST_ABREAST at most, the heaviest as light as can be."""

    @cache
    def split(start: int, left: int) -> tuple[float, tuple[int, ...]]:
        """(weight of the heaviest row, where rows end) of all from `start` on in `left` rows."""
        if start == len(weights):
            return 0.0, ()
        if not left:
            return 1e9, ()
        ends = range(start + 1, min(start + MOST_ABREAST, len(weights)) + 1)
        ways = ((max(sum(weights[start:e]), split(e, left - 1)[0]), (e, *split(e, left - 1)[1])) for e in ends)
        return min(ways)

    ends = split(0, count)[1]
    return [list(range(a, b)) for a, b in zip((0, *ends), ends, strict=False)]


def tile(given: Given, no: int, size: tuple[float, float]) -> Block:
    """Pass number, swatch with the mix's letter, name; below, each part after the pass with its coats and numbers."""
    look = given.look
    wide, high = size[0] - 2 * PAD, size[1] - 2 * PAD
    head = _head(given, no, _only_part(given, no), wide)
    body = _body(given, no, (wide, high - head.height - 1 * MM))

    def draw(canvas: Any, left: float, top: float) -> None:
        canvas.setStrokeColor(look.colour(lk.RULE))
        canvas.setLineWidth(0.7)
        canvas.roundRect(left, top - size[1], size[0], size[1], 2 * MM)
        head.draw(canvas, left + PAD, top - PAD)
        body.draw(canvas, left + PAD, top - PAD - head.height - 1 * MM)

    return Block(size[0], size[1], draw)


def _only_part(given: Given, no: int) -> str:
    """The part that the pass paints, where it is one of several."""
    names = {one.part for one in given.done if one.pass_no == no}
    return names.pop() if len(names) == 1 and len(given.plan.scheme.parts) > 1 else ""


def _head(given: Given, no: int, part: str, wide: float) -> Block:
    """Number, swatches and, beside or under them, the mix's name and the part's, where there is one."""
    look, laid = given.look, given.passes[no]
    mixes = [given.mixes[m] for m in mixes_of(laid)]
    lead = look.width(str(no), "heavy", SIGN + 4) + 1.5 * MM
    # Two at most: a third leaves the tile no width, and its name stands in words.
    chips = [swatch(look, m.hex, SWATCH, m.id, NUMBER) for m in mixes[:2]]
    left = lead + sum(c.width + 1 * MM for c in chips)

    def sign(canvas: Any, x: float, top: float) -> None:
        look.write(canvas, str(no), (x, top - SIGN + 1), Lettering(SIGN + 4, "heavy", lk.ACCENT))

    row = [(0.0, Block(lead, SWATCH[1], sign))]
    row += [(lead + k * (SWATCH[0] + 1 * MM), chip) for k, chip in enumerate(chips)]
    name = " + ".join(m.name for m in mixes)
    label = _label(look, name, part, max(wide - left, 1.0))
    whole = max(look.width(w, "strong", NOTE) for w in look.plain(f"{name} {part}").split() or [""]) <= wide - left
    if whole and label.height <= 2 * lk.LEADING[NOTE] + 0.1:
        return beside(*row, (left, label))
    beside_it = look.width(look.plain(f"  {part}"), "body", NOTE) + 2 if part else 0.0
    if look.width(look.plain(name, "strong"), "strong", NOTE) + beside_it <= wide:
        return stack([beside(*row), gap(0.5 * MM), _label(look, name, part, wide + 1)])
    lines: list[tuple[str, Face]] = [(name, "strong"), (part, "body")]
    under = [_lines(look, text, wide, face) for text, face in lines if text]
    return stack([beside(*row), gap(0.5 * MM), *under])


def _lines(look: lk.Look, text: str, wide: float, face: Face = "body") -> Block:
    """A name in as many lines as it takes, MOST_LINES of them at most."""
    told = words(look, text, wide + 1, NOTE, face=face)
    if told.height <= MOST_LINES * lk.LEADING[NOTE] + 0.1:
        return told
    return words(look, look.fit(text, face, NOTE, (MOST_LINES - 0.5) * wide), wide + 1, NOTE, face=face)


def _label(look: lk.Look, name: str, part: str, wide: float) -> Block:
    return rich(
        look, f"{look.mark(name, 'strong')} &nbsp;{look.mark(part)}" if part else look.mark(name, "strong"), wide, NOTE
    )


@dataclass(frozen=True)
class _Cell:
    """What a pass does on one part, or on several where there is no room for each."""

    name: str
    parts: tuple[SchemePart, ...]
    work: tuple[PassWork, ...]


def _body(given: Given, no: int, size: tuple[float, float]) -> Block:
    """The parts side by side, each over or beside its own numbers; where that leaves no picture, all over the numbers
    of all."""
    parts = {p.name: p for p in given.plan.scheme.parts}
    cells = [_Cell(o.part, (parts[o.part],), o.work) for o in given.done if o.pass_no == no]
    cells = [replace(c, name="") for c in cells] if len(cells) == 1 else cells
    gaps = (len(cells) - 1) * 2 * MM
    if size[0] - gaps >= LEAST_CELL * len(cells):
        widths = _shares([_cell_weight(c.work) for c in cells], [LEAST_CELL] * len(cells), size[0] - gaps)
        laid = [_cell(given, no, cell, (w, size[1])) for cell, w in zip(cells, widths, strict=True)]
        if all(laid):
            lefts = [sum(widths[:k]) + k * 2 * MM for k in range(len(cells))]
            return beside(*((x, block) for x, block in zip(lefts, laid, strict=True) if block))
    one = _Cell("", tuple(c.parts[0] for c in cells), tuple(w for c in cells for w in c.work))
    return _cell(given, no, one, size, forced=True) or gap(0.0)


def _cell(given: Given, no: int, cell: _Cell, size: tuple[float, float], forced: bool = False) -> Block | None:
    """The part's name, picture and numbers, in the largest type that leaves room for a picture, None without."""
    look, (wide, high) = given.look, size
    title = [_lines(look, cell.name, wide), gap(0.5 * MM)] if cell.name else []
    room = high - sum(t.height for t in title)
    for type_size in (NUMBER, READ, NOTE):
        under = _work(given, no, cell.work, wide, type_size)
        over = (wide, room - under.height - 1 * MM)
        share = min(0.7, max(0.35, (56 if any(w.kind == "undercoat" for w in cell.work) else 46) / wide))
        side = _work(given, no, cell.work, share * wide, type_size)
        left = ((1 - share) * wide - 1.5 * MM, room if side.height <= room else 0.0)
        drawn = _drawn(given, no, cell, over), _drawn(given, no, cell, left)
        if max(drawn) >= LEAST_PICTURE[type_size] or (forced and type_size == NOTE):
            break
    else:
        return None
    if drawn[1] > 1.3 * drawn[0]:
        shown = _shown(given, no, cell, left)
        return stack([*title, beside((0.0, lowered(shown, (room - shown.height) / 2)), ((1 - share) * wide, side))])
    shown = _shown(given, no, cell, over)
    air = gap(max(0.0, (over[1] - shown.height) / 2))
    return stack([*title, air, shown, air, gap(1 * MM), under])


def _sizes(given: Given, no: int, cell: _Cell, frame: tuple[float, float]) -> list[tuple[float, float]]:
    """Width and height of each picture of the cell in a frame."""
    each = (frame[0] - (len(cell.parts) - 1) * 1 * MM) / len(cell.parts)
    ratios = [(s := given.pictures.step(no, p)).width / s.height for p in cell.parts]
    highs = [min(max(frame[1], 0.0), max(each, 0.0) / r) for r in ratios]
    return [(h * r, h) for h, r in zip(highs, ratios, strict=True)]


def _drawn(given: Given, no: int, cell: _Cell, frame: tuple[float, float]) -> float:
    """How much of a frame the pictures fill."""
    return sum(w * h for w, h in _sizes(given, no, cell, frame))


def _shown(given: Given, no: int, cell: _Cell, frame: tuple[float, float]) -> Block:
    sizes = _sizes(given, no, cell, frame)
    spare = (frame[0] - sum(w for w, _ in sizes)) / (len(sizes) + 1)
    deepest = max(h for _, h in sizes)
    x, row = spare, []
    for part, (w, h) in zip(cell.parts, sizes, strict=True):
        row.append((x, lowered(given.pictures.shown(no, part, (w, h)), (deepest - h) / 2)))
        x += w + spare
    return beside(*row)


def _work(given: Given, no: int, work: Sequence[PassWork], width: float, size: float) -> Block:
    """Marks for the coats, a word where one is needed, and the area numbers; areas of the same coats together."""
    laid, order = given.passes[no], given.plan.order
    most, beds = max((w.coats for w in laid.work if w.kind == "colour"), default=0), _undercoats(given, no)
    groups: dict[tuple[int, int, str, PassKind], list[int]] = {}
    for w in work:
        line = order.line_coats(w)
        said = _SAID.get(w.kind, "small" if w.coats == 1 < most and w.area not in beds else "")
        said += f" in {w.mix}" if w.mix and w.mix != laid.mix else ""
        groups.setdefault((w.coats, line, said.strip(), w.kind), []).append(w.area)
    blocks = []
    for (coats, line, said, kind), areas in sorted(groups.items(), reverse=True):
        sign = target(given.look) if kind == "dot" else coat_dots(given.look, coats, line, width)
        blocks.append(_group(given.look, sign, said, sorted(set(areas)), (width, size)))
        under = sorted({beds[i] for i in areas if i in beds}) if kind != "undercoat" else []
        told = f"over the undercoat of pass {', '.join(map(str, under))}"
        blocks += [words(given.look, told, width, NOTE)] if under else []
    return stack(blocks)


def _undercoats(given: Given, no: int) -> dict[int, int]:
    """The earlier pass that laid an undercoat on an area."""
    before: list[Pass] = [p for p in given.passes.values() if p.no < no]
    return {w.area: p.no for p in before for w in p.work if w.kind == "undercoat"}


def _group(look: lk.Look, sign: Block, said: str, areas: Sequence[int], size: tuple[float, float]) -> Block:
    """Sign, word, and numbers after them, or under them where they would be squeezed."""
    width, type_size = size
    lead = sign.width + 2
    row = [(0.0, lowered(sign, type_size / 2 - 4.5))]
    if said:
        row.append((lead, lowered(words(look, said, width, NOTE, face="strong"), type_size / 2 - 6.5)))
        lead += look.width(said, "strong", NOTE) + 4
    widest = max(look.width(str(i), "strong", type_size) for i in areas)
    if lead + widest <= width:
        return beside(*row, (0.0, numbers(look, areas, width, type_size, lead)))
    return stack([beside(*row), numbers(look, areas, width, type_size)])
