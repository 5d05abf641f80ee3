"""The scale on the rim of the numbered drawing: the shares of the sheet's width and height that places are told in."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from finishplan.sheets import look as lk

STEP, FINE = 10, 50
"""Marks with a figure, and all marks, to the sheet's width: every 0.1, every 0.02 (our layout)."""


@dataclass(frozen=True)
class Rim:
    """Where a picture shows the sheet. left, top: of the sheet, width, height: of the whole of it, in pixels of the
    picture, wherever they lie."""

    left: float
    top: float
    width: float
    height: float

    def place(self, at: tuple[float, float]) -> tuple[float, float]:
        """Pixels of a place in shares of the sheet's width and height."""
        return self.left + at[0] * self.width, self.top + at[1] * self.height


def draw_rim(draw: Any, rim: Rim, room: int, font: Any) -> None:
    """Marks and figures in the `room` pixels along the top and the left of a picture."""
    width, height = draw.im.size
    line = max(1, room // 24)
    # Not up to the very end: a figure there would be cut off.
    for at, share in _marks(rim.left, rim.width, (room, width - room // 2)):
        draw.line((at, room - _long(share, room), at, room), fill=lk.QUIET, width=line)
        if share:
            draw.text((at, room * 0.62), share, font=font, fill=lk.QUIET, anchor="ms")
    for at, share in _marks(rim.top, rim.height, (room, height - room // 2)):
        draw.line((room - _long(share, room), at, room, at), fill=lk.QUIET, width=line)
        if share:
            draw.text((room * 0.66, at), share, font=font, fill=lk.QUIET, anchor="rm")


def _marks(first: float, length: float, between: tuple[float, float]) -> Iterator[tuple[float, str]]:
    """Where the marks lie that fall between two places, with their figures; '' for none."""
    for k in range(FINE + 1):
        at = first + length * k / FINE
        if between[0] <= at <= between[1]:
            yield at, f"{k / FINE:g}" if k % (FINE // STEP) == 0 else ""


def _long(share: str, room: int) -> float:
    return room * (0.3 if share else 0.15)
