"""What kind of picture it is, and bringing the paper of a scan or photograph to white.

Flat digital art is left untouched. Otherwise the light on the paper is a smooth surface: a quadratic in x and y,
fitted per channel to the logarithm of the linear light of the paper, which is divided out.
"""

from dataclasses import dataclass, replace
from typing import Literal

import cv2
import numpy as np
from PIL import Image

from finishplan.drawing.load import Loaded
from finishplan.drawing.model import Kind
from finishplan.drawing.shadow import without_shadows

FLAT_NOISE = 0.4
STEADY = 3.0
"""Steps of 0-255 that the paper of flat art may vary by."""
EXACT = 0.9
"""Share of pixels that are exactly like the one beside them, from which a picture without paper was made on a screen
(our rule: 0.93 and more of drawings, 0.73 at most of photographs made by chance)."""
PHOTO_UNEVENNESS = 0.08
STROKED = 40
"""Steps of 0-255 that strokes of one marker vary by, at most."""
ROUGH = 0.1
"""Share of a figure's pixels beside which the lightness bends by more than a step of 0-255, from which a hand or brush
left a texture: soft shading made on a screen has under 0.04, pencil, chalk and washes over 0.35 (our rule)."""
BANDED = 1.5
"""Steps of 0-255 between the bands of a marker, at least (our rule: soft shading made on a screen shows 1 at most)."""
COLOURED = 2.1
"""Of one channel's linear light to another's, from which paper is coloured: lamps as a camera sees them, once balanced,
and cream paper under them give under 2 (our rule)."""
PAPER_LIGHT = 0.95
"""Linear light of drawing paper, to which that of a photograph or scan is brought for its colours: papers have L* 93 to
98, a sheet made on a screen 100 (from memory; our rule between them)."""
PARTS = 32
"""Of a step of 0-255, in which streaks are measured (our numerical step)."""
BLOCKS = 80
FRAME = 0.04
ROUNDS = 6
EDGE, SOFT_RIM, RIPPLES = 24, 3, 8
"""Steps across an edge; pixels beside one that enlarging softens, and in which compression ripples."""


@dataclass(frozen=True, eq=False)
class Picture:
    """rgb: (h, w, 3) uint8 to find shapes in; own: the same to take the areas' colours from. noise: standard
    deviation of its grain; streaks, ringing: see the functions; all in 0-255 steps but the last, 0-1. paper: '#rrggbb'
    before any correction, None where it is not paper under a scanner or camera. scale: working pixels per pixel of
    the file."""

    kind: Kind
    rgb: np.ndarray
    noise: float
    streaks: float
    ringing: float
    paper: str | None
    notes: tuple[str, ...]
    own: np.ndarray
    scale: float


def hex_of(rgb: np.ndarray) -> str:
    """'#rrggbb' of sRGB (3,), 0-255."""
    return "#" + "".join(f"{int(v):02x}" for v in np.clip(np.rint(rgb), 0, 255))


def to_linear(values: np.ndarray) -> np.ndarray:
    """(...) linear light 0-1 of sRGB code values (...), 0-255 (IEC 61966-2-1)."""
    c = np.asarray(values, np.float64) / 255
    light: np.ndarray = np.where(c <= 0.04045, c / 12.92, ((c + 0.055) / 1.055) ** 2.4)
    return light


def from_linear(light: np.ndarray) -> np.ndarray:
    """(...) sRGB code values 0-255 of linear light (...), clipped to 0-1 (IEC 61966-2-1)."""
    c = np.clip(light, 0, 1)
    values: np.ndarray = 255 * np.where(c <= 0.0031308, c * 12.92, 1.055 * c ** (1 / 2.4) - 0.055)
    return values


def grain(rgb: np.ndarray) -> float:
    """Standard deviation of the grain of (h, w, 3) uint8 sRGB in 0-255 steps, from the median second difference along
    the rows: of normal noise the median is 0.6745 sqrt(6) times that."""
    green = rgb[::4, :, 1].astype(np.int16)
    # The second difference: even ramps and smooth shading drop out, grain stays.
    second = np.abs(2 * green[:, 1:-1] - green[:, :-2] - green[:, 2:])
    return float(_median(second) / (0.6745 * np.sqrt(6)))


def _median(counts: np.ndarray) -> float:
    """The median of whole numbers from 0 to some hundreds, 0 of none; by counting, which is quicker than sorting."""
    total = np.cumsum(np.bincount(counts.ravel()))
    return float(np.searchsorted(total, total[-1] / 2)) if counts.size else 0.0


def streaks(rgb: np.ndarray) -> float:
    """Median distance of the lightness of (h, w, 3) uint8 sRGB, the figure alone, from its mean close by, in 0-255
    steps: what strokes leave. Places that an edge crosses are left out."""
    light = np.asarray(Image.fromarray(np.ascontiguousarray(rgb[::2, ::2])).convert("L"))
    side = 2 * (max(light.shape) // 100) + 1
    square = np.ones((side, side), np.uint8)
    even = cv2.dilate(light, square) - cv2.erode(light, square) < STROKED
    # In parts of a step: those of a small or smoothed photograph are slight.
    fine = light.astype(np.int16) * PARTS
    apart = np.abs(fine - cv2.blur(fine, (side, side)))
    return _median(apart[even & (light < 250)]) / PARTS


def is_smooth(rgb: np.ndarray) -> bool:
    """Whether the lightness of (h, w, 3) uint8 sRGB runs smoothly away from edges: shading that is steep enough to
    differ from its mean close by, and yet no streaks."""
    light = np.asarray(Image.fromarray(rgb[::2]).convert("L"))
    square = np.ones((1, 2 * (max(rgb.shape) // 200) + 1), np.uint8)
    inner = (cv2.dilate(light, square) - cv2.erode(light, square) < STROKED) & (light < 250)
    rows = light.astype(np.int16)
    bends = np.abs(2 * rows[:, 1:-1] - rows[:, :-2] - rows[:, 2:])[inner[:, 1:-1]]
    return not len(bends) or float((bends > 1).mean()) < ROUGH


def ringing(rgb: np.ndarray) -> float:
    """How much more often faint ripples (of 1 to 6 steps) of (h, w, 3) uint8 sRGB lie beside edges than elsewhere, 0-1:
    what lossy compression leaves of a flat drawing. Anti-aliasing alone gives under 0.05, JPEG and WebP 0.13 to
    0.65."""
    rows = np.ascontiguousarray(rgb[8::16].transpose(2, 0, 1)).astype(np.int16)
    before, middle, after = rows[..., :-2], rows[..., 1:-1], rows[..., 2:]
    ripple = np.abs(2 * middle - before - after).max(0)
    faint = (ripple >= 1) & (ripple <= 6)
    edge = np.abs(after - before).max(0) > EDGE
    at_edge, near = _within(edge, SOFT_RIM), _within(edge, RIPPLES)
    # Right at an edge its own soft rim would count as ripples.
    beside, away = near & ~at_edge, ~near
    return float(faint[beside].mean() - faint[away].mean()) if beside.any() and away.any() else 0.0


def _within(marks: np.ndarray, reach: int) -> np.ndarray:
    """(h, w) bool: at most `reach` pixels along the row from a mark."""
    count = np.cumsum(np.pad(marks, ((0, 0), (reach + 1, reach))), axis=1, dtype=np.int32)
    near: np.ndarray = count[:, 2 * reach + 1 :] > count[:, : -2 * reach - 1]
    return near


def is_even(rgb: np.ndarray) -> bool:
    """Whether (h, w, 3) uint8 sRGB has no grain and the same paper all round, as a drawing made on a screen."""
    if grain(rgb) >= FLAT_NOISE:
        return False
    field = PaperField.fit(rgb)
    if field is None:  # a dark ground, or a dark table: only a drawn one is of one value from pixel to pixel
        return float((rgb[:, 1:] == rgb[:, :-1]).all(-1).mean()) > EXACT
    return field.range8 <= STEADY


def prepare(
    loaded: Loaded, paper_white: Literal["auto", "off"] = "auto", told: Kind | Literal["auto"] = "auto"
) -> Picture:
    """Decide between flat, scan and photo, unless `told`; correct the paper of the latter two unless `paper_white` is
    'off'."""
    # A transparent ground or layers come from a drawing program: there is no paper to correct.
    if loaded.opaque is not None or loaded.layers or told == "flat":
        return _picture("flat", loaded.rgb, loaded.scale)
    field = PaperField.fit(loaded.rgb)
    steady = field is None or field.range8 <= STEADY
    if told == "auto" and grain(loaded.rgb) < FLAT_NOISE and steady and not loaded.camera:
        return _picture("flat", loaded.rgb, loaded.scale)
    loaded = loaded.finer()
    if field is None:
        note = (
            "no paper found round the figure: colours are as they are in the picture. Crop it to the drawn page, or"
            " take it again in even light with the paper all round"
        )
        return _picture("photo" if loaded.camera else "scan", loaded.averaged, loaded.scale, notes=(note,))
    photographed = told == "photo" or (told == "auto" and (loaded.camera or field.unevenness > PHOTO_UNEVENNESS))
    kind: Kind = "photo" if photographed else "scan"
    white = field.divide(loaded.averaged)
    if field.coloured and paper_white == "auto":
        note = f"read as a {kind}: the paper is taken to be coloured ({field.hex}), and its colour left as it is"
        own = field.divide(loaded.averaged, field.high)
        own = without_shadows(white, own) if kind == "photo" else own
        return _picture(kind, own, loaded.scale, field.hex, notes=(note,))
    # A scanner lights its glass evenly; what is dark in a scan was drawn.
    white = without_shadows(white) if kind == "photo" else white
    if paper_white == "off":
        note = f"read as a {kind}: paper {field.hex} left as it is"
        # Shapes are found on the whitened copy; only the colours are those of the picture as it is.
        return replace(_picture(kind, white, loaded.scale, field.hex, notes=(note,)), own=loaded.averaged)
    note = f"read as a {kind}: paper {field.hex} brought to white"
    if kind == "photo":
        note += f", light evened out by {100 * field.unevenness:.0f} %"
    return replace(_picture(kind, white, loaded.scale, field.hex, notes=(note,)), own=_as_paper(white))


def _as_paper(white: np.ndarray) -> np.ndarray:
    """(h, w, 3) uint8 sRGB, its paper white, with it as light as paper is."""
    table = np.rint(from_linear(PAPER_LIGHT * to_linear(np.arange(256)))).astype(np.uint8)
    as_paper: np.ndarray = table[white]
    return as_paper


def _picture(
    kind: Kind, rgb: np.ndarray, scale: float, paper: str | None = None, notes: tuple[str, ...] = ()
) -> Picture:
    streaked = streaks(rgb)
    # A marker's bands are as smooth as shading made on a screen, but differ by more.
    if kind == "flat" and streaked < BANDED and is_smooth(rgb):
        streaked = 0.0
    return Picture(kind, rgb, grain(rgb), streaked, ringing(rgb), paper, notes, rgb, scale)


def _least_squares(terms: np.ndarray, values: np.ndarray) -> np.ndarray:
    """By the normal equations: few terms from -1 to 1 are well conditioned, and it is much quicker."""
    # The small part keeps it solvable where the paper seen is one narrow strip.
    square = terms.T @ terms + 1e-9 * np.eye(terms.shape[1])
    coefficients: np.ndarray = np.linalg.solve(square, terms.T @ values)
    return coefficients


@dataclass(frozen=True, eq=False)
class PaperField:
    """The light of bare paper over the picture. coefficients: (6, 3), of log linear light in 1, x, y, x2, xy, y2,
    with x and y from -1 to 1. low, high: its (3,) extremes on the paper, linear light."""

    coefficients: np.ndarray
    low: np.ndarray
    high: np.ndarray

    @classmethod
    def fit(cls, rgb: np.ndarray) -> "PaperField | None":
        """The field fitted to all of (h, w, 3) uint8 sRGB that follows on smoothly from the rim; None when that is no
        paper."""
        height, width = rgb.shape[:2]
        size = (min(width, BLOCKS), min(height, max(2, round(BLOCKS * height / width))))
        every = 2 if rgb.shape[0] * rgb.shape[1] > 400_000 else 1
        some = Image.fromarray(np.ascontiguousarray(rgb[::every, ::every]))
        blocks = np.asarray(some.resize(size, Image.Resampling.BOX))
        # Light multiplies, so its logarithm adds: one quadratic serves bright and dark paper alike.
        light = np.log(np.maximum(to_linear(blocks), 1e-3))
        y, x = np.meshgrid(np.linspace(-1, 1, size[1]), np.linspace(-1, 1, size[0]), indexing="ij")
        terms = np.stack([np.ones_like(x), x, y, x * x, x * y, y * y], axis=-1)
        frame = np.maximum(abs(x), abs(y)) >= 1 - 2 * FRAME
        chosen = frame & (abs(light - np.median(light[frame], axis=0)).max(-1) < 0.5)
        for number in range(ROUNDS):
            if chosen.sum() < 12:
                return None
            coefficients = _least_squares(terms[chosen], light[chosen])
            residual = light - terms @ coefficients
            # Loose at first, while the field is still bent by what is no paper.
            tolerance = 0.15 if number < 2 else 0.06
            # From the rim inwards: after the first round any block that follows on smoothly is paper too.
            chosen = (abs(residual).max(-1) < tolerance) & (frame if number == 0 else True)
        on_paper = np.exp((terms @ coefficients)[chosen])
        bright = np.median(on_paper, axis=0).mean() > 0.12
        if chosen[frame].mean() < 0.4 or not bright:
            return None
        # Not the very ends: single blocks of dirt or glare would decide between scan and photograph.
        return cls(coefficients, np.quantile(on_paper, 0.02, axis=0), np.quantile(on_paper, 0.98, axis=0))

    @property
    def hex(self) -> str:
        """The paper's mean colour."""
        return hex_of(from_linear((self.low + self.high) / 2))

    @property
    def coloured(self) -> bool:
        """Whether the paper has a colour of its own, so strong that no light gives it to white paper."""
        light = (self.low + self.high) / 2
        return bool(light.max() > COLOURED * light.min())

    @property
    def unevenness(self) -> float:
        """How much darker the darkest paper is than the brightest, 0-1, linear light."""
        return float(1 - (self.low / self.high).min())

    @property
    def range8(self) -> float:
        """The widest range of a channel over the paper, in 0-255 steps of sRGB."""
        return float((from_linear(self.high) - from_linear(self.low)).max())

    def divide(self, rgb: np.ndarray, paper: np.ndarray | None = None) -> np.ndarray:
        """(h, w, 3) uint8 sRGB: the picture, of that shape, with its paper at white, or at (3,) linear light."""
        height, width = rgb.shape[:2]
        x, y = np.linspace(-1, 1, width, dtype=np.float32), np.linspace(-1, 1, height, dtype=np.float32)
        one, c = np.ones_like, self.coefficients.astype(np.float32)
        out = np.empty_like(rgb)
        decode = 4096 * to_linear(np.arange(256)).astype(np.float32)
        # A table of 4097 steps: finer than 8 bits anywhere, and no power for each of a million pixels.
        encode = np.rint(from_linear(np.arange(4097) / 4096)).astype(np.uint8)
        for k in range(3):
            down = np.stack([c[0, k] + c[2, k] * y + c[5, k] * y * y, c[1, k] + c[4, k] * y, c[3, k] * one(y)], -1)
            field = (1 if paper is None else paper[k]) * np.exp(-(down @ np.stack([one(x), x, x * x])))
            # In place: fresh memory for each of a million pixels takes longer than the sums.
            field *= decode.take(rgb[..., k])
            out[..., k] = encode.take(np.minimum(field, 4096, out=field).astype(np.int16))
        return out
