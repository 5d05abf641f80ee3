"""Draw the Lamplighter Newt: writes newt.svg and newt.png beside this file (needs `pip install resvg-py`).

A shape is written as the points its outline passes through, `x,y` one after the other (`x,y!` at a
corner), and cubic Béziers are run through them. Lengths are pixels of the sheet; y grows downwards; each
piece has its own origin.
"""

from dataclasses import dataclass, field
from itertools import pairwise
from math import acos, cos, hypot, radians, sin
from pathlib import Path
from typing import NamedTuple

HERE = Path(__file__).resolve().parent
WIDTH, HEIGHT = 1720, 1600

PAPER, INK = "#f8f5ee", "#261c20"
MUSTARD, OCHRE = "#e2a829", "#a9701f"
TEAL, SEA = "#2b9a94", "#6cc0a8"
CREAM, ORANGE, RED = "#f8e6b4", "#ee7b2d", "#bf2f38"
BROWN, MOUTH, TONGUE = "#573524", "#a4566b", "#dd8f92"
WHITE, BLACK = "#ffffff", "#17131a"
BRASS, GLOW = "#b3924c", "#fff09a"
STONE, MOSS = "#93a366", "#5d7a3c"
FLAT = (MUSTARD, OCHRE, TEAL, SEA, CREAM, ORANGE, RED, BROWN, MOUTH, TONGUE, WHITE, BLACK, BRASS, GLOW, STONE, MOSS)

LINE, CONTOUR = 5.0, 9.5
"""Width of the pen inside a piece, and of the line laid under a whole piece: its outside half thickens the contour."""


class Mark(NamedTuple):
    x: float
    y: float
    corner: bool = False


Vector = tuple[float, float]
Shape = list[Mark]


def marks(text: str) -> Shape:
    found = []
    for word in text.split():
        x, y = word.rstrip("!").split(",")
        found.append(Mark(float(x), float(y), word.endswith("!")))
    return found


def mirrored(shape: Shape) -> Shape:
    return [m._replace(x=-m.x) for m in shape]


def moved(shape: Shape, x: float, y: float, turn: float = 0.0, size: float = 1.0) -> Shape:
    """The shape turned clockwise by `turn` degrees about its origin, scaled, then shifted."""
    c, s = cos(radians(turn)) * size, sin(radians(turn)) * size
    return [Mark(x + m.x * c - m.y * s, y + m.x * s + m.y * c, m.corner) for m in shape]


def _tangent(before: Mark, at: Mark, after: Mark) -> Vector:
    """Unit tangent, at the middle one, of the circle through three points."""
    ax, ay, bx, by = at.x - before.x, at.y - before.y, after.x - at.x, after.y - at.y
    a, b = hypot(ax, ay), hypot(bx, by)
    tx, ty = ax * b / a + bx * a / b, ay * b / a + by * a / b
    size = hypot(tx, ty) or 1.0
    return tx / size, ty / size


def _mirror(direction: Vector, axis: Vector) -> Vector:
    lean = 2 * (direction[0] * axis[0] + direction[1] * axis[1])
    return lean * axis[0] - direction[0], lean * axis[1] - direction[1]


def beziers(shape: Shape, closed: bool = True) -> list[tuple[Vector, Vector, Vector, Vector]]:
    """One cubic for each step: an arc of a circle where the points lie on one; beside a corner, a plain arc."""
    n = len(shape)
    sharp = [m.corner or (not closed and i in (0, n - 1)) for i, m in enumerate(shape)]
    pieces = []
    for i in range(n if closed else n - 1):
        j = (i + 1) % n
        p, q = shape[i], shape[j]
        length = hypot(q.x - p.x, q.y - p.y)
        chord = ((q.x - p.x) / length, (q.y - p.y) / length)
        leave = chord if sharp[i] else _tangent(shape[i - 1], p, q)
        arrive = chord if sharp[j] else _tangent(p, q, shape[(j + 1) % n])
        if sharp[i]:
            leave = _mirror(arrive, chord)
        elif sharp[j]:
            arrive = _mirror(leave, chord)
        turn = acos(max(-1.0, min(1.0, leave[0] * arrive[0] + leave[1] * arrive[1])))
        reach = length / (3 * cos(turn / 4) ** 2)  # the cubic nearest to an arc that turns so far
        pieces.append(
            (
                (p.x, p.y),
                (p.x + leave[0] * reach, p.y + leave[1] * reach),
                (q.x - arrive[0] * reach, q.y - arrive[1] * reach),
                (q.x, q.y),
            )
        )
    return pieces


def path(shape: Shape) -> str:
    """SVG path data of the closed shape."""
    pieces = beziers(shape)
    steps = " ".join("C" + " ".join(f"{v:.1f}" for point in piece[1:] for v in point) for piece in pieces)
    return f"M{shape[0].x:.1f} {shape[0].y:.1f} {steps} Z"


class Spine:
    """An open curve to build bands and fins on; `u` runs from 0 to 1 along its cubics."""

    def __init__(self, shape: Shape) -> None:
        self.pieces = beziers(shape, closed=False)

    def beside(self, u: float, right: float, corner: bool = False) -> Mark:
        """The point `right` pixels to the right of the way at u."""
        k = min(int(u * len(self.pieces)), len(self.pieces) - 1)
        t = u * len(self.pieces) - k
        a, b, c, d = self.pieces[k]
        x, y = (
            (1 - t) ** 3 * a[i] + 3 * (1 - t) ** 2 * t * b[i] + 3 * (1 - t) * t * t * c[i] + t**3 * d[i] for i in (0, 1)
        )
        dx, dy = (
            (1 - t) ** 2 * (b[i] - a[i]) + 2 * (1 - t) * t * (c[i] - b[i]) + t * t * (d[i] - c[i]) for i in (0, 1)
        )
        size = hypot(dx, dy) or 1.0
        return Mark(x - dy / size * right, y + dx / size * right, corner)


def between(values: list[float], u: float) -> float:
    """The value at u (0-1) of a list spread evenly."""
    at = u * (len(values) - 1)
    k = min(int(at), len(values) - 2)
    return values[k] + (values[k + 1] - values[k]) * (at - k)


def ribbon(shape: Shape, widths: list[float], round_end: bool = False, steps: int = 3) -> Shape:
    """A band along the curve; widths are spread evenly over it."""
    spine, n = Spine(shape), (len(shape) - 1) * steps
    right = [spine.beside(k / n, between(widths, k / n) / 2, k == 0) for k in range(n + 1)]
    left = [spine.beside(k / n, -between(widths, k / n) / 2, k == 0) for k in range(n + 1)]
    if round_end:
        end, far = spine.beside(1, 0), spine.beside(1 - 1e-3, 0)
        push = widths[-1] / 2 / hypot(end.x - far.x, end.y - far.y)
        tip = [Mark(end.x + (end.x - far.x) * push, end.y + (end.y - far.y) * push)]
    else:
        tip, right[-1], left[-1] = [], right[-1]._replace(corner=True), left[-1]._replace(corner=True)
    return [*right, *tip, *reversed(left)]


def hewn(text: str, radius: float) -> Shape:
    """A polygon with its corners worn off."""
    points, found = marks(text), []
    for i, m in enumerate(points):
        for other, reaches in ((points[i - 1], (2.2, 1.0)), (points[(i + 1) % len(points)], (1.0, 2.2))):
            for reach in reaches:  # two points to a side keep the edge between the corners straight
                away = reach * radius / hypot(other.x - m.x, other.y - m.y)
                found.append(Mark(m.x + (other.x - m.x) * away, m.y + (other.y - m.y) * away))
    return found


def lobes(valleys: Shape, bulge: float = 0.42) -> Shape:
    """Round lobes from each point to the next, to the right of the way; bulge: their height over their width."""
    found = [valleys[0]._replace(corner=True)]
    for p, q in pairwise(valleys):
        dx, dy = q.x - p.x, q.y - p.y
        found.append(Mark((p.x + q.x) / 2 - dy * bulge, (p.y + q.y) / 2 + dx * bulge))
        found.append(q._replace(corner=True))
    return found


def fin(shape: Shape, reaches: list[float], valleys: list[float]) -> Shape:
    """A lobed fin to the right of the curve; its valleys at the given u stand `reaches` pixels off."""
    spine = Spine(shape)
    first, last = valleys[0], valleys[-1]
    root = [spine.beside(first + (last - first) * k / 12, 0, k in (0, 12)) for k in range(13)]
    rim = lobes([spine.beside(u, reach) for u, reach in zip(valleys, reaches, strict=True)], 0.3)
    return [*root, *reversed(rim)]


def oval(x: float, y: float, rx: float, ry: float, turn: float = 0.0) -> Shape:
    ring = [Mark(rx * cos(radians(a)), ry * sin(radians(a))) for a in range(0, 360, 18)]
    return moved(ring, x, y, turn)


def roll(x: float, y: float, length: float, width: float, turn: float = 0.0) -> Shape:
    """A turned-up cuff: a cushion with rounded ends."""
    a, w = length / 2, width / 2
    side = [Mark(a * 0.5, -w), Mark(a * 0.88, -w * 0.9), Mark(a * 1.04, 0), Mark(a * 0.88, w * 0.9), Mark(a * 0.5, w)]
    return moved([Mark(0, -w), *side, Mark(0, w), *reversed(mirrored(side))], x, y, turn)


@dataclass
class Piece:
    """One part of the sheet; shapes are laid from the back to the front."""

    name: str
    x: float
    y: float
    turn: float = 0.0
    items: list[str] = field(default_factory=list)
    under: list[str] = field(default_factory=list)
    clips: list[str] = field(default_factory=list)

    def fill(self, colour: str, shape: Shape, inside: Shape | None = None) -> None:
        """A flat shape with its ink line; `inside`: only so far as it lies in that other shape."""
        if inside is None:
            self.under.append(path(shape))
        item = f'<path d="{path(shape)}" fill="{colour}"/>'
        if inside is not None:
            name = f"{self.name}-{len(self.clips) + 1}"
            self.clips.append(f'<clipPath id="{name}"><path d="{path(inside)}"/></clipPath>')
            item = f'<g clip-path="url(#{name})">{item}</g>'
        self.items.append(item)

    def join(self, colour: str, shapes: list[Shape]) -> None:
        """Several shapes as one: a line around all of them and none between."""
        paths = [path(s) for s in shapes]
        self.under += paths
        self.items += [f'<path d="{d}" fill="{INK}" stroke-width="{2 * LINE}"/>' for d in paths]
        self.items += [f'<path d="{d}" fill="{colour}" stroke="none"/>' for d in paths]

    def speck(self, colour: str, shape: Shape) -> None:
        """A flat shape without a line."""
        self.items.append(f'<path d="{path(shape)}" fill="{colour}" stroke="none"/>')

    def line(self, shape: Shape) -> None:
        """The ink line of a shape once more, after others were clipped to it."""
        self.items.append(f'<path d="{path(shape)}" fill="none"/>')

    def pen(self, text: str, width: float = 5.0) -> None:
        """A loose pen stroke that thins out towards both ends."""
        self.speck(INK, ribbon(marks(text), [1.2, width, width, width * 0.8, 1.0]))

    def svg(self) -> str:
        under = "\n".join(f'<path d="{d}"/>' for d in self.under)
        place = f"translate({self.x:g} {self.y:g}) rotate({self.turn:g})"
        return (
            f'<g id="{self.name}" transform="{place}">\n<defs>{"".join(self.clips)}</defs>\n'
            f'<g fill="{INK}" stroke-width="{CONTOUR}">\n{under}\n</g>\n' + "\n".join(self.items) + "\n</g>"
        )


def eye(p: Piece, x: float, y: float, size: float, look: float) -> None:
    p.fill(SEA, oval(x - 2, y - 13, 73 * size, 80 * size, 4))
    p.fill(WHITE, oval(x, y, 58 * size, 66 * size, 4))
    p.speck(BLACK, oval(x + look, y + 6, 42, 48, 4))
    p.speck(WHITE, oval(x + look + 6, y - 4, 12.5, 14.5, 20))


def head() -> Piece:
    p = Piece("head", 422, 540, -4)
    p.fill(
        MUSTARD,
        marks(
            "0,322! -80,356 -190,362 -296,318! -284,222 -328,110 -336,-30 -290,-190 -190,-306 -70,-370 40,-424 140,-462"
            " 232,-452 276,-398 254,-352 214,-352 186,-312 250,-248 314,-120 334,20 316,130 282,222 300,318! 196,362"
            " 86,356"
        ),
    )
    p.fill(
        OCHRE,
        marks(
            "0,322! -60,296 -180,230 -258,126 -284,-10 -250,-140 -150,-238 0,-268 150,-238 250,-140 284,-10 258,126"
            " 180,230 64,296"
        ),
    )
    face = marks(
        "0,-206 120,-190 210,-120 244,-10 232,90 174,186 90,240 8,252 -80,242 -168,190 -230,92 -244,-10 -210,-120"
        " -120,-190"
    )
    p.fill(TEAL, face)
    throat = "-320,60! -220,84 -150,108 10,120 160,106 226,80 320,50! 300,250 10,320 -280,250"
    p.fill(CREAM, marks(throat), inside=face)
    ridge = marks("60,-240! 50,-186 30,-168! 32,-140 17,-124! 16,-98")
    p.fill(SEA, [*ridge, Mark(0, -68, True), *reversed(mirrored(ridge))], inside=face)
    for x, y, rx, ry in ((-206, 40, 18, 22), (208, 36, 18, 21), (-94, -158, 19, 14), (110, -156, 17, 13)):
        p.fill(ORANGE, oval(x, y, rx, ry, 10), inside=face)
    p.line(face)
    p.fill(
        SEA,
        marks(
            "-158,63 -146,54 -124,58 -70,73 8,79 86,71 140,54 160,51 170,60 167,81 131,147 74,184 10,193 -52,185"
            " -110,150 -153,86"
        ),
    )
    mouth = marks("-136,70! -70,88 8,94 86,86 150,66! 114,138 66,169 10,178 -44,171 -94,140")
    p.fill(MOUTH, mouth)
    tongue = "-64,168 -38,140 -8,135 12,142 32,135 64,140 88,164 60,220 -40,220"
    p.fill(TONGUE, marks(tongue), inside=mouth)
    p.line(mouth)
    eye(p, -116, -44, 1.0, 10)
    eye(p, 126, -48, 1.0, 8)
    for stroke, width in (
        ("186,-312 120,-322 50,-296", 7),
        ("214,-352 226,-378 216,-404", 6),
        ("-262,-186 -200,-266 -120,-312", 6),
        ("-262,300 -252,262 -262,220", 6),
        ("264,300 252,262 260,220", 6),
    ):
        p.pen(stroke, width)
    for x, turn in ((-16, -14), (36, 14)):
        p.speck(BLACK, oval(x, 31, 11, 7, turn))
    p.fill(BROWN, oval(-2, 316, 34, 14, -6))
    return p


def hand(p: Piece, x: float, y: float, turn: float) -> None:
    """Four fingers pointing along `turn` (degrees, 0: to the right)."""
    fingers = [
        moved(ribbon(marks(f"0,0 {length},0"), [30, 27, 22], round_end=True), x, y, turn + lean)
        for lean, length in ((-62, 66), (-20, 76), (18, 76), (56, 64))
    ]
    p.join(TEAL, [oval(x, y, 40, 36, turn), *fingers])


def tail(p: Piece) -> None:
    way = marks("110,490 205,562 306,540 346,450 322,352 330,268 386,232")
    p.fill(SEA, fin(way, [66, 78, 80, 76, 66, 54, 38], [0.06, 0.22, 0.37, 0.51, 0.64, 0.76, 0.87]))
    skin = ribbon(way, [120, 132, 116, 92, 70, 44, 8], round_end=True)
    p.fill(TEAL, skin)
    for x, y, rx, ry, turn in ((226, 560, 19, 23, 40), (322, 490, 17, 21, 10), (330, 398, 13, 17, 0)):
        p.fill(ORANGE, oval(x, y, rx, ry, turn), inside=skin)


def boots(p: Piece) -> None:
    boot = marks("30,540 90,534 152,540 154,592 200,620 206,672! 106,682 12,672! 20,610")
    for shape, x in ((mirrored(boot), -92), (boot, 92)):
        p.fill(BROWN, shape)
        p.fill(OCHRE, roll(x, 542, 132, 46))
    p.pen("-192,650 -106,660 -24,650", 5)
    p.pen("192,650 106,660 24,650", 5)


def coat(p: Piece) -> None:
    p.fill(CREAM, oval(0, 330, 150, 174))
    p.fill(MUSTARD, marks("10,60 -110,80 -166,200 -206,330 -250,470! -180,502 -106,496! -92,400 -50,320 8,270! 12,160"))
    p.fill(MUSTARD, marks("-12,60 110,80 166,200 206,330 250,470! 180,502 112,496! 96,400 60,320 8,270! 4,160"))
    p.fill(MOSS, marks("-212,392! -160,384! -146,434! -204,444!"))
    for x, y, dx, dy in ((-220, 408, 16, -2), (-215, 430, 16, -2), (-168, 396, 16, -3), (-161, 420, 16, -3),
                         (-196, 382, 3, 16), (-176, 379, 3, 16), (-190, 434, 3, 16), (-166, 430, 3, 16)):  # fmt: skip
        p.pen(f"{x},{y} {x + dx},{y + dy}")
    p.pen("112,384 114,414 134,436 164,434 190,422 202,396 198,368", 6)
    p.pen("104,368 150,364 194,348", 7)
    p.pen("124,384 152,380 184,370", 4)
    for y in (190, 244):
        p.pen(f"-34,{y + 4} 8,{y} 56,{y - 6}", 8)
        p.fill(BROWN, oval(8, y, 30, 14, -5))


def arms(p: Piece) -> None:
    hand(p, -328, 206, 200)
    p.fill(MUSTARD, marks("-130,84! -170,116 -226,150 -280,156 -296,210 -280,266 -206,272 -150,252 -128,220!"))
    p.fill(OCHRE, roll(-290, 210, 132, 42, 88))
    p.pen("-176,246 -196,226 -200,204", 6)
    hand(p, 306, 34, -66)
    p.fill(MUSTARD, marks("104,92 146,120 184,152 216,140 238,84 290,86 342,122 314,216 250,270 170,262 112,216"))
    p.fill(OCHRE, roll(292, 88, 132, 42, 26))
    p.pen("184,152 196,178 218,192", 6)


def scarf(p: Piece) -> None:
    hanging = ribbon(marks("-52,90 -104,166 -106,250"), [64, 80, 90])
    fringe = [
        ribbon(marks(f"{x},234 {x + lean},282"), [24, 18], True)
        for x, lean in ((-140, -4), (-119, -1), (-98, 1), (-81, 2))
    ]
    p.join(RED, [hanging, *fringe])
    p.fill(CREAM, ribbon(marks("-170,200 -108,214 -40,204"), [26, 26]), inside=hanging)
    p.fill(RED, marks("0,12 90,16 146,38 166,74 146,108 84,132 0,140 -84,132 -146,108 -166,74 -146,38 -90,16"))
    p.fill(TEAL, oval(0, 22, 84, 26))
    p.pen("-140,66 -70,98 20,104", 6)
    p.pen("146,60 110,86 60,98", 7)
    p.fill(RED, marks("-98,76 -54,66 -14,92 -16,138 -58,154 -98,128"))
    p.pen("-52,146 -50,124 -60,108", 6)


def body() -> Piece:
    p = Piece("body", 1230, 215)
    tail(p)
    p.fill(TEAL, marks("-150,430 150,430 148,560 38,560! 0,492 -38,560! -148,560"))
    boots(p)
    coat(p)
    arms(p)
    scarf(p)
    return p


def lantern() -> Piece:
    p = Piece("lantern", 350, 1330)
    p.fill(BROWN, ribbon(marks("0,-190 -58,-216 -74,-280 -30,-332 34,-328 68,-282 58,-238"), [22, 22, 22, 18], True))
    knob = marks("-32,-172 -24,-200 0,-210 24,-200 32,-172 32,-140 -32,-140")
    p.join(BRASS, [knob, marks("-124,-64! -96,-112 -50,-150 0,-160 50,-150 96,-112 124,-64! 0,-40")])
    p.pen("-22,-157 0,-160 22,-157", 6)
    for stroke in ("-52,-124 -58,-108 -70,-94", "0,-134 0,-118 0,-102", "52,-124 58,-108 70,-94"):
        p.pen(stroke, 11)
    p.fill(BRASS, marks("-108,-60! 0,-36 108,-60! 90,156! 0,178 -90,156!"))
    p.fill(GLOW, marks("-94,-36! -62,-28! -55,140! -80,132!"))
    p.fill(GLOW, marks("94,-36! 80,132! 55,140! 62,-28!"))
    p.fill(GLOW, marks("-46,-24! 0,-18 46,-24! 40,142! 0,146 -40,142!"))
    p.fill(ORANGE, marks("8,14! 28,74 20,116 -2,126 -24,112 -21,72"))
    p.fill(BRASS, marks("-134,-80! -136,-54! -80,-36 0,-29 80,-36 136,-54! 134,-80! 80,-66 0,-60 -80,-66"))
    p.fill(BRASS, marks("-110,146! -126,194! 0,222 126,194! 110,146! 0,168"))
    return p


def mushroom(p: Piece, x: float, y: float, size: float, turn: float) -> None:
    p.fill(CREAM, moved(marks("-24,0 -15,-60 15,-60 24,0 0,12"), x, y, turn, size))
    p.fill(ORANGE, moved(marks("-62,-54! -46,-96 0,-118 46,-96 62,-54! 0,-40"), x, y, turn, size))


def base() -> Piece:
    p = Piece("base", 1110, 1330)
    stone = hewn(
        "-448,16 -372,-92 -196,-146 10,-158 226,-144 368,-100 446,-16 456,84 372,156 170,172 20,200 -200,176"
        " -372,150 -450,98",
        24,
    )
    p.fill(STONE, stone)
    top = marks("-500,20 -420,40 -350,44 -296,84 -232,60 -200,4 -142,-20 -94,-64 -36,-98 30,-120 70,-180")
    p.fill(MOSS, [Mark(-520, -240, True), *lobes(top)], inside=stone)
    foot = marks("480,20 398,56 356,96 292,104 246,138 200,154 180,220")
    p.fill(MOSS, [Mark(520, 260, True), *lobes(foot)], inside=stone)
    p.line(stone)
    mushroom(p, 256, -62, 1.15, -6)
    mushroom(p, 336, -40, 0.78, 16)
    for stroke, width in (
        ("424,-26 388,4 318,26", 7),
        ("270,36 200,48 130,54", 6),
        ("84,56 -10,60 -120,52", 7),
        ("84,56 104,92 84,124 98,164", 7),
        ("-200,176 -186,148 -204,118", 6),
        ("120,-70 154,-80 188,-72", 6),
        ("-60,8 -36,-2 -8,6", 6),
        ("-16,122 8,116 30,124", 6),
        ("186,92 196,108 190,124", 6),
    ):
        p.pen(stroke, width)
    return p


def sheet() -> str:
    pieces = "\n".join(piece.svg() for piece in (head(), body(), lantern(), base()))
    pen = f'stroke="{INK}" stroke-width="{LINE}" stroke-linejoin="round" stroke-linecap="round"'
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDTH}" height="{HEIGHT}" viewBox="0 0 {WIDTH} {HEIGHT}">\n'
        f"<title>The Lamplighter Newt: parts sheet</title>\n"
        f'<rect width="{WIDTH}" height="{HEIGHT}" fill="{PAPER}"/>\n<g {pen}>\n{pieces}\n</g>\n</svg>\n'
    )


def main() -> None:
    from resvg_py import svg_to_bytes

    text = sheet()
    (HERE / "newt.svg").write_text(text, encoding="utf-8")
    (HERE / "newt.png").write_bytes(bytes(svg_to_bytes(svg_string=text)))


if __name__ == "__main__":
    main()
