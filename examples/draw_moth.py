"""Draw the Match Moth, who carries the Lamplighter Newt's matches: writes moth.png beside this file.

Soft airbrushed shading without lines. A shape is the points that its outline passes through; it is shaded as a low
dome lit from the top left, up to SHADE in CIE L* about its own colour. Lengths are pixels of the sheet; y grows
downwards; what is drawn at x is drawn at WIDTH - x too where a shape is paired.
"""

from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from PIL import Image, ImageDraw
from scipy import ndimage as nd
from skimage.color import lab2rgb, rgb2lab

HERE = Path(__file__).resolve().parent
WIDTH, HEIGHT = 1600, 1500
FINE = 3
SHADE, GLOW, CONTACT = 10.0, 9.0, 6.0
"""CIE L*: of the shading, of a highlight, and of the shadow of a shape on what lies below it."""

PAPER = "#ffffff"
CREAM, BROWN, RED = "#f0dfa6", "#623b2b", "#b43a3a"
"""Close to the newt's cream, brown and red, but not the same."""
FUR, DUSK, INDIGO, LILAC = "#a195a6", "#6f88c4", "#3b3e74", "#d3a2c8"
BUTTER, TAN, WOOD, LEATHER = "#f5d35c", "#bf8455", "#dfbd94", "#96603c"
EYE, GLINT, BLUSH, GOLD = "#2c2450", "#dbe8fb", "#d9798f", "#cfae62"

Points = list[tuple[float, float]]


@dataclass(frozen=True)
class Shape:
    """An area of one colour. within: outlines that hem it in; glow: how strong its highlight is, 0-1."""

    colour: str
    outline: Points
    within: tuple[Points, ...] = ()
    glow: float = 0.0
    contact: float = 1.0
    smooth: bool = True


def oval(x: float, y: float, rx: float, ry: float, turn: float = 0.0) -> Points:
    """An ellipse, turned clockwise by so many degrees."""
    c, s = np.cos(np.radians(turn)), np.sin(np.radians(turn))
    at = np.linspace(0, 2 * np.pi, 24, endpoint=False)
    u, v = rx * np.cos(at), ry * np.sin(at)
    return [(float(x + a * c - b * s), float(y + a * s + b * c)) for a, b in zip(u, v, strict=True)]


def scalloped(points: Points, lobes: int, depth: float) -> Points:
    """The outline with soft lobes standing out of it."""
    ring = curve(points)
    way = np.gradient(ring, axis=0)
    area = np.sum(ring[:, 0] * np.roll(ring[:, 1], -1) - np.roll(ring[:, 0], -1) * ring[:, 1])
    out = np.sign(area) * np.stack([way[:, 1], -way[:, 0]], 1) / np.linalg.norm(way, axis=1)[:, None]
    far = np.concatenate([[0], np.cumsum(np.linalg.norm(np.diff(ring, axis=0), axis=1))])
    lobe = np.abs(np.sin(np.pi * lobes * far / far[-1])) ** 0.7
    return [(float(x), float(y)) for x, y in ring + depth * (lobe - 0.5)[:, None] * out]


def strip(points: Points, widths: list[float]) -> Points:
    """A limb or strap along points, so wide at each."""
    way = np.gradient(np.array(points), axis=0)
    side = np.stack([-way[:, 1], way[:, 0]], 1) / np.linalg.norm(way, axis=1)[:, None] * np.array(widths)[:, None] / 2
    both = np.concatenate([np.array(points) + side, (np.array(points) - side)[::-1]])
    return [(float(x), float(y)) for x, y in both]


def turned(points: Points, x: float, y: float, degrees: float) -> Points:
    """Turned clockwise about a point."""
    c, s = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
    return [(x + (a - x) * c - (b - y) * s, y + (a - x) * s + (b - y) * c) for a, b in points]


def mirrored(points: Points) -> Points:
    """On the other side of the moth."""
    return [(WIDTH - x, y) for x, y in points]


def pair(shape: Shape) -> list[Shape]:
    """The shape and its mirror image."""
    return [shape, replace(shape, outline=mirrored(shape.outline), within=tuple(map(mirrored, shape.within)))]


def curve(points: Points) -> np.ndarray:
    """(n, 2) the closed Catmull-Rom spline through the points."""
    p = np.array(points)
    a, b, c, d = np.roll(p, 1, 0), p, np.roll(p, -1, 0), np.roll(p, -2, 0)
    t = np.linspace(0, 1, 12, endpoint=False)[:, None, None]
    arc = 0.5 * (2 * b + (c - a) * t + (2 * a - 5 * b + 4 * c - d) * t**2 + (3 * (b - c) + d - a) * t**3)
    return arc.transpose(1, 0, 2).reshape(-1, 2)


FOREWING = [(690, 800), (560, 560), (300, 370), (110, 330), (60, 430), (110, 640), (200, 830), (330, 940), (560, 960)]
INNER_WING = [
    (690, 810),
    (560, 600),
    (330, 440),
    (180, 415),
    (155, 480),
    (190, 630),
    (270, 780),
    (380, 865),
    (580, 900),
]
HINDWING = [(680, 880), (430, 880), (270, 980), (240, 1120), (300, 1270), (420, 1310), (560, 1220), (700, 1080)]
BODY = [
    (800, 690),
    (930, 740),
    (990, 900),
    (975, 1090),
    (890, 1240),
    (800, 1270),
    (710, 1240),
    (625, 1090),
    (610, 900),
    (670, 740),
]
BAG = turned(
    [(900, 990), (1080, 990), (1100, 1010), (1096, 1140), (1070, 1160), (915, 1160), (888, 1140), (882, 1010)],
    990,
    1070,
    5,
)
FLAP = turned(
    [(886, 985), (990, 972), (1094, 985), (1090, 1050), (1040, 1085), (990, 1096), (940, 1085), (890, 1050)],
    990,
    1070,
    5,
)


def moth() -> list[Shape]:
    """All shapes, the lowest first."""
    return [*wings(), *body(), *satchel(), *head()]


def wings() -> list[Shape]:
    """Hind wings with spots, fore wings with a margin and an eye each."""
    spots = [oval(325, 1010, 34, 30), oval(312, 1112, 38, 34), oval(372, 1215, 34, 32)]
    return [
        *pair(Shape(LILAC, scalloped(HINDWING, 9, 16), glow=0.6)),
        *(shape for spot in spots for shape in pair(Shape(CREAM, spot, contact=0.3))),
        *pair(Shape(INDIGO, scalloped(FOREWING, 11, 18))),
        *pair(Shape(DUSK, INNER_WING, within=(FOREWING,), glow=0.7, contact=0.3)),
        *pair(Shape(BUTTER, oval(330, 610, 88, 84), contact=0.3, glow=0.4)),
        *pair(Shape(INDIGO, oval(334, 614, 48, 46), contact=0.3)),
        *pair(Shape(LILAC, oval(505, 745, 50, 34, 40), contact=0.3)),
    ]


def body() -> list[Shape]:
    """Feet, trunk, belly with two bands, arms."""
    bands = [strip([(600, y), (800, y + 46), (1000, y)], [40, 46, 40]) for y in (990, 1110)]
    belly = oval(800, 1030, 118, 195)
    return [
        *pair(Shape(TAN, oval(728, 1272, 74, 40, -6), glow=0.4)),
        Shape(FUR, BODY, glow=0.6),
        Shape(CREAM, belly, contact=0.4),
        *(Shape(TAN, band, within=(belly,), contact=0.3) for band in bands),
    ]


def satchel() -> list[Shape]:
    """Strap, matches, bag, and the arms that belong to them."""
    matches = []
    for x, top, lean in ((916, 896, -14), (950, 874, -6), (988, 876, 1), (1022, 898, 8)):
        matches += _match(x, top, 160, lean)
    return [
        Shape(LEATHER, strip([(655, 760), (760, 850), (880, 960), (930, 1010)], [40, 42, 42, 40])),
        *matches,
        Shape(BROWN, BAG, glow=0.2),
        Shape(LEATHER, FLAP, glow=0.5, contact=0.8),
        Shape(GOLD, oval(985, 1082, 30, 28), glow=0.5, contact=0.6),
        *_match(520, 600, 250, -9),
        Shape(FUR, strip([(660, 800), (600, 870), (545, 850), (520, 800)], [86, 80, 70, 64]), glow=0.3),
        Shape(TAN, oval(521, 782, 44, 42), glow=0.4),
        Shape(FUR, strip([(930, 790), (1040, 820), (1112, 900), (1110, 985)], [86, 80, 72, 66]), glow=0.3),
        Shape(TAN, oval(1104, 1004, 44, 42), glow=0.4),
    ]


def _match(x: float, top: float, length: float, lean: float) -> list[Shape]:
    stick = [(x - 11, top), (x + 11, top), (x + 11, top + length), (x - 11, top + length)]
    tip = oval(x, top, 21, 31)
    foot = (x, top + length)
    return [
        Shape(WOOD, turned(stick, *foot, lean), smooth=False, contact=0.6),
        Shape(RED, turned(tip, *foot, lean), glow=0.6, contact=0.3),
    ]


def head() -> list[Shape]:
    """Feelers, ruff, face."""
    feeler = scalloped(
        [(735, 380), (690, 270), (600, 170), (480, 120), (455, 150), (530, 240), (640, 330), (700, 400)], 13, 26
    )
    smile = [(748, 608), (775, 628), (800, 634), (825, 628), (852, 608), (832, 644), (800, 656), (768, 644)]
    return [
        *pair(Shape(TAN, feeler, glow=0.3)),
        Shape(CREAM, scalloped(oval(800, 715, 232, 96), 13, 34), glow=0.5),
        Shape(
            FUR,
            [
                (800, 335),
                (930, 370),
                (1002, 490),
                (975, 620),
                (880, 692),
                (800, 704),
                (720, 692),
                (625, 620),
                (598, 490),
                (670, 370),
            ],
            glow=0.8,
        ),
        *pair(Shape(BLUSH, oval(672, 590, 42, 29), contact=0.2)),
        *pair(Shape(EYE, oval(712, 508, 62, 74), contact=0.4)),
        *(Shape(GLINT, oval(x, 480, 22, 24), contact=0.0) for x in (692, 868)),
        Shape(EYE, smile, contact=0.2),
    ]


def mask(shape: Shape) -> np.ndarray:
    """(h, w) cover 0-1, antialiased."""
    cover = np.ones((HEIGHT, WIDTH), np.float32)
    for number, outline in enumerate((shape.outline, *shape.within)):
        points = curve(outline) if shape.smooth or number else np.array(outline)
        canvas = Image.new("L", (WIDTH * FINE, HEIGHT * FINE))
        ImageDraw.Draw(canvas).polygon([tuple(p) for p in (points * FINE).tolist()], fill=255)
        small = canvas.resize((WIDTH, HEIGHT), Image.Resampling.BOX)
        cover = np.minimum(cover, np.asarray(small, np.float32) / 255)
    return cover


def lit(shape: Shape, cover: np.ndarray) -> np.ndarray:
    """(h, w, 3) CIE Lab of the shape as a low dome: lighter to the top left, with a soft highlight there."""
    inside = cover > 0.5
    depth = nd.distance_transform_edt(inside)
    radius = float(depth.max())
    dome = nd.gaussian_filter(np.sqrt(np.clip(1 - (1 - depth / radius) ** 2, 0, 1)) * inside, max(0.22 * radius, 1.5))
    down, across = np.gradient(dome)
    slope = 0.6 * across + 0.8 * down
    slope -= slope[inside].mean()
    tone = SHADE * np.clip(slope / np.abs(slope[inside]).max(), -1, 1)
    glow = np.zeros_like(tone)
    if shape.glow:
        y, x = np.unravel_index(int(np.argmax(np.where(inside, dome, 0))), dome.shape)
        rows, columns = np.indices(dome.shape)
        far = np.hypot(columns - (x - 0.3 * radius), rows - (y - 0.35 * radius))
        glow = shape.glow * np.exp(-((far / (0.42 * radius)) ** 2))
    own = rgb2lab(np.array([[[int(shape.colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]]]))[0, 0]
    lab = np.empty((*dome.shape, 3))
    lab[..., 0] = own[0] + tone + GLOW * glow
    lab[..., 1:] = own[1:] * (1 - 0.3 * glow)[..., None]
    return lab


def painted(shapes: list[Shape]) -> np.ndarray:
    """(h, w, 3) uint8 sRGB of the sheet."""
    picture = np.ones((HEIGHT, WIDTH, 3))
    figure = np.zeros((HEIGHT, WIDTH))
    for shape in shapes:
        cover = mask(shape)
        shadow = nd.gaussian_filter(np.roll(cover, (8, 5), (0, 1)), 9) * figure * shape.contact
        picture *= 1 - (CONTACT / 100) * shadow[..., None]
        rows, columns = (slice(max(at.min() - 4, 0), at.max() + 5) for at in np.nonzero(cover > 0))
        piece = cover[rows, columns]
        colour = lab2rgb(np.clip(lit(shape, np.pad(piece, 2))[2:-2, 2:-2], [0, -127, -127], [100, 127, 127]))
        picture[rows, columns] += piece[..., None] * (colour - picture[rows, columns])
        figure = np.maximum(figure, cover)
    return np.rint(255 * np.clip(picture, 0, 1)).astype(np.uint8)


def main() -> None:
    Image.fromarray(painted(moth())).save(HERE / "moth.png", optimize=True)


if __name__ == "__main__":
    main()
