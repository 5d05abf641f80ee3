"""Whether what was found are the outlines of the drawing: lines run along most borders between colours, or lie inside
one. Outlines of many tones are found by that network, whatever their colours."""

from dataclasses import replace

import numpy as np

from finishplan.drawing.components import spread
from finishplan.drawing.filters import odd, square_filter, thick
from finishplan.drawing.linework import ACROSS, COVERED, Lines, Sheet, darkest, solid, usual_width
from finishplan.drawing.tones import Classes, tone_of

PARTLY = 0.3
"""Share of all borders, or of the lines' own pixels with one colour on both sides, below which thin tones are no lines:
outlines of a drawing with shadow tones run along over 0.45, shadows along under 0.2 (our rule)."""
ROUND = 0.6
"""Share of the figure's own outline that lines run along where it has them: 0.8 and more, shadows and ripples along 0.5
(our rule, drawings made by chance)."""
INSIDE = 0.75
"""Share of all borders that outlines of many tones run along where they leave the figure's own outline bare: the shadow
tones of a drawing without lines run along 0.7 at most (our rule, drawings made by chance)."""
HIDDEN = 20.0
"""DIN99b from the background, within which a line round the figure may not be seen (our rule)."""
DARKER = 12
"""Steps of 0-255 by which a line is darker than both sides."""
MISSED = 0.25
"""Share of the dark strips outside the lines found, from which on the outlines have many tones."""

LEAST_SPOT = 3
"""Working pixels; a dark spot by itself, no narrower, is a freckle and no line."""


def settled(found: Lines, classes: Classes, sheet: Sheet) -> Lines:
    """The outlines: those found, with those of other tones, or none where what was found is a tone of shading.

    Lines of a told width are taken at the maker's word.
    """
    rgb, ground = sheet.rgb, sheet.ground
    # A bold network has passed this test already, and its lines are too broad for the strips below.
    if found.width > sheet.widest:
        return found
    known, told = found.rgb is not None, sheet.told is not None
    width = sheet.told or found.width
    side = max(odd(max(1.6 * width, width + 3)), 3) if known or told else sheet.widest
    thin = ~thick(classes.of_pixel, side) & ~ground
    strips = thin & _darker(rgb, side)
    missed = (strips & ~spread(found.mask, 2)).sum() > MISSED * max(strips.sum(), 1)
    # Told a width, the maker has said that there are outlines: then a third of the borders will do.
    covered, round_figure = _covered(classes, ground, strips), _round_figure(ground, strips) > ROUND
    along = covered > (PARTLY if told else COVERED if round_figure else INSIDE)
    if (missed and round_figure) or ((missed or len(found.others)) and along):
        return _of_many_tones(found, classes, rgb, strips, thin)
    if known and not told and not _outlines(found, classes, sheet) and _inside(classes, found) < PARTLY:
        return Lines(np.zeros(strips.shape, bool), 1.0, None)
    return found


def _outlines(found: Lines, classes: Classes, sheet: Sheet) -> bool:
    """Whether lines run along most of the figure's own outline; where that cannot be seen, as the background is as
    dark, along some of the borders."""
    ground = sheet.ground
    if _round_figure(ground, found.mask) > ROUND:
        return True
    beside = sheet.rgb[::4, ::4][ground[::4, ::4]]
    seen = len(beside) > 0 and np.linalg.norm(tone_of(np.median(beside, axis=0)) - tone_of(found.inks), axis=1).min()
    return _covered(classes, ground, found.mask) > (COVERED if seen > HIDDEN else PARTLY)


def _round_figure(ground: np.ndarray, mask: np.ndarray) -> float:
    """Share of the figure's outline against the (h, w) background that (h, w) bool mask lies on."""
    rim = spread(ground, 1) & ~ground
    return float((rim & spread(mask, 2)).sum() / max(rim.sum(), 1))


def _darker(rgb: np.ndarray, side: int) -> np.ndarray:
    """(h, w) bool: darker than what lies `side` pixels away on both sides (a black-hat transform of the luma)."""
    light = (rgb @ np.array([0.2, 0.7, 0.1], np.float32)).astype(np.uint8)
    reach = 2 * side + 1
    closed = square_filter(square_filter(light, reach, largest=True), reach, largest=False)
    darker: np.ndarray = closed - light > DARKER
    return darker


def _covered(classes: Classes, ground: np.ndarray, mask: np.ndarray) -> float:
    """Share of the borders between colours, the background's too, that (h, w) bool mask lies on."""
    cls = np.where(ground, np.uint8(254), classes.of_pixel)
    # As wide as the soft rim: a line beside its border lies on it all the same.
    near, half = spread(mask, 3), ACROSS // 2
    met = on = 0
    for one, two, at in (
        (cls[::4, :-ACROSS], cls[::4, ACROSS:], near[::4, half : half - ACROSS]),
        (cls[:-ACROSS, ::4], cls[ACROSS:, ::4], near[half : half - ACROSS, ::4]),
    ):
        border = (one != two) & (one != classes.unsure) & (two != classes.unsure)
        met, on = met + int(border.sum()), on + int((border & at).sum())
    return on / max(met, 1)


def _inside(classes: Classes, lines: Lines) -> float:
    """Share of the lines' pixels that have one colour on both sides: strokes drawn inside an area."""
    cls = np.where(lines.mask, np.uint8(255), classes.of_pixel)
    reach = round(lines.width) + 3
    inside = np.zeros(cls.shape, bool)
    for here, one, two in (
        (inside[:, reach:-reach], cls[:, 2 * reach :], cls[:, : -2 * reach]),
        (inside[reach:-reach], cls[2 * reach :], cls[: -2 * reach]),
    ):
        here |= (one == two) & (one < classes.unsure)
    return float(inside[lines.mask].mean())


def _of_many_tones(found: Lines, classes: Classes, rgb: np.ndarray, strips: np.ndarray, thin: np.ndarray) -> Lines:
    """The lines found with the dark strips, and with all thin bits of the tones that are mostly dark strips."""
    of_pixel, width = classes.of_pixel, usual_width(strips) if found.rgb is None else found.width
    mask = found.mask | strips
    count, total = (np.bincount(c, minlength=classes.unsure + 1) for c in (of_pixel[mask], of_pixel.ravel()))
    lined = count > 0.5 * np.maximum(total, 1)
    lined[classes.unsure] = False
    # A tone most of whose pixels are dark strips is a tone of the outlines: its lighter thin bits come too.
    strips = strips | (thin & lined[of_pixel])
    mask = found.mask | (strips & ~solid(strips, width, LEAST_SPOT))
    main = darkest(rgb, strips) if found.rgb is None else found.rgb
    return replace(Lines(mask, width, main), others=np.vstack([found.others, classes.rgb[lined[:-1]]]))
