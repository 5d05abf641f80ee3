"""Draw the Lamplighter Newt: writes newt.svg and newt.png beside this file (needs `pip install resvg-py`).

Every outline is given as the few points it passes through; `smooth` runs cubic Béziers through them.
Lengths are pixels of the 1600 px wide sheet; y grows downwards; each piece has its own origin.
"""

from dataclasses import dataclass, field
from math import acos, cos, hypot, pi, sin
from pathlib import Path

HERE = Path(__file__).resolve().parent
WIDTH, HEIGHT = 1680, 1600

PAPER, INK = "#f8f5ee", "#261c20"
MUSTARD, LINING = "#e2a829", "#a9701f"
TEAL, LIP = "#2b9a94", "#6cc0a8"
CREAM, ORANGE, RED = "#f8e6b4", "#ee7b2d", "#bf2f38"
BROWN, MOUTH, TONGUE = "#573524", "#a4566b", "#dd8f92"
WHITE, BLACK = "#ffffff", "#17131a"
BRASS, GLOW = "#b3924c", "#fff09a"
STONE, MOSS = "#93a366", "#5d7a3c"

CONTOUR, LINE = 9.5, 5.0
Point = tuple[float, float]
Mark = tuple[float, float] | tuple[float, float, str]


def _tangent(before: Point, at: Point, after: Point) -> Point:
    """Unit tangent at `at` of the circle through the three points."""
    ax, ay, bx, by = at[0] - before[0], at[1] - before[1], after[0] - at[0], after[1] - at[1]
    a, b = hypot(ax, ay), hypot(bx, by)
    tx, ty = ax / a * b + bx / b * a, ay / a * b + by / b * a
    size = hypot(tx, ty) or 1.0
    return tx / size, ty / size


def _beziers(marks: list[Mark], closed: bool) -> list[tuple[Point, Point, Point, Point]]:
    points = [(m[0], m[1]) for m in marks]
    n = len(points)
    sharp = [len(m) == 3 or (not closed and i in (0, n - 1)) for i, m in enumerate(marks)]
    pieces = []
    for i in range(n if closed else n - 1):
        j = (i + 1) % n
        (px, py), (qx, qy) = points[i], points[j]
        length = hypot(qx - px, qy - py)
        chord = ((qx - px) / length, (qy - py) / length)
        ends = [_tangent(points[k - 1], points[k], points[(k + 1) % n]) for k in (i, j)]
        # beside a corner the curve leaves along the mirror image of its other end: a plain arc
        for a, b, k in ((0, 1, i), (1, 0, j)):
            if sharp[k]:
                other = chord if sharp[j if k == i else i] else ends[b]
                lean = 2 * (other[0] * chord[0] + other[1] * chord[1])
                ends[a] = (lean * chord[0] - other[0], lean * chord[1] - other[1])
        turn = acos(max(-1.0, min(1.0, ends[0][0] * ends[1][0] + ends[0][1] * ends[1][1])))
        reach = length / (3 * cos(turn / 4) ** 2)
        (cx, cy), (dx, dy) = ends
        pieces.append(((px, py), (px + cx * reach, py + cy * reach), (qx - dx * reach, qy - dy * reach), (qx, qy)))
    return pieces


def smooth(marks: list[Mark], closed: bool = True) -> str:
    """Path data of a smooth curve through the points; a third entry in a point makes it a corner."""
    pieces = _beziers(marks, closed)
    text = "M{:.1f} {:.1f}".format(*pieces[0][0])
    for _, c, d, q in pieces:
        text += " C{:.1f} {:.1f} {:.1f} {:.1f} {:.1f} {:.1f}".format(*c, *d, *q)
    return text + (" Z" if closed else "")


def along(marks: list[Mark], steps: int = 8) -> list[tuple[Point, Point]]:
    """Points of the open curve with the unit normal (to the right of the way) at each."""
    found = []
    pieces = _beziers(marks, closed=False)
    for k, (a, b, c, d) in enumerate(pieces):
        for s in range(steps + (k == len(pieces) - 1)):
            t = s / steps
            u = 1 - t
            x, y = (u**3 * a[i] + 3 * u * u * t * b[i] + 3 * u * t * t * c[i] + t**3 * d[i] for i in (0, 1))
            dx, dy = (u * u * (b[i] - a[i]) + 2 * u * t * (c[i] - b[i]) + t * t * (d[i] - c[i]) for i in (0, 1))
            size = hypot(dx, dy) or 1.0
            found.append(((x, y), (-dy / size, dx / size)))
    return found


def ribbon(marks: list[Mark], widths: list[float], steps: int = 4, tip: bool = True) -> list[Mark]:
    """Outline marks of a band along the curve; widths at even spacing; `tip`: round its end off."""
    spine = along(marks, steps)
    left, right = [], []
    for i, ((x, y), (nx, ny)) in enumerate(spine):
        at = i / (len(spine) - 1) * (len(widths) - 1)
        k = min(int(at), len(widths) - 2)
        w = (widths[k] + (widths[k + 1] - widths[k]) * (at - k)) / 2
        right.append((x + nx * w, y + ny * w))
        left.append((x - nx * w, y - ny * w))
    (x, y), (nx, ny) = spine[-1]
    end = [(x + ny * widths[-1] / 2, y - nx * widths[-1] / 2)] if tip else []
    marks_out: list[Mark] = [*right, *end, *reversed(left)]
    if not tip:
        for i in (len(right) - 1, len(right)):
            marks_out[i] = (*marks_out[i][:2], "c")
    marks_out[0] = (*marks_out[0][:2], "c")
    marks_out[-1] = (*marks_out[-1][:2], "c")
    return marks_out


def oval(x: float, y: float, rx: float, ry: float, turn: float = 0.0) -> list[Mark]:
    """Marks of an ellipse turned clockwise by `turn` degrees."""
    c, s = cos(turn * pi / 180), sin(turn * pi / 180)
    ring = [(rx * cos(k * pi / 6), ry * sin(k * pi / 6)) for k in range(12)]
    return [(x + px * c - py * s, y + px * s + py * c) for px, py in ring]


def band(x: float, y: float, length: float, width: float, turn: float = 0.0) -> list[Mark]:
    """Marks of a short roll of cloth across the way `turn` (degrees): full sides, rounded corners."""
    c, s = cos(turn * pi / 180), sin(turn * pi / 180)
    half, w = length / 2, width / 2
    ring = [(-half, -w * 0.8), (0, -w), (half, -w * 0.8), (half * 1.2, 0), (half, w * 0.8), (0, w), (-half, w * 0.8),
            (-half * 1.2, 0)]  # fmt: skip
    return [(x + px * c - py * s, y + px * s + py * c) for px, py in ring]


def crest(marks: list[Mark], inner: list[float], outer: list[float]) -> list[Mark]:
    """A scalloped fin along the curve, from `inner` to `outer` pixels to the right of the way."""
    spine = along(marks, 6)

    def at(values: list[float], i: int) -> float:
        k = i / (len(spine) - 1) * (len(values) - 1)
        low = min(int(k), len(values) - 2)
        return values[low] + (values[low + 1] - values[low]) * (k - low)

    near = [(x + nx * at(inner, i), y + ny * at(inner, i)) for i, ((x, y), (nx, ny)) in enumerate(spine)]
    far: list[Mark] = []
    for i, ((x, y), (nx, ny)) in enumerate(spine):
        valley = i % 4 == 0 and 0 < i < len(spine) - 1
        reach = at(outer, i) - (0.35 * (at(outer, i) - at(inner, i)) if valley else 0)
        if i % 2 == 0:
            far.append((x + nx * reach, y + ny * reach, "c") if valley else (x + nx * reach, y + ny * reach))
    return [(*near[0], "c"), *near[1:-1], (*near[-1], "c"), *reversed(far)]


@dataclass
class Piece:
    """One part of the sheet: shapes from the back to the front, then loose ink strokes."""

    name: str
    x: float
    y: float
    turn: float = 0.0
    items: list[str] = field(default_factory=list)
    backing: list[str] = field(default_factory=list)
    clips: list[str] = field(default_factory=list)

    def fill(self, colour: str, marks: list[Mark], inside: list[Mark] | None = None) -> None:
        """A flat shape with its ink line; `inside`: only where that other shape is."""
        path = smooth(marks)
        if inside is None:
            self.backing.append(path)
        self._put(f'<path d="{path}" fill="{colour}"/>', inside)

    def join(self, colour: str, shapes: list[list[Mark]]) -> None:
        """Several shapes as one: a line around all of them and none between."""
        paths = [smooth(m) for m in shapes]
        self.backing += paths
        self.items += [f'<path d="{d}" fill="{INK}" stroke-width="{2 * LINE}"/>' for d in paths]
        self.items += [f'<path d="{d}" fill="{colour}" stroke="none"/>' for d in paths]

    def speck(self, colour: str, marks: list[Mark]) -> None:
        """A flat shape without a line of its own."""
        self.items.append(f'<path d="{smooth(marks)}" fill="{colour}" stroke="none"/>')

    def line(self, marks: list[Mark]) -> None:
        """The ink line of a shape once more, where others were clipped to it."""
        self.items.append(f'<path d="{smooth(marks)}" fill="none"/>')

    def stroke(self, marks: list[Mark], width: float = 5.0, inside: list[Mark] | None = None) -> None:
        """A loose pen stroke, thinning out towards both ends."""
        shape = smooth(ribbon(marks, [1.2, width, width, width * 0.8, 1.0], steps=3, tip=False))
        self._put(f'<path d="{shape}" fill="{INK}" stroke="none"/>', inside)

    def _put(self, item: str, inside: list[Mark] | None) -> None:
        if inside is not None:
            name = f"{self.name}-{len(self.clips) + 1}"
            self.clips.append(f'<clipPath id="{name}"><path d="{smooth(inside)}"/></clipPath>')
            item = f'<g clip-path="url(#{name})">{item}</g>'
        self.items.append(item)

    def svg(self) -> str:
        back = "\n    ".join(f'<path d="{p}"/>' for p in self.backing)
        front = "\n    ".join(self.items)
        return (
            f'<g id="{self.name}" transform="translate({self.x} {self.y}) rotate({self.turn})">\n'
            f"  <defs>{''.join(self.clips)}</defs>\n"
            f'  <g fill="{INK}" stroke-width="{CONTOUR}">\n    {back}\n  </g>\n'
            f"  <g>\n    {front}\n  </g>\n</g>"
        )


def mirrored(marks: list[Mark]) -> list[Mark]:
    return [(-m[0], *m[1:]) for m in marks]


def head() -> Piece:
    p = Piece("head", 410, 540, -4)
    hood: list[Mark] = [
        (0, 322, "c"), (-80, 356), (-190, 362), (-296, 318, "c"), (-284, 222), (-328, 110), (-336, -30), (-290, -190),
        (-190, -306), (-70, -370), (40, -424), (140, -462), (232, -452), (276, -398), (254, -352),
        (214, -352), (186, -312), (250, -248), (314, -120), (334, 20), (316, 130), (282, 222), (300, 318, "c"),
        (196, 362), (86, 356),
    ]  # fmt: skip
    opening: list[Mark] = [
        (0, 322, "c"), (-60, 296), (-180, 230), (-258, 126), (-284, -10), (-250, -140), (-150, -238), (0, -268),
        (150, -238), (250, -140), (284, -10), (258, 126), (180, 230), (64, 296),
    ]  # fmt: skip
    face: list[Mark] = [
        (0, -206), (120, -190), (210, -120), (244, -10), (232, 90), (174, 186), (90, 240), (8, 252),
        (-80, 242), (-168, 190), (-230, 92), (-244, -10), (-210, -120), (-120, -190),
    ]  # fmt: skip
    p.fill(MUSTARD, hood)
    p.fill(LINING, opening)
    p.fill(TEAL, face)
    throat: list[Mark] = [
        (-320, 60, "c"), (-220, 84), (-150, 108), (10, 120), (160, 106), (226, 80), (320, 50, "c"), (300, 250),
        (10, 320), (-280, 250),
    ]  # fmt: skip
    p.fill(CREAM, throat, inside=face)
    ridge: list[Mark] = [
        (-58, -240), (58, -240), (50, -186), (30, -168, "c"), (32, -140), (17, -124, "c"), (16, -100), (0, -70, "c"), (-16, -100),
        (-17, -124, "c"), (-32, -140), (-30, -168, "c"), (-50, -186),
    ]  # fmt: skip
    p.fill(LIP, ridge, inside=face)
    for x, y, r, q in ((-206, 40, 18, 22), (208, 36, 18, 21), (-94, -158, 19, 14), (104, -158, 16, 12), (166, -142, 11, 9)):  # fmt: skip
        p.fill(ORANGE, oval(x, y, r, q, 10), inside=face)
    lips: list[Mark] = [
        (-164, 60), (-150, 48), (-126, 52), (-70, 69), (8, 76), (86, 67), (140, 48), (164, 44), (178, 56), (174, 80),
        (136, 150), (76, 189), (10, 199), (-54, 190), (-114, 154), (-160, 86),
    ]  # fmt: skip
    p.line(face)
    p.fill(LIP, lips)
    mouth: list[Mark] = [
        (-136, 70, "c"), (-70, 88), (8, 94), (86, 86), (150, 66, "c"), (114, 138), (66, 169), (10, 178), (-44, 171),
        (-94, 140),
    ]  # fmt: skip
    p.fill(MOUTH, mouth)
    p.fill(TONGUE, [(-64, 168), (-38, 140), (-8, 135), (12, 142), (32, 135), (64, 140), (88, 164), (60, 220), (-40, 220)],
           inside=mouth)  # fmt: skip
    p.line(mouth)
    for x, y, rx, ry, turn, dx in ((-116, -46, 58, 66, 6, 12), (126, -50, 56, 64, 0, 8)):
        p.fill(LIP, oval(x - 2, y - 11, rx + 15, ry + 14, turn))
        p.fill(WHITE, oval(x, y + 2, rx, ry, turn))
        p.speck(BLACK, oval(x + dx, y + 8, 39, 45, turn))
        p.speck(WHITE, oval(x + dx + 15, y - 12, 13, 15, 20))
    p.stroke([(-24, 34), (-16, 27), (-8, 32)], 9)
    p.stroke([(28, 32), (36, 26), (45, 31)], 9)
    p.stroke([(186, -312), (120, -322), (50, -296)], 7)
    p.stroke([(214, -352), (226, -378), (216, -404)], 6)
    p.stroke([(-262, -186), (-200, -266), (-120, -312)], 5)
    p.stroke([(-262, 300), (-252, 262), (-262, 220)], 5)
    p.stroke([(264, 300), (252, 262), (260, 220)], 5)
    p.fill(BROWN, oval(-2, 316, 34, 13, -6))
    return p


def hand(p: Piece, x: float, y: float, turn: float) -> None:
    """A small hand of four fingers, pointing along `turn` (degrees, 0: to the right)."""
    shapes = [oval(x, y, 40, 36, turn)]
    for lean, length in ((-62, 70), (-20, 82), (18, 82), (56, 68)):
        c, s = cos((turn + lean) * pi / 180), sin((turn + lean) * pi / 180)
        shapes.append(ribbon([(x, y), (x + c * length, y + s * length)], [30, 27, 22]))
    p.join(TEAL, shapes)


def body() -> Piece:
    p = Piece("body", 1220, 215)
    tail_line: list[Mark] = [(116, 490), (205, 566), (312, 548), (350, 450), (316, 350), (324, 268), (384, 236)]
    tail = ribbon(tail_line, [130, 134, 118, 92, 70, 46, 12])
    p.fill(LIP, crest(tail_line, [30, 30, 30, 24, 16, 10, 2], [90, 98, 96, 86, 74, 54, 8]))
    p.fill(TEAL, tail)
    for x, y, r, q, turn in (
        (222, 566, 19, 23, 40),
        (294, 538, 15, 18, 30),
        (338, 466, 17, 20, 0),
        (324, 384, 12, 15, 0),
    ):
        p.fill(ORANGE, oval(x, y, r, q, turn), inside=tail)
    p.fill(TEAL, [(-150, 430), (150, 430), (148, 560), (38, 560, "c"), (0, 492), (-38, 560, "c"), (-148, 560)])
    for side in (-1, 1):
        boot: list[Mark] = [
            (side * 30, 540), (side * 90, 534), (side * 152, 540), (side * 154, 592), (side * 200, 620), (side * 206, 672, "c"),
            (side * 106, 682), (side * 12, 672, "c"), (side * 20, 610),
        ]  # fmt: skip
        p.fill(BROWN, boot)
        p.fill(LINING, band(side * 92, 542, 124, 46))
        p.stroke([(side * 192, 650), (side * 106, 660), (side * 24, 650)], 4)
    p.fill(CREAM, oval(0, 330, 150, 174))
    left: list[Mark] = [
        (10, 60), (-110, 80), (-166, 200), (-206, 330), (-250, 470, "c"), (-180, 502), (-106, 496, "c"), (-92, 400), (-50, 320),
        (8, 270, "c"), (12, 160),
    ]  # fmt: skip
    right: list[Mark] = [
        (-12, 60), (110, 80), (166, 200), (206, 330), (250, 470, "c"), (180, 502), (112, 496, "c"), (96, 400), (60, 320),
        (8, 270, "c"), (4, 160),
    ]  # fmt: skip
    p.fill(MUSTARD, left)
    p.fill(MUSTARD, right)
    p.fill(MOSS, [(-212, 392, "c"), (-160, 384, "c"), (-146, 434, "c"), (-204, 444, "c")])
    for x, y, dx, dy in ((-220, 408, 15, -2), (-215, 430, 15, -2), (-168, 396, 15, -3), (-161, 420, 15, -3), (-196, 382, 3, 15),
                         (-176, 379, 3, 15), (-190, 434, 3, 15), (-166, 430, 3, 15)):  # fmt: skip
        p.stroke([(x, y), (x + dx, y + dy)], 4)
    p.fill(MUSTARD, [(118, 368, "c"), (160, 362), (204, 346, "c"), (216, 404), (206, 426), (140, 438), (126, 424)])
    p.stroke([(124, 392), (164, 386), (206, 370)], 5)
    for y in (190, 244):
        p.stroke([(-34, y + 4), (8, y), (52, y - 6)], 7)
        p.fill(BROWN, oval(8, y, 30, 13, -5))
    hand(p, -328, 206, 200)
    p.fill(MUSTARD, [(-120, 84), (-170, 116), (-226, 150), (-280, 156), (-296, 210), (-280, 266), (-206, 272), (-150, 252),
                     (-104, 210, "c")])  # fmt: skip
    p.fill(LINING, band(-290, 210, 34, 126, 2))
    p.stroke([(-176, 246), (-196, 226), (-200, 204)], 5)
    hand(p, 306, 34, -66)
    p.fill(MUSTARD, [(104, 92), (146, 120), (184, 152), (216, 140), (238, 84), (290, 86), (342, 122), (314, 216), (250, 270),
                     (170, 262), (112, 216)])  # fmt: skip
    p.fill(LINING, band(292, 88, 34, 126, -64))
    p.stroke([(184, 152), (196, 178), (218, 192)], 5)
    tails = ribbon([(-40, 90), (-86, 170), (-82, 272)], [64, 84, 96], tip=False)
    p.join(
        RED,
        [
            tails,
            *(ribbon([(x, 256), (x + lean, 304)], [24, 18]) for x, lean in ((-120, -4), (-94, -2), (-68, 1), (-44, 4))),
        ],
    )
    p.fill(CREAM, ribbon([(-150, 216), (-88, 232), (-20, 222)], [26, 26, 26]), inside=tails)
    p.fill(
        RED,
        [
            (0, 10),
            (90, 12),
            (150, 34),
            (168, 70),
            (142, 106),
            (80, 130),
            (0, 138),
            (-80, 130),
            (-142, 106),
            (-168, 70),
            (-150, 34),
            (-90, 12),
        ],
    )
    p.fill(TEAL, oval(0, 20, 82, 26))
    p.stroke([(-140, 66), (-70, 98), (20, 104)], 6)
    p.stroke([(146, 58), (110, 84), (60, 96)], 6)
    p.fill(RED, [(-98, 74), (-50, 66), (-12, 92), (-16, 140), (-60, 152), (-98, 128)])
    p.stroke([(-52, 146), (-50, 124), (-60, 108)], 5)
    return p


def lantern() -> Piece:
    p = Piece("lantern", 330, 1330)
    p.fill(
        BROWN,
        ribbon(
            [(0, -190), (-58, -216), (-74, -280), (-30, -332), (34, -328), (68, -282), (58, -238)], [22, 22, 22, 22, 18]
        ),
    )
    p.fill(BRASS, [(-30, -178), (0, -206), (30, -178), (30, -140), (-30, -140)])
    p.fill(
        BRASS,
        [(-124, -64, "c"), (-96, -112), (-50, -150), (0, -160), (50, -150), (96, -112), (124, -64, "c"), (0, -40)],
    )
    for x, turn in ((-56, 28), (0, 0), (56, -28)):
        p.stroke(
            [(x + turn * 0.25, -120 + abs(x) * 0.12), (x, -106 + abs(x) * 0.12), (x - turn * 0.2, -92 + abs(x) * 0.12)],
            11,
        )
    frame: list[Mark] = [(-108, -60, "c"), (0, -36), (108, -60, "c"), (90, 156, "c"), (0, 178), (-90, 156, "c")]
    p.fill(BRASS, frame)
    middle: list[Mark] = [(-46, -24, "c"), (0, -18), (46, -24, "c"), (40, 142, "c"), (0, 146), (-40, 142, "c")]
    for pane in (
        [(-94, -36, "c"), (-62, -28, "c"), (-55, 140, "c"), (-80, 132, "c")],
        middle,
        [(94, -36, "c"), (80, 132, "c"), (55, 140, "c"), (62, -28, "c")],
    ):
        p.fill(GLOW, pane)
    p.fill(ORANGE, [(8, 14, "c"), (28, 74), (20, 116), (-2, 126), (-24, 112), (-21, 72)])
    p.fill(
        BRASS,
        [
            (-134, -80, "c"),
            (-136, -54, "c"),
            (-80, -36),
            (0, -29),
            (80, -36),
            (136, -54, "c"),
            (134, -80, "c"),
            (80, -66),
            (0, -60),
            (-80, -66),
        ],
    )
    p.fill(BRASS, [(-110, 146, "c"), (-126, 194, "c"), (0, 222), (126, 194, "c"), (110, 146, "c"), (0, 168)])
    return p


def mushroom(p: Piece, x: float, y: float, size: float, turn: float) -> None:
    c, s = cos(turn * pi / 180) * size, sin(turn * pi / 180) * size

    def put(marks: list[Mark]) -> list[Mark]:
        return [(x + m[0] * c - m[1] * s, y + m[0] * s + m[1] * c, *m[2:]) for m in marks]

    p.fill(CREAM, put([(-20, 4), (-16, -60), (16, -60), (20, 4), (0, 12)]))
    p.fill(ORANGE, put([(-62, -54, "c"), (-46, -96), (0, -118), (46, -96), (62, -54, "c"), (0, -42)]))


def base() -> Piece:
    p = Piece("base", 1090, 1310)
    mushroom(p, 366, -30, 0.72, 22)
    mushroom(p, 292, -66, 1.05, 6)
    stone: list[Mark] = [
        (-428, 60), (-420, -6), (-380, -62), (-330, -84, "c"), (-240, -116), (-130, -130, "c"), (30, -140), (180, -126, "c"), (270, -112),
        (344, -70, "c"), (404, -14), (430, 66), (436, 130, "c"), (390, 166), (300, 176, "c"), (110, 192), (-120, 190, "c"),
        (-260, 182), (-370, 168, "c"), (-424, 130),
    ]  # fmt: skip
    p.fill(STONE, stone)
    moss: list[Mark] = [
        (-470, -160, "c"), (-470, 60), (-416, 70, "c"), (-392, 92), (-362, 66, "c"), (-332, 84), (-300, 40, "c"), (-262, 40), (-244, -8, "c"),
        (-196, 4), (-168, -40, "c"), (-122, -34), (-96, -74, "c"), (-50, -70), (-26, -108, "c"), (10, -110), (40, -200, "c"),
    ]  # fmt: skip
    p.fill(MOSS, moss, inside=stone)
    foot: list[Mark] = [
        (170, 220, "c"), (180, 160), (208, 138, "c"), (222, 104), (262, 112, "c"), (290, 68), (334, 84, "c"), (358, 40), (400, 58, "c"),
        (430, 20), (480, 20, "c"), (480, 220, "c"),
    ]  # fmt: skip
    p.fill(MOSS, foot, inside=stone)
    p.line(stone)
    p.stroke([(180, -126), (130, -86), (60, -76)], 7)
    p.stroke([(60, -76), (40, -20), (80, 30), (64, 84)], 7)
    p.stroke([(-300, 176), (-270, 136), (-190, 126)], 6)
    p.stroke([(-120, 120), (-80, 112), (-50, 122)], 6)
    p.stroke([(-110, 30), (-80, 22), (-40, 34)], 6)
    p.stroke([(200, 20), (232, 14), (262, 24)], 6)
    return p


def sheet() -> str:
    pieces = "\n".join(piece.svg() for piece in (head(), body(), lantern(), base()))
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDTH}" height="{HEIGHT}" viewBox="0 0 {WIDTH} {HEIGHT}">\n'
        f"<title>The Lamplighter Newt: parts sheet</title>\n"
        f'<rect width="{WIDTH}" height="{HEIGHT}" fill="{PAPER}"/>\n'
        f'<g stroke="{INK}" stroke-width="{LINE}" stroke-linejoin="round" stroke-linecap="round">\n{pieces}\n</g>\n</svg>\n'
    )


def main() -> None:
    from resvg_py import svg_to_bytes

    text = sheet()
    (HERE / "newt.svg").write_text(text, encoding="utf-8")
    (HERE / "newt.png").write_bytes(bytes(svg_to_bytes(svg_string=text)))


if __name__ == "__main__":
    main()
