"""Random smooth shapes, and a pile of them laid one over the other. Lengths are in halves of the figure's height; y
grows downwards."""

from dataclasses import dataclass

import numpy as np

Piece = np.ndarray
"""(n, 2) polygon, x and y."""
Pieces = tuple[Piece, ...]
TURN = np.linspace(0, 2 * np.pi, 72, endpoint=False)


@dataclass(frozen=True, eq=False)
class Shape:
    """pieces: polygons whose union it is. group: shapes of one group have one colour. inside: the shapes, by their
    place in the pile, outside of which nothing of it shows."""

    pieces: Pieces
    group: str
    inside: tuple[int, ...] = ()


class Pile:
    """Shapes in the order they are laid."""

    def __init__(self, rng: np.random.Generator) -> None:
        self.rng = rng
        self.shapes: list[Shape] = []

    def add(self, pieces: Pieces, group: str, *inside: int) -> int:
        """Lay a shape; returns its place."""
        self.shapes.append(Shape(pieces, group, inside))
        return len(self.shapes) - 1

    def pair(self, pieces: Pieces, group: str, *inside: int) -> tuple[int, int]:
        """Lay a shape and its mirror image about x = 0."""
        return self.add(pieces, group, *inside), self.add(mirrored(pieces), group, *inside)

    def blob(self, x: float, y: float, rx: float, ry: float, wobble: float = 0.1) -> Pieces:
        """A round shape with soft bumps."""
        rng = self.rng
        radius = 1 + sum(
            rng.normal(scale=wobble / k) * np.cos(k * TURN + rng.uniform(0, 2 * np.pi)) for k in range(2, 6)
        )
        return (np.stack([x + rx * radius * np.cos(TURN), y + ry * radius * np.sin(TURN)], 1),)

    def chance(self, share: float) -> bool:
        """True as often as that."""
        return bool(self.rng.random() < share)


def mirrored(pieces: Pieces) -> Pieces:
    """The mirror image about x = 0."""
    return tuple(piece * [-1, 1] for piece in pieces)


def turned(pieces: Pieces, degrees: float, x: float = 0.0, y: float = 0.0) -> Pieces:
    """Turned clockwise about a point."""
    c, s = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
    return tuple((piece - [x, y]) @ np.array([[c, s], [-s, c]]) + [x, y] for piece in pieces)


def smooth(points: np.ndarray, closed: bool = False, steps: int = 12) -> np.ndarray:
    """(m, k) points of the Catmull-Rom spline through (n, k) points."""
    p = np.asarray(points, float)
    before, after = (p[-1:], p[:2]) if closed else (2 * p[:1] - p[1:2], 2 * p[-1:] - p[-2:-1])
    q = np.concatenate([before, p, after])
    t = np.linspace(0, 1, steps, endpoint=False)[:, None]
    arcs = [
        0.5 * (2 * b + (c - a) * t + (2 * a - 5 * b + 4 * c - d) * t**2 + (3 * (b - c) + d - a) * t**3)
        for a, b, c, d in zip(q, q[1:], q[2:], q[3:], strict=False)
    ]
    return np.concatenate(arcs + ([] if closed else [p[-1:]]))


def curve(*points: tuple[float, float]) -> Pieces:
    """A closed smooth shape through the points."""
    return (smooth(np.array(points), closed=True),)


def polygon(*points: tuple[float, float]) -> Pieces:
    """A shape with corners."""
    return (np.array(points, float),)


def tube(points: np.ndarray, widths: np.ndarray) -> Pieces:
    """A limb: round all along a smooth spine (n, 2), as wide as (n,) widths there."""
    spine = smooth(np.column_stack([points, widths]), steps=10)
    rounds = [np.stack([x + w / 2 * np.cos(TURN), y + w / 2 * np.sin(TURN)], 1) for x, y, w in spine]
    way = np.gradient(spine[:, :2], axis=0)
    side = np.stack([-way[:, 1], way[:, 0]], 1) / np.maximum(np.hypot(*way.T), 1e-9)[:, None] * spine[:, 2:] / 2
    left, right = spine[:, :2] + side, spine[:, :2] - side
    quads = [np.stack([left[i], left[i + 1], right[i + 1], right[i]]) for i in range(len(spine) - 1)]
    return (*rounds, *quads)


def box(x: float, y: float, w: float, h: float, corner: float = 0.2) -> Pieces:
    """A rectangle about a point with rounded corners; corner: their radius in parts of the shorter side."""
    r = corner * min(w, h)
    quarter = np.linspace(0, np.pi / 2, 8)
    arcs = [
        np.stack([cx * (w / 2 - r) + r * np.cos(a + quarter), cy * (h / 2 - r) + r * np.sin(a + quarter)], 1)
        for cx, cy, a in ((1, 1, 0), (-1, 1, np.pi / 2), (-1, -1, np.pi), (1, -1, 1.5 * np.pi))
    ]
    return (np.concatenate(arcs) + np.array([x, y]),)
