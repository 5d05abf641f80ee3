"""Small drawn things: swatches with a mix's letter, coats as dots, drops, boxes to tick."""

import re
from collections.abc import Sequence
from typing import Any

from finishplan.sheets import look as lk
from finishplan.sheets.look import LINE, MM, NOTE, READ, Lettering, Look
from finishplan.sheets.page import Block, gap, rich, stack, words

DOT, DROP = 8.5, 5.2
"""From one coat's dot, and from one drop, to the next."""


def plate(canvas: Any, look: Look, text: str, at: tuple[float, float], size: float = NOTE) -> None:
    """`text` centred on a small white plate: legible on any ground, in colour and in grey."""
    width = look.width(text, "strong", size) + 0.5 * size
    high = 1.02 * size
    canvas.setFillColor(look.colour(lk.PAPER_WHITE))
    canvas.roundRect(at[0] - width / 2, at[1] - high / 2, width, high, high * 0.36, stroke=0, fill=1)
    # Figures and capitals are about two thirds of the size high: so they stand in the middle.
    look.write(canvas, text, (at[0], at[1] - 0.33 * size), Lettering(size, "strong", align=0.5))


def swatch(look: Look, colour: str, size: tuple[float, float], letter: str = "", letter_size: float = READ) -> Block:
    """A filled box with a thin line around it, so that white shows on paper, and its mix's letter on a plate."""
    width, height = size

    def draw(canvas: Any, left: float, top: float) -> None:
        canvas.setFillColor(look.colour(colour))
        canvas.setStrokeColor(look.colour(lk.QUIET))
        canvas.setLineWidth(0.5)
        canvas.rect(left, top - height, width, height, fill=1)
        if letter:
            plate(canvas, look, letter, (left + width / 2, top - height / 2), letter_size)

    return Block(width, height, draw)


def well(look: Look, colour: str, letter: str, across: float) -> Block:
    """A well of the palette with its mix in it."""
    r = across / 2

    def draw(canvas: Any, left: float, top: float) -> None:
        canvas.setFillColor(look.colour(colour))
        canvas.setStrokeColor(look.colour(lk.QUIET))
        canvas.setLineWidth(0.8)
        canvas.circle(left + r, top - r, r, fill=1)
        plate(canvas, look, letter, (left + r, top - r), lk.NUMBER)

    return Block(across, across, draw)


def coat_dots(look: Look, coats: int, line_coats: int, width: float) -> Block:
    """A dot a coat that goes on the whole area, then an upright bar a coat that goes only along the cut edge."""
    across = max(1, int(width // DOT))
    rows = -(-max(coats, 1) // across)

    def draw(canvas: Any, left: float, top: float) -> None:
        canvas.setStrokeColor(look.colour(lk.INK))
        canvas.setFillColor(look.colour(lk.INK))
        canvas.setLineWidth(1.1)
        for k in range(coats):
            x, y = left + k % across * DOT + DOT / 2, top - k // across * DOT - DOT / 2
            if k < coats - line_coats:
                canvas.circle(x, y, 3.0, stroke=1, fill=1)
            else:
                canvas.rect(x - 2.4, y - 3.6, 2.2, 7.2, stroke=0, fill=1)

    return Block(min(coats, across) * DOT, rows * DOT, draw)


def _drop(canvas: Any, x: float, y: float) -> None:
    """A drop about 6 points high, its round lower end centred on (x, y)."""
    r = 2.1
    path = canvas.beginPath()
    path.moveTo(x, y + 2.1 * r)
    path.curveTo(x + 0.5 * r, y + 1.1 * r, x + r, y + 0.6 * r, x + r, y)
    # One curve for a half circle: its handles reach four thirds of the radius.
    path.curveTo(x + r, y - 1.33 * r, x - r, y - 1.33 * r, x - r, y)
    path.curveTo(x - r, y + 0.6 * r, x - 0.5 * r, y + 1.1 * r, x, y + 2.1 * r)
    canvas.drawPath(path, stroke=1, fill=1)


def drops(look: Look, colour: str, count: int, width: float) -> Block:
    """So many drops in a row, or in as many rows as they take."""
    across = max(1, int(width // DROP))
    rows = -(-count // across)

    def draw(canvas: Any, left: float, top: float) -> None:
        canvas.setFillColor(look.colour(colour))
        canvas.setStrokeColor(look.colour(lk.INK))
        canvas.setLineWidth(0.4)
        for k in range(count):
            _drop(canvas, left + k % across * DROP + DROP / 2, top - (k // across) * 8.5 - 6.6)

    return Block(min(count, across) * DROP, rows * 8.5, draw)


def tick(look: Look, side: float = 3.6 * MM) -> Block:
    """One box to tick."""

    def draw(canvas: Any, left: float, top: float) -> None:
        canvas.setStrokeColor(look.colour(lk.QUIET))
        canvas.setLineWidth(0.6)
        canvas.rect(left, top - side - 1, side, side)

    return Block(side, side + 1, draw)


def dab(look: Look, side: tuple[float, float], text: str = "") -> Block:
    """A dashed box to dab the real mix into."""
    width, height = side

    def draw(canvas: Any, left: float, top: float) -> None:
        canvas.setStrokeColor(look.colour(lk.QUIET))
        canvas.setLineWidth(0.6)
        canvas.setDash(2.5, 2)
        canvas.rect(left, top - height, width, height)
        canvas.setDash()
        if text:
            at = (left + width / 2, top - height / 2 - 3)
            look.write(canvas, text, at, Lettering(NOTE, colour=lk.QUIET, align=0.5))

    return Block(width, height, draw)


def target(look: Look) -> Block:
    """A dot in a ring: what is dotted on."""

    def draw(canvas: Any, left: float, top: float) -> None:
        canvas.setLineWidth(1.1)
        canvas.setStrokeColor(look.colour(lk.INK))
        canvas.setFillColor(look.colour(lk.INK))
        canvas.circle(left + 4.5, top - 4.5, 3.9, fill=0)
        canvas.circle(left + 4.5, top - 4.5, 1.6, stroke=0, fill=1)

    return Block(10.0, 9.0, draw)


def numbers(look: Look, ids: Sequence[int], width: float, size: float = lk.NUMBER, lead: float = 0.0) -> Block:
    """Area numbers in bold, wrapped to the width, the first `lead` in from the left; runs of three and more as '53–58'
    where they are many."""
    shown = [str(i) for i in ids] if len(ids) <= 10 else _runs(ids)
    lines: list[list[str]] = [[]]
    space, used = 0.36 * size, lead
    for text in shown:
        wide = look.width(text, "strong", size)
        if lines[-1] and used + wide > width:
            lines.append([])
            used = 0.0
        lines[-1].append(text)
        used += wide + space
    return stack(_line(look, line, size, 0.0 if k else lead) for k, line in enumerate(lines))


def _line(look: Look, line: Sequence[str], size: float, lead: float) -> Block:
    high, space = size + 2, 0.36 * size

    def draw(canvas: Any, left: float, top: float) -> None:
        left += lead
        for text in line:
            look.write(canvas, text, (left, top - 0.82 * size), Lettering(size, "strong"))
            left += look.width(text, "strong", size) + space

    return Block(lead + sum(look.width(t, "strong", size) + space for t in line), high, draw)


def _runs(ids: Sequence[int]) -> list[str]:
    runs: list[list[int]] = []
    for i in sorted(ids):
        if runs and i == runs[-1][-1] + 1:
            runs[-1].append(i)
        else:
            runs.append([i])
    # '53–54' would be no shorter than '53 54'.
    return [t for r in runs for t in ([f"{r[0]}–{r[-1]}"] if len(r) > 2 else map(str, r))]


def paint_name(look: Look, name: str, width: float) -> Block:
    """The name of an ingredient; what stands in brackets or after a comma is smaller."""
    first = re.match(r"[^(,]+,?", name)
    end = first.end() if first else len(name)
    small = f' <font size="{NOTE:g}">{look.mark(name[end:].strip())}</font>' if name[end:].strip() else ""
    return rich(look, look.mark(name[:end].strip()) + small, width, leading=3.5 * LINE)


def heading(look: Look, text: str, width: float) -> Block:
    """A heading inside a page, with room over it."""
    return stack([gap(2 * LINE), words(look, text, width, lk.NUMBER, face="strong"), gap(LINE)])
