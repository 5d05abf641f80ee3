"""What reading a drawing yields. Lengths and places are in pixels of the drawing as given (upright, full size)."""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from finishplan.colour.lab import Lab

Kind = Literal["flat", "scan", "photo"]

USUAL_HEIGHT_MM = 80.0
"""Height of a small figure when the maker tells none; printed with the plan."""


@dataclass(frozen=True)
class PaletteColour:
    """One colour of the drawing. share: 0-1 of the figure's pixels; areas: their ids."""

    hex: str
    lab: Lab
    share: float
    areas: tuple[int, ...]


@dataclass(frozen=True)
class Hint:
    """Something the drawing suggests and the maker decides: a flag, or that it is paper, and why it is offered."""

    flag: Literal["recess", "dot", "blend", "paper"]
    why: str
    other: int | None = None
    """The area it is offered against: the base of a shadow tone, what encloses a recess."""


@dataclass(frozen=True)
class Shade:
    """A shadow or highlight tone folded into the area whose colour it shades. share: 0-1 of the figure's pixels."""

    kind: Literal["shadow", "highlight"]
    hex: str
    lab: Lab
    share: float


@dataclass(frozen=True)
class Detail:
    """A line that borders one area on both sides: an eyebrow or whisker as well as a crease. area: the id of the area
    it lies in; at: a place on it, length_px, width_px: all in pixels of the drawing; hex: its colour; alone: it joins
    no other line, as a crease or a fold does."""

    area: int
    at: tuple[float, float]
    length_px: float
    width_px: float
    hex: str
    alone: bool = True


@dataclass(frozen=True)
class Area:
    """One connected patch of one colour on one part.

    id: from 1, in reading order part by part. part: index into Drawing.parts. colour: index into
    Drawing.palette. share: 0-1 of the figure's pixels; pixels: how many it has. bbox: (left, top, right, bottom), right
    and bottom outside; label_xy: a point well inside; both in pixels. narrow_px, wide_px: the narrowest and the widest
    place a brush must fill.
    """

    id: int
    part: int
    colour: int
    hex: str
    lab: Lab
    share: float
    pixels: float
    narrow_px: float
    wide_px: float
    label_xy: tuple[float, float]
    bbox: tuple[float, float, float, float]
    enclosed_by: int | None = None
    hints: tuple[Hint, ...] = ()
    shades: tuple[Shade, ...] = ()


@dataclass(frozen=True)
class Mark:
    """By what an area is found again in a changed drawing. id: its number; at: a place well inside, as shares of the
    picture's width and height; hex: its colour as drawn; size: 0-1 of the figure's pixels."""

    id: int
    at: tuple[float, float]
    hex: str
    size: float


@dataclass(frozen=True)
class Edge:
    """Where two areas of one part meet, in ascending order. straightness 0-1 (1: a straight line); soft: shaded, not
    drawn."""

    areas: tuple[int, int]
    length_px: float
    straightness: float
    soft: bool


@dataclass(frozen=True)
class DrawnPart:
    """One piece. bbox, pixels: as an area's. twin_of: index of an earlier part of the same shape, mirrored or not."""

    name: str
    bbox: tuple[float, float, float, float]
    pixels: float
    areas: tuple[int, ...]
    twin_of: int | None = None
    mirrored: bool = False


@dataclass(frozen=True, eq=False)
class Drawing:
    """The reading of one drawing.

    labels: (H, W) int32, the area id at each pixel of the working copy's window round the figure, 0 outside the
    figure; ink pixels belong to the area they border. ink_mask: (H, W) bool, the drawn lines. scale: working pixels
    per drawing pixel (at most 1). size: (width, height) of the drawing in its own pixels. origin: (x, y) of the
    window's corner, in the drawing's pixels. sheet: where the drawing is a sheet that was found in a photograph and
    straightened, the four corners of it there, clockwise from the top left, in the photograph's pixels. marks: every
    area as read, before corrections joined or dropped it; empty where none were made.
    """

    source: str
    size: tuple[int, int]
    scale: float
    kind: Kind
    ink: str | None
    paper: str | None
    palette: tuple[PaletteColour, ...]
    areas: tuple[Area, ...]
    edges: tuple[Edge, ...]
    parts: tuple[DrawnPart, ...]
    labels: np.ndarray
    ink_mask: np.ndarray
    notes: tuple[str, ...] = ()
    origin: tuple[float, float] = (0.0, 0.0)
    sheet: tuple[tuple[float, float], ...] | None = None
    marks: tuple[Mark, ...] = ()
    details: tuple[Detail, ...] = ()


def marks_of(drawing: Drawing) -> tuple[Mark, ...]:
    """By what each area of a reading is found again."""
    width, height = drawing.size
    return tuple(
        Mark(a.id, (round(a.label_xy[0] / width, 4), round(a.label_xy[1] / height, 4)), a.hex, float(f"{a.share:.3g}"))
        for a in drawing.areas
    )
