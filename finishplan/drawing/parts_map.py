"""A parts map: a picture of the same proportions as the drawing, with one flat colour a part."""

from dataclasses import dataclass
from pathlib import Path

import numpy as np
from PIL import Image

from finishplan.basics.errors import InputError
from finishplan.drawing.filters import thick
from finishplan.drawing.load import load

FEWEST_PIXELS = 0.001
GROUND_ON_FIGURE = 0.1
"""The background of a map may run under the figure's rim, not far: at most so much of it lies on the figure."""
MOST_COLOURS = 64
LOSSY = ("JPEG", "MPO", "WEBP")
LOSSY_STEP = 12
"""Of 255 a channel: how far lossy compression moves a flat colour away from the borders of its patch."""
LOSSY_SIDE = 9
"""Pixels of the narrowest patch that counts there: compression's own blocks have 8."""
LOSSY_REACH = 80
CLEAR, NONE, UNSURE = -1, -2, -3


@dataclass(frozen=True, eq=False)
class PartsMap:
    """What a map says. named: its flat colours as '#rrggbb', each with its (h, w) bool mask. ground: '#rrggbb' of its
    background, '' where it has none or is transparent there. bare: 0-1 of the figure that lies on that."""

    named: list[tuple[str, np.ndarray]]
    ground: str
    bare: float


def read_parts_map(
    path: Path,
    size: tuple[int, int],
    share: tuple[float, float, float, float],
    figure: np.ndarray,
    lines: np.ndarray,
) -> PartsMap:
    """The map at `path`; its masks have the shape of figure and lines, (h, w) bool. A colour that lies on the lines,
    where the map was filled in over the drawing, is no part's.

    size: (width, height) of the drawing. share: left, top, right, bottom of what is read of it, in parts of both.
    Raises InputError when the map's proportions are not those of the drawing or it shows no part.
    """
    sheet, clear = _sheet(path, size)
    height, width = sheet.shape
    box = (share[0] * width, share[1] * height, share[2] * width, share[3] * height)
    colours = np.asarray(Image.fromarray(sheet).resize(figure.shape[::-1], Image.Resampling.NEAREST, box))
    body, seen = figure & ~lines, (box[2] - box[0]) * (box[3] - box[1])
    ground = CLEAR if clear else _ground(sheet, colours, body, seen)
    kept = [v for v, k in _votes(colours).items() if v != ground and k >= FEWEST_PIXELS * colours.size]
    cure = "fill each part with one flat colour, and save it as PNG"
    if not kept:
        raise InputError("no part is coloured in", where=str(path), cure=cure)
    if len(kept) > MOST_COLOURS:
        raise InputError(f"it shows {len(kept)} colours, more than any figure has parts", where=str(path), cure=cure)
    # A colour that lies mostly on the lines is their own, drawn over the map.
    named = [(_hex(v), mask) for v in kept if (mask := colours == v)[lines].sum() < mask.sum() / 2]
    on_figure = [name for name, mask in named if (mask & body).any()]
    if len(on_figure) < 1 + (ground == NONE):
        what = " but ".join(["none of its colours lies on the figure", *on_figure])
        raise InputError(what, where=str(path), cure="fill the parts in over the drawing, at the same size")
    return PartsMap(named, _hex(ground), float((colours[body] == ground).mean()))


def _sheet(path: Path, size: tuple[int, int]) -> tuple[np.ndarray, bool]:
    """((h, w) int32 colours of the map as 0xrrggbb, CLEAR where it is transparent; whether it is so anywhere)."""
    loaded = load(path)
    if abs(loaded.size[0] / loaded.size[1] - size[0] / size[1]) > 0.01:
        raise InputError(
            f"it measures {loaded.size[0]} x {loaded.size[1]}, the drawing {size[0]} x {size[1]}",
            where=str(path),
            cure="draw the parts map over the drawing, at the same size",
        )
    sheet = loaded.rgb.astype(np.int32) @ np.array([65536, 256, 1], np.int32)
    # JPEG has bent the flat colours, and each bent one would pass for a part.
    if loaded.image.format in LOSSY:
        sheet = _evened(sheet)
    if loaded.opaque is None:
        return sheet, False
    return np.where(loaded.opaque, sheet, CLEAR).astype(np.int32), True


def _votes(colours: np.ndarray) -> dict[int, int]:
    """Each colour of an int array and its pixels."""
    values, votes = np.unique(colours, return_counts=True)
    return {v: k for v, k in zip(values.tolist(), votes.tolist(), strict=True) if v >= 0}


def _hex(colour: int) -> str:
    return "" if colour < 0 else f"#{colour:06x}"


def _ground(sheet: np.ndarray, colours: np.ndarray, body: np.ndarray, seen: float) -> int:
    """The background of a map without transparency: of the colours at its rim that of which the least lies on the
    figure, where that is little; else NONE, for then every colour is a part's.

    colours: (h, w) int32, what of the sheet lies over body, (h, w) bool; seen: pixels of the sheet that it came from.
    """
    rim = _votes(np.concatenate([sheet[0], sheet[-1], sheet[:, 0], sheet[:, -1]]))
    frequent = {v: k for v, k in _votes(sheet).items() if k >= FEWEST_PIXELS * sheet.size}
    on_figure, scale = _votes(colours[body]), seen / colours.size
    shares = [(on_figure.get(v, 0) * scale / k, -k, v) for v, k in frequent.items() if v in rim]
    least, _, ground = min(shares, default=(1.0, 0, NONE))
    return ground if len(frequent) < 2 or least < GROUND_ON_FIGURE else NONE


def _evened(colours: np.ndarray) -> np.ndarray:
    """(h, w) int32 colours as 0xrrggbb, each taken for the nearest of the colours that fill patches, as it was before
    lossy compression; UNSURE where none is near: rims and lines."""
    values, index, votes = np.unique(colours, return_inverse=True, return_counts=True)
    rgb = values[:, None] >> np.array([16, 8, 0]) & 255
    flat: list[int] = []
    for i in np.argsort(-votes, kind="stable").tolist():
        if votes[i] < FEWEST_PIXELS * colours.size or len(flat) > MOST_COLOURS:
            break
        if not flat or np.abs(rgb[flat] - rgb[i]).max(1).min() > LOSSY_STEP:
            flat.append(i)
    for _ in range(2):
        if not flat:
            return colours
        meant = np.array(flat)[((rgb[flat] ** 2).sum(1) - 2 * rgb @ rgb[flat].T).argmin(1)]
        evened: np.ndarray = meant[index.reshape(colours.shape)]
        # Only what holds a patch broader than compression's blocks is a colour that somebody filled in.
        flat = np.unique(evened[thick(evened, LOSSY_SIDE)]).tolist()
    far = np.abs(rgb[meant] - rgb).max(1) > LOSSY_REACH
    return np.where(far, UNSURE, values[meant]).astype(np.int32)[index.reshape(colours.shape)]
