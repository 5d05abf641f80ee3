"""Seven ways of building a figure by chance, and the ornaments of a busy one."""

from collections.abc import Callable

import numpy as np

from .shapes import TURN, Pile, Shape, box, curve, polygon, smooth, tube, turned


def critter(rng: np.random.Generator) -> list[Shape]:
    """A standing animal in clothes."""
    p, u = Pile(rng), rng.uniform
    wide, head = u(0.3, 0.45), u(0.28, 0.36)
    if p.chance(0.6):
        tail = np.array([(wide * 0.4, 0.45), (wide + 0.25, 0.5), (wide + 0.4, u(-0.2, 0.2)), (wide + 0.2, -0.15)])
        t = p.add(tube(tail, np.array([0.2, 0.2, 0.15, 0.06])), "skin")
        p.add(p.blob(wide + 0.28, -0.1, 0.16, 0.17), "trim", t)
    p.pair(tube(np.array([(0.17, 0.4), (0.19, 0.85)]), np.array([0.2, 0.18])), "trousers" if p.chance(0.5) else "skin")
    p.pair(curve((0.06, 0.75), (0.3, 0.75), (0.42, 0.95), (0.36, 1.02), (0.06, 1.02)), "boots")
    p.pair(tube(np.array([(wide * 0.8, -0.1), (wide + 0.18, u(0, 0.2)), (wide + 0.2, 0.35)]), np.full(3, 0.17)), "coat")
    p.pair(p.blob(wide + 0.21, 0.42, 0.1, 0.1), "skin")
    body = p.add(p.blob(0, 0.2, wide, 0.42), "coat")
    p.add(p.blob(0, 0.3, wide * 0.55, 0.3), "belly", body)
    for k in range(int(rng.integers(1, 4))):
        p.add(p.blob(0, 0.1 + 0.16 * k, 0.05, 0.05, 0), "buttons", body)
    if p.chance(0.5):
        p.add(box(0, u(0.3, 0.45), 2, u(0.08, 0.14), 0), "belt", body)
    y = -0.5
    tall = u(0.15, 0.4)
    ears = turned(p.blob(head * 0.65, y - head * 0.75 - tall / 2, 0.13, tall), u(0, 25), head * 0.6, y)
    p.pair(ears, "skin")
    p.pair(tuple((e - e.mean(0)) * 0.6 + e.mean(0) for e in ears), "inner ear")
    p.add(p.blob(0, y, head * 1.15, head), "skin")
    _face(p, 0, y, head)
    p.add(tube(np.array([(-0.25, y + head * 0.9), (0, y + head), (0.25, y + head * 0.9)]), np.full(3, 0.14)), "scarf")
    if p.chance(0.7):
        p.add(turned(box(0.14, y + head + 0.2, 0.14, 0.4, 0.1), u(-20, 5), 0, y + head), "scarf")
    return p.shapes


def _face(p: Pile, x: float, y: float, size: float) -> None:
    u = p.rng.uniform
    far, up, eye = u(0.35, 0.5) * size, u(0, 0.25) * size, u(0.2, 0.3) * size
    p.add(p.blob(x, y + 0.45 * size, 0.6 * size, 0.38 * size, 0.05), "muzzle")
    for side in (-1, 1):
        p.add(p.blob(x + side * far, y - up, eye, eye * 1.1, 0.03), "whites")
        p.add(p.blob(x + side * far * 0.95, y - up + 0.1 * eye, eye * 0.55, eye * 0.6, 0), "pupils")
    p.add(p.blob(x, y + 0.2 * size, 0.16 * size, 0.12 * size), "nose")
    if p.chance(0.6):
        p.add(
            curve((x - 0.3 * size, y + 0.45 * size), (x + 0.3 * size, y + 0.45 * size), (x, y + 0.72 * size)), "mouth"
        )


def serpent(rng: np.random.Generator) -> list[Shape]:
    """A winding body with bands, a crest and a head."""
    p, u = Pile(rng), rng.uniform
    n = 6
    spine = np.stack([np.array([-0.9, -0.1, 0.65, 0.4, -0.4, -0.35]) + u(-0.1, 0.1, n), np.linspace(0.9, -0.75, n)], 1)
    widths = np.array([0.08, u(0.25, 0.4), u(0.35, 0.5), u(0.4, 0.5), 0.35, 0.32])
    fine = smooth(np.column_stack([spine, widths]), steps=8)
    for at in range(6, len(fine) - 4, int(rng.integers(4, 7))):
        x, y, w = fine[at]
        way = fine[at + 1, :2] - fine[at - 1, :2]
        side = np.array([-way[1], way[0]]) / np.hypot(*way)
        a, b, tip = fine[at - 3, :2], fine[at + 3, :2], np.array([x, y]) + side * (w / 2 + u(0.12, 0.25))
        p.add(polygon(tuple(a), tuple(tip), tuple(b)), "crest")
    body = p.add(tube(spine, widths), "skin")
    belly = tube(spine + np.array([0.09, 0.05]), widths * 0.55)
    if p.chance(0.7):
        p.add(belly, "belly", body)
    for at in range(5, len(fine) - 8, int(rng.integers(5, 8))):
        x, y, w = fine[at]
        way = fine[at + 1, :2] - fine[at - 1, :2]
        turn = np.degrees(np.arctan2(way[1], way[0]))
        p.add(turned(box(x, y, u(0.07, 0.14), w * 1.3, 0.1), turn, x, y), f"band {at % 2}", body)
    x, y = spine[-1]
    p.add(curve((x - 0.2, y - 0.2), (x - 0.45, y - 0.5), (x - 0.05, y - 0.25)), "horn")
    p.add(curve((x + 0.2, y - 0.2), (x + 0.45, y - 0.5), (x + 0.05, y - 0.25)), "horn")
    p.add(p.blob(x, y, 0.34, 0.27, 0.08), "skin")
    _face(p, x, y, 0.28)
    return p.shapes


def robot(rng: np.random.Generator) -> list[Shape]:
    """Boxes, plates, dials and joints."""
    p, u = Pile(rng), rng.uniform
    wide, tall, head = u(0.35, 0.5), u(0.5, 0.65), u(0.25, 0.35)
    p.pair(box(0.2, 0.6, 0.16, 0.5, 0.1), "joint")
    p.pair(box(0.23, 0.9, 0.34, 0.22, u(0, 0.5)), "foot")
    p.pair(tube(np.array([(wide, -0.05), (wide + 0.2, 0.1), (wide + 0.2, 0.35)]), np.full(3, 0.13)), "joint")
    p.pair(p.blob(wide + 0.2, 0.42, 0.13, 0.13, 0.03), "hand")
    p.pair(box(wide + 0.02, -0.08, 0.24, 0.22, 0.5), "shoulder")
    torso = p.add(box(0, 0.1, 2 * wide, 2 * tall * 0.7, u(0, 0.3)), "shell")
    p.add(box(0, 0.1 - tall * 0.3, 1.5 * wide, 0.3, 0.1), "plate", torso)
    for k in range(3):
        p.add(p.blob((k - 1) * wide * 0.4, 0.1 - tall * 0.3, 0.07, 0.07, 0), f"dial {k}")
    p.add(box(0, 0.42, 2 * wide, 0.12, 0), "belt", torso)
    p.add(box(u(-0.1, 0.1), 0.2, wide, 0.16, 0.2), "panel", torso)
    p.add(tube(np.array([(0, -0.3), (0, -0.45)]), np.full(2, 0.18)), "joint")
    y = -0.62
    for side in (-1, 1):
        p.add(tube(np.array([(side * 0.15, y), (side * u(0.2, 0.35), y - head - 0.1)]), np.full(2, 0.05)), "joint")
        p.add(p.blob(side * 0.28, y - head - 0.12, 0.07, 0.07, 0), "lamp")
    skull = p.add(box(0, y, 2.3 * head, 1.6 * head, u(0.1, 0.5)), "shell")
    p.add(box(0, y - 0.03, 1.8 * head, 0.7 * head, 0.4), "visor", skull)
    for side in (-1, 1):
        p.add(p.blob(side * 0.4 * head, y - 0.03, 0.22 * head, 0.22 * head, 0), "eye")
    p.add(box(0, y + 0.55 * head, 1.2 * head, 0.22 * head, 0.2), "grille", skull)
    return p.shapes


def bird(rng: np.random.Generator) -> list[Shape]:
    """A plump bird with a wing in rows."""
    p, u = Pile(rng), rng.uniform
    for k, turn in enumerate((-25, 0, 25)):
        p.add(turned(tube(np.array([(0.35, 0.3), (0.95, 0.55)]), np.array([0.15, 0.2])), turn, 0.35, 0.3), f"tail {k}")
    p.pair(tube(np.array([(0.15, 0.6), (0.17, 0.95), (0.05, 0.98)]), np.full(3, 0.07)), "legs")
    body = p.add(p.blob(0, 0.2, u(0.45, 0.6), u(0.45, 0.55), 0.06), "back")
    p.add(p.blob(-0.3, 0.35, 0.4, 0.45), "breast", body)
    wing = p.add(turned(p.blob(0.2, 0.2, 0.38, 0.26, 0.08), u(10, 40), 0.2, 0.2), "wing")
    for k in range(3):
        p.add(p.blob(0.36 + 0.13 * k, 0.28 + 0.1 * k, 0.3 - 0.05 * k, 0.4 - 0.05 * k, 0.05), f"feathers {k}", wing)
    for k in range(int(rng.integers(2, 5))):
        lean = -0.4 + 0.22 * k
        p.add(tube(np.array([(-0.2, -0.75), (lean, -1.05 + u(0, 0.1))]), np.array([0.14, 0.09])), f"crest {k % 2}")
    p.add(polygon((-0.45, -0.62), (-0.95, -0.45 + u(-0.1, 0.1)), (-0.42, -0.4)), "beak")
    skull = p.add(p.blob(-0.2, -0.5, 0.34, 0.32, 0.05), "cap")
    p.add(p.blob(-0.38, -0.4, 0.28, 0.22), "cheek", skull)
    p.add(p.blob(-0.28, -0.55, 0.11, 0.11, 0), "whites")
    p.add(p.blob(-0.29, -0.55, 0.06, 0.06, 0), "pupils")
    p.add(tube(np.array([(-0.45, -0.2), (-0.1, -0.14), (0.15, -0.25)]), np.full(3, u(0.08, 0.14))), "collar")
    return p.shapes


def toadstool(rng: np.random.Generator) -> list[Shape]:
    """A small house in a mushroom, on a mound with leaves."""
    p, u = Pile(rng), rng.uniform
    mound = p.add(curve((-0.9, 0.95), (-0.6, 0.7), (0, 0.6), (0.6, 0.72), (0.9, 0.95), (0, 1.05)), "grass")
    p.add(p.blob(u(-0.4, 0.4), 1.0, 0.6, 0.18), "earth", mound)
    for side in (-1, 1):
        for k in range(int(rng.integers(1, 4))):
            leaf = curve((0.5, 0.8), (0.62 + 0.1 * k, 0.45), (0.75, 0.2 + 0.1 * k), (0.72, 0.6))
            p.add(tuple(q * [side, 1] for q in leaf), f"leaf {k % 2}")
    stem = p.add(
        curve((-0.3, 0.8), (-0.24, 0.2), (-0.3, -0.3), (0.3, -0.3), (0.24, 0.2), (0.32, 0.8), (0, 0.86)), "stem"
    )
    p.add(box(0, 0.1, 2, 0.1, 0), "band", stem)
    p.add(box(u(-0.08, 0.08), 0.6, 0.24, 0.4, 0.5), "door", stem)
    p.add(p.blob(0.06, 0.6, 0.035, 0.035, 0), "knob")
    p.add(p.blob(0, -0.08, 0.11, 0.11, 0), "frame", stem)
    p.add(p.blob(0, -0.08, 0.07, 0.07, 0), "pane", stem)
    p.add(curve((-0.55, -0.28), (0, -0.15), (0.55, -0.28), (0, -0.42)), "gills")
    cap = p.add(curve((-0.8, -0.3), (-0.65, -0.75), (0, -1.0), (0.65, -0.75), (0.8, -0.3), (0, -0.42)), "cap")
    for _ in range(int(rng.integers(4, 9))):
        r = u(0.06, 0.13)
        p.add(p.blob(u(-0.6, 0.6), u(-0.85, -0.45), r, r * 0.9), "spots", cap)
    return p.shapes


def mask(rng: np.random.Generator) -> list[Shape]:
    """A large face, the same left and right."""
    p, u = Pile(rng), rng.uniform
    p.pair(curve((0.35, -0.6), (0.8, -0.7), (u(0.7, 0.95), -1.05), (0.95, -0.5), (0.6, -0.3)), "horns")
    p.pair(curve((0.6, -0.2), (0.95, u(-0.4, 0)), (0.85, 0.3), (0.6, 0.3)), "ears")
    face = p.add(
        curve((-0.72, -0.3), (-0.5, -0.85), (0.5, -0.85), (0.72, -0.3), (0.6, 0.5), (0, 1), (-0.6, 0.5)), "face"
    )
    p.add(polygon((-0.18, -1), (0.18, -1), (0.1, -0.3), (-0.1, -0.3)), "stripe", face)
    p.pair(curve((0.08, -0.4), (0.3, -0.62), (0.6, -0.45), (0.3, -0.48)), "brows", face)
    p.pair(p.blob(0.35, 0.25, 0.2, u(0.15, 0.22)), "cheeks", face)
    p.pair(p.blob(0.32, -0.2, 0.2, 0.14, 0.05), "whites")
    p.pair(p.blob(0.31, -0.2, 0.09, 0.1, 0), "iris")
    p.pair(p.blob(0.31, -0.2, 0.045, 0.05, 0), "pupils")
    p.add(curve((0, -0.25), (0.16, 0.2), (0, 0.28), (-0.16, 0.2)), "nose")
    p.add(p.blob(0, 0.6, u(0.3, 0.4), 0.17, 0.05), "lips")
    mouth = p.add(p.blob(0, 0.6, 0.24, 0.1, 0.03), "mouth")
    p.add(box(0, 0.53, 0.3, 0.09, 0.1), "teeth", mouth)
    if p.chance(0.6):
        p.add(p.blob(0, -0.62, 0.1, 0.12, 0), "jewel")
    return p.shapes


def mosaic(rng: np.random.Generator) -> list[Shape]:
    """A blob cut into cells by chance lines, some with an inlay."""
    p, u = Pile(rng), rng.uniform
    body = p.add(p.blob(0, 0, u(0.6, 0.9), u(0.7, 0.95), 0.15), "cell")
    points = np.stack([u(-0.8, 0.8, 14), u(-0.9, 0.9, 14)], 1)
    for k, at in enumerate(points):
        ring = at + 3 * np.stack([np.cos(TURN), np.sin(TURN)], 1)
        for other in np.delete(points, k, 0):
            way = other - at
            over = np.maximum((ring - (at + other) / 2) @ way / (way @ way), 0)
            ring = ring - over[:, None] * way
        p.add((smooth(ring, closed=True, steps=2),), f"cell {k}", body)
    for k in range(int(rng.integers(1, 5))):
        p.add(p.blob(*points[k], u(0.05, 0.09), u(0.05, 0.09)), "inlay", body)
    return p.shapes


BUILDERS: tuple[Callable[[np.random.Generator], list[Shape]], ...] = (
    critter,
    serpent,
    robot,
    bird,
    toadstool,
    mask,
    mosaic,
)


def ornate(rng: np.random.Generator, builder: int, step: float) -> list[Shape]:
    """A figure strewn with stripes, scales or patches, `step` apart, on all its larger shapes."""
    p, place = Pile(rng), []
    for shape in BUILDERS[builder % len(BUILDERS)](rng):
        inside = tuple(place[i] for i in shape.inside)
        place.append(p.add(shape.pieces, shape.group, *inside))
        points = np.concatenate(shape.pieces)
        if np.ptp(points, axis=0).min() > 2 * step:
            _strewn(p, points, step, (place[-1], *inside))
    return p.shapes


def _strewn(p: Pile, points: np.ndarray, step: float, inside: tuple[int, ...]) -> None:
    (left, top), (right, bottom) = points.min(0), points.max(0)
    style, group = int(p.rng.integers(3)), f"ornament {inside[0]}"
    for row, y in enumerate(np.arange(top + step / 2, bottom, step)):
        if style == 0 and row % 2:
            p.add(box((left + right) / 2, y, 4, step * 0.55, 0), f"{group} {row % 4}", *inside)
        for column, x in enumerate(np.arange(left + step * (0.3 + 0.5 * (row % 2)), right, step) if style else ()):
            size = step * (0.34 if style == 1 else 0.26)
            if p.chance(0.6):
                p.add(p.blob(x, y, size, size, 0.12), f"{group} {(row + column) % 3}", *inside)
