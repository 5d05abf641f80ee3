"""Figures of geometric shapes: polygons, drops, rings, ribbons, gears, by chance."""

from collections.abc import Callable

import numpy as np

from .shapes import TURN, Pieces, Pile, Shape, box, polygon, smooth, turned

Emblem = Callable[[np.random.Generator, bool], list[Shape]]
"""Takes chance and whether it is crowded with ornaments."""


def _ngon(x: float, y: float, r: float, corners: int, lean: float = 0.0) -> Pieces:
    at = lean + 2 * np.pi * np.arange(corners) / corners - np.pi / 2
    return (np.stack([x + r * np.cos(at), y + r * np.sin(at)], 1),)


def _star(x: float, y: float, r: float, points: int, inner: float) -> Pieces:
    at = np.pi * np.arange(2 * points) / points - np.pi / 2
    radius = np.where(np.arange(2 * points) % 2, inner * r, r)
    return (np.stack([x + radius * np.cos(at), y + radius * np.sin(at)], 1),)


def _oval(x: float, y: float, rx: float, ry: float) -> Pieces:
    return (np.stack([x + rx * np.cos(TURN), y + ry * np.sin(TURN)], 1),)


def _drop(x: float, y: float, long: float, wide: float, degrees: float) -> Pieces:
    """A drop with its point at (x, y), pointing against `degrees`, clockwise from downwards."""
    t = np.linspace(0, 2 * np.pi, 60, endpoint=False)
    own = np.stack([wide / 2 * np.sin(t) * np.sin(t / 2), long * (1 - np.cos(t)) / 2], 1)
    return turned((own + np.array([x, y]),), degrees, x, y)


def _sector(x: float, y: float, inner: float, outer: float, start: float, end: float) -> Pieces:
    at = np.linspace(start, end, 30)
    rim = np.stack([np.cos(at), np.sin(at)], 1)
    return (np.concatenate([outer * rim, inner * rim[::-1]]) + np.array([x, y]),)


def _ribbon(points: np.ndarray, width: float) -> Pieces:
    """A band of even width with square ends along a smooth spine, one polygon."""
    spine = smooth(points, steps=14)
    way = np.gradient(spine, axis=0)
    side = np.stack([-way[:, 1], way[:, 0]], 1) / np.hypot(*way.T)[:, None] * width / 2
    return (np.concatenate([spine + side, (spine - side)[::-1]]),)


def tower(rng: np.random.Generator, crowded: bool) -> list[Shape]:
    """Storeys that narrow upwards under a pointed roof."""
    p, u = Pile(rng), rng.uniform
    p.add(polygon((-0.85, 0.95), (-0.6, 0.72), (0.62, 0.7), (0.9, 0.95), (0.4, 1.05), (-0.5, 1.03)), "rock")
    floors, half, y = int(rng.integers(3, 5)), u(0.4, 0.5), 0.8
    for k in range(floors):
        top, narrow = y - 1.3 / floors, half * u(0.78, 0.95)
        wall = p.add(polygon((-half, y), (-narrow, top), (narrow, top), (half, y)), f"wall {k}")
        for side in (-1, 0, 1) if crowded else ((-1, 1) if k % 2 else (0,)):
            x = side * half * 0.55
            frame = p.add(box(x, (y + top) / 2, 0.16, 0.24, 0.5), f"frame {k % 2}", wall)
            p.add(_ngon(x, (y + top) / 2, 0.05, 4 + k), "glass", frame)
        if crowded:
            for r in range(1, 3):
                p.add(box(0, top + r * 0.05, 2, 0.045, 0), f"course {k} {r}", wall)
        p.add(box(0, top, 2.25 * narrow, 0.09, 0.4), f"ledge {k % 2}")
        y, half = top, narrow
    p.add(polygon((-half - 0.12, y), (0, y - 0.45), (half + 0.12, y)), "roof")
    p.add(_star(0, y - 0.42, 0.14, 5, 0.5), "star")
    return p.shapes


def wagon(rng: np.random.Generator, crowded: bool) -> list[Shape]:
    """A cart with wheels, a load of crates and a flag."""
    p, u = Pile(rng), rng.uniform
    across = int(rng.integers(2, 4)) + 2 * crowded
    for k in range(across):
        for row in range(2 + crowded):
            x, size = -0.7 + 1.4 * (k + 0.5) / across, 1.4 / across
            crate = p.add(box(x, 0.1 - row * 0.36, size * 0.96, 0.35, 0.05), f"crate {k} {row}")
            p.add(turned(box(x, 0.1 - row * 0.36, 2, 0.09, 0), u(20, 60), x, 0.1 - row * 0.36), f"strap {row}", crate)
    p.add(_ribbon(np.array([(0.75, 0.3), (0.72, -0.3), (0.78, -1.0)]), 0.07), "pole")
    p.add(polygon((0.74, -1.0), (0.2, -0.86 + u(-0.1, 0.1)), (0.74, -0.62)), "flag")
    bed = p.add(polygon((-0.85, 0.28), (0.9, 0.28), (0.78, 0.58), (-0.72, 0.58)), "bed")
    p.add(box(0, 0.43, 2.2, 0.09, 0), "stripe", bed)
    for x in (-0.45, 0.5):
        r = u(0.27, 0.33)
        p.add(_oval(x, 0.7, r, r), "tyre")
        p.add(_oval(x, 0.7, r * 0.68, r * 0.68), "rim")
        for k in range(6 if crowded else 3):
            turn = k * np.pi * 2 / (6 if crowded else 3)
            p.add(_sector(x, 0.7, r * 0.25, r * 0.6, turn, turn + 0.6), f"spoke {k % 2}")
        p.add(_ngon(x, 0.7, r * 0.22, 6), "hub")
    return p.shapes


def flower(rng: np.random.Generator, crowded: bool) -> list[Shape]:
    """Petals like drops round a head on a bent stem, in a pot."""
    p, u = Pile(rng), rng.uniform
    p.add(_ribbon(np.array([(0, -0.4), (u(-0.1, 0.2), 0.1), (0, 0.7)]), 0.1), "stem")
    for side in (-1, 1):
        p.add(_drop(0.03 * side, 0.45, 0.65, 0.36, -side * u(95, 130)), f"leaf {side}")
    pot = p.add(polygon((-0.4, 0.55), (0.4, 0.55), (0.28, 1.05), (-0.28, 1.05)), "pot")
    for k in range(5 if crowded else 2):
        p.add(_ngon(-0.3 + 0.6 * (k + 0.5) / (5 if crowded else 2), 0.8, 0.07, 3 + k), f"tile {k % 3}", pot)
    p.add(box(0, 0.56, 0.95, 0.14, 0.3), "brim")
    count = int(rng.integers(6, 9)) + 4 * crowded
    for k in range(count):
        p.add(_drop(0, -0.4, u(0.55, 0.62), 2.6 / count, k * 360 / count), f"petal {k % 3}")
        if crowded:
            p.add(_drop(0, -0.4, 0.42, 1.2 / count, k * 360 / count), f"vein {k % 2}")
    p.add(_oval(0, -0.4, 0.24, 0.24), "head")
    p.add(_star(0, -0.4, 0.17, 8, 0.6), "seeds")
    return p.shapes


def fish(rng: np.random.Generator, crowded: bool) -> list[Shape]:
    """A fish with bands, fins and gills."""
    p, u = Pile(rng), rng.uniform
    p.add(polygon((-0.55, 0), (-1.0, -0.4), (-0.85, 0), (-1.0, 0.42)), "tail")
    p.add(polygon((-0.3, -0.3), (0.05, u(-0.85, -0.65)), (0.4, -0.35)), "fin")
    p.add(_drop(0.05, 0.25, 0.5, 0.3, u(10, 40)), "fin below")
    body = p.add((np.stack([0.75 * np.cos(TURN) + 0.1, 0.45 * np.sin(TURN) * (1.1 - 0.3 * np.cos(TURN))], 1),), "body")
    for k in range(7 if crowded else 3):
        x = -0.45 + (0.12 if crowded else 0.25) * k
        p.add(_ribbon(np.array([(x, -0.7), (x + 0.08, 0), (x, 0.7)]), 0.07 if crowded else 0.11), f"band {k % 3}", body)
        for row in range(-2, 3) if crowded else ():
            p.add(_ngon(x + 0.08, row * 0.16, 0.05, 5), f"scale {(k + row) % 3}", body)
    p.add(_sector(0.5, 0, 0.0, 0.62, -0.9, 0.9), "face", body)
    p.add(_sector(0.42, 0, 0.1, 0.2, 0.5 * np.pi, 1.5 * np.pi), "gill", body)
    p.add(_oval(0.62, -0.12, 0.11, 0.11), "eye")
    p.add(_oval(0.64, -0.12, 0.055, 0.055), "pupil")
    p.add(_drop(0.1, 0.05, 0.35, 0.22, u(60, 110)), "side fin")
    return p.shapes


def rosette(rng: np.random.Generator, crowded: bool) -> list[Shape]:
    """A shield of rings cut into sectors, on two ribbons."""
    p, u = Pile(rng), rng.uniform
    for side in (-1, 1):
        p.add(_ribbon(np.array([(0.1 * side, 0.3), (0.3 * side, 0.8), (0.55 * side, 1.1)]), 0.28), f"ribbon {side}")
    radius, turn = 0.8, u(0, 1)
    p.add(_star(0, 0, 1.0, 12, 0.93), "edge")
    for ring in range(3 if crowded else 2):
        count, inner = int(rng.integers(5, 8)) + 7 * crowded, radius - (0.2 if crowded else 0.27)
        for k in range(count):
            start = turn + 2 * np.pi * k / count
            p.add(
                _sector(0, 0, inner, radius, start, start + 2 * np.pi / count), f"ring {ring} {k % 3} {k + 1 == count}"
            )
        radius, turn = inner, turn + 0.3
    p.add(_ngon(0, 0, radius * 1.02, 6), "core")
    p.add(_star(0, 0, radius * 0.7, 5, 0.45), "heart")
    return p.shapes


def quilt(rng: np.random.Generator, crowded: bool) -> list[Shape]:
    """Square tiles cut in triangles, with a diamond on some."""
    p = Pile(rng)
    side = 6 if crowded else 3
    step = 1.8 / side
    for row in range(side):
        for column in range(side):
            x, y, name = -0.9 + step * (column + 0.5), -0.9 + step * (row + 0.5), f"{row} {column}"
            half = step / 2
            tile = p.add(box(x, y, step, step, 0), f"tile {name}")
            if p.chance(0.6):
                p.add(polygon((x - half, y - half), (x + half, y - half), (x - half, y + half)), f"cut {name}", tile)
            elif p.chance(0.7):
                p.add(_ngon(x, y, half * 0.6, 4 + int(rng.integers(3))), f"inlay {name}", tile)
    return p.shapes


def gears(rng: np.random.Generator, crowded: bool) -> list[Shape]:
    """A case with toothed wheels and a dial."""
    p, u = Pile(rng), rng.uniform
    case = p.add(box(0, 0.1, 1.3, 1.7, 0.15), "case")
    p.add(box(0, 0.86, 1.5, 0.2, 0.1), "foot")
    p.add(polygon((-0.5, -0.75), (0, -1.05), (0.5, -0.75)), "top")
    p.add(box(0, 0.55, 1.5, 0.12, 0), "rail", case)
    for k, (x, y, r) in enumerate(((-0.25, -0.2, 0.34), (0.3, 0.2, 0.27), (-0.3, 0.38, 0.2))):
        teeth = int(rng.integers(7, 11))
        at = np.linspace(0, 2 * np.pi, 4 * teeth, endpoint=False)
        radius = r * np.where(np.arange(4 * teeth) % 4 < 2, 1.0, 0.8)
        p.add((np.stack([x + radius * np.cos(at), y + radius * np.sin(at)], 1),), f"wheel {k}")
        p.add(_oval(x, y, r * 0.5, r * 0.5), f"disc {k}")
        p.add(_ngon(x, y, r * 0.25, 6, u(0, 1)), "nut")
    if crowded:
        for k in range(24):
            x, y = -0.5 + 0.2 * (k % 6), -0.55 + 0.36 * (k // 6)
            p.add(_ngon(x, y, 0.055, 3 + k % 4), f"rivet {k % 5}", case)
    p.add(_drop(0.45, -0.6, 0.3, 0.2, 0), "drip")
    return p.shapes


EMBLEMS: tuple[Emblem, ...] = (tower, wagon, flower, fish, rosette, quilt, gears)
