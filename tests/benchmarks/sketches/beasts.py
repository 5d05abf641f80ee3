"""Creatures of the third style: blobs with limbs along Bezier curves, mirrored or seen from the side, with patterns,
faces and clothes. Lengths are in halves of the figure's height; y grows downwards."""

import numpy as np

from .shapes import TURN, Pieces, Pile, Shape, mirrored, polygon, tube


def bezier(*points: tuple[float, float], steps: int = 7) -> np.ndarray:
    """(steps, 2) points of the Bezier curve of those control points (de Casteljau)."""
    t = np.linspace(0, 1, steps)[:, None, None]
    p = np.repeat(np.array(points, float)[None], steps, 0)
    while p.shape[1] > 1:
        p = (1 - t) * p[:, :-1] + t * p[:, 1:]
    return p[:, 0]


def limb(start: float, end: float, *points: tuple[float, float]) -> Pieces:
    """A limb along a Bezier curve, as broad as told at its start and end."""
    spine = bezier(*points)
    return tube(spine, np.linspace(start, end, len(spine)))


def oval(x: float, y: float, rx: float, ry: float, power: float = 2.0) -> Pieces:
    """A superellipse: round at 2, nearly a box at 5."""
    c, s = np.cos(TURN), np.sin(TURN)
    bent = [np.sign(k) * np.abs(k) ** (2 / power) for k in (c, s)]
    return (np.stack([x + rx * bent[0], y + ry * bent[1]], 1),)


def eye(pile: Pile, x: float, y: float, r: float, *inside: int) -> None:
    """White, iris, pupil and a catchlight, or a plain dark bead."""
    u = pile.rng.uniform
    for side in (-1, 1):
        if r > 0.07:
            white = pile.add(oval(side * x, y, r, r * 1.15), "eyewhite", *inside)
            iris = pile.add(oval(side * x * 0.95, y + 0.2 * r, 0.62 * r, 0.7 * r), "iris", white)
            pile.add(oval(side * x * 0.95, y + 0.25 * r, 0.33 * r, 0.36 * r), "pupil", iris)
            pile.add(oval(side * x * 0.95 - 0.3 * r, y - 0.15 * r, 0.2 * r, 0.2 * r), "glint", white)
        else:
            pile.add(oval(side * x, y, 0.8 * r, r * u(0.9, 1.3)), "pupil", *inside)


def patterned(pile: Pile, where: int, x: float, y: float, rx: float, ry: float) -> None:
    """Stripes, spots or patches over a shape."""
    u, kind = pile.rng.uniform, int(pile.rng.integers(4))
    if kind == 0:
        n, slant = int(pile.rng.integers(2, 6)), u(-0.4, 0.4)
        for k in range(n):
            at = y - ry + (k + 0.6) * 2 * ry / n
            thick = u(0.2, 0.4) * ry / n
            ends = ((x - 1.3 * rx, at - slant * rx), (x, at + u(-0.1, 0.2) * ry), (x + 1.3 * rx, at + slant * rx))
            pile.add(limb(2 * thick, 2 * thick * u(0.5, 1.2), *ends), "stripe", where)
    elif kind == 1:
        for _ in range(int(pile.rng.integers(4, 11))):
            r = u(0.03, 0.09)
            pile.add(pile.blob(x + u(-0.8, 0.8) * rx, y + u(-0.8, 0.8) * ry, r, r, 0.08), "spot", where)
    elif kind == 2:
        pile.add(pile.blob(x + u(-0.3, 0.3) * rx, y + u(-0.2, 0.3) * ry, 0.6 * rx, 0.5 * ry, 0.15), "patch", where)


def face(pile: Pile, head: int, y: float, r: float) -> None:
    """Muzzle, nose, cheeks, eyes."""
    u = pile.rng.uniform
    if pile.chance(0.6):
        muzzle = pile.add(oval(0, y + 0.35 * r, u(0.4, 0.7) * r, u(0.3, 0.45) * r), "muzzle", head)
        pile.add(oval(0, y + 0.2 * r, u(0.12, 0.22) * r, 0.12 * r), "nose", muzzle)
    if pile.chance(0.4):
        pile.pair(oval(0.62 * r, y + 0.3 * r, 0.17 * r, 0.13 * r), "cheek", head)
    eye(pile, u(0.32, 0.5) * r, y - 0.1 * r, u(0.12, 0.3) * r, head)


def upright(rng: np.random.Generator) -> list[Shape]:
    """A creature seen from the front, the same on both sides, clothed."""
    pile, u = Pile(rng), rng.uniform
    if pile.chance(0.5):
        pile.add(pile.blob(0, 0.25, u(0.55, 0.8), u(0.6, 0.75), 0.06), "cape")
    if pile.chance(0.6):
        side = u(0.5, 0.9)
        tail = pile.add(limb(0.2, 0.06, (0.2, 0.6), (side, 0.9), (side + 0.3, 0.2), (side, 0.1)), "body")
        patterned(pile, tail, side, 0.4, 0.35, 0.4)
    wide, tall = u(0.3, 0.48), u(0.4, 0.55)
    for legs in (u(0.14, 0.24),):
        leg = limb(1.6 * legs, 1.2 * legs, (0.5 * wide, 0.5), (0.6 * wide, 0.75), (0.55 * wide, 0.95))
        pile.pair(leg, "body")
        pile.pair(oval(0.62 * wide, 1.0, legs, 0.09, u(2, 4)), "boot")
    body = pile.add(oval(0, 0.25, wide, tall, u(2, 3)), "body")
    patterned(pile, body, 0, 0.3, wide, tall)
    if pile.chance(0.6):
        belly = pile.add(oval(0, 0.32, u(0.5, 0.75) * wide, u(0.55, 0.8) * tall), "belly", body)
        if pile.chance(0.5):
            patterned(pile, belly, 0, 0.32, 0.6 * wide, 0.6 * tall)
    if pile.chance(0.6):
        low = u(0.3, 0.5)
        pile.add(polygon((-1, low), (1, low - 0.02), (1, low + 0.09), (-1, low + 0.1)), "belt", body)
        pile.add(oval(0, low + 0.04, 0.08, 0.075, 4), "buckle", body)
    arm = limb(0.2, u(0.12, 0.18), (0.8 * wide, 0.05), (1.9 * wide, u(0, 0.3)), (1.5 * wide, u(0.3, 0.6)))
    pile.pair(arm, "sleeve" if pile.chance(0.5) else "body")
    hand = arm[6 * 10 - 1].mean(0)
    pile.pair(pile.blob(hand[0], hand[1], 0.12, 0.11, 0.05), "glove" if pile.chance(0.6) else "skin")
    y, r = -0.5, u(0.32, 0.48)
    _ears(pile, y, r)
    head = pile.add(oval(0, y, r, u(0.85, 1.05) * r, u(2, 2.8)), "head" if pile.chance(0.5) else "body")
    if pile.chance(0.3):
        patterned(pile, head, 0, y - 0.4 * r, 0.8 * r, 0.3 * r)
    face(pile, head, y, r)
    if pile.chance(0.4):
        pile.add(pile.blob(0, y - 0.85 * r, 0.9 * r, 0.4 * r, 0.05), "hat")
        pile.add(oval(0, y - 0.6 * r, 1.15 * r, 0.1, 3), "brim")
    if pile.chance(0.5):
        pile.add(oval(0, -0.12, 0.8 * wide, 0.1, 2.5), "scarf")
    return pile.shapes


def _ears(pile: Pile, y: float, r: float) -> None:
    u = pile.rng.uniform
    kind = int(pile.rng.integers(3))
    if kind == 0:
        ear = limb(0.7 * r, 0.1, (0.5 * r, y - 0.5 * r), (u(0.6, 1.2) * r, y - 1.2 * r), (u(0.4, 1.4) * r, y - 1.6 * r))
        inner = limb(0.3 * r, 0.05, (0.55 * r, y - 0.6 * r), (0.8 * r, y - 1.1 * r), (0.9 * r, y - 1.4 * r))
        for piece, core in ((ear, inner), (mirrored(ear), mirrored(inner))):
            pile.add(core, "inner", pile.add(piece, "ear"))
    elif kind == 1:
        one, two = pile.pair(oval(0.8 * r, y - 0.7 * r, 0.4 * r, 0.4 * r), "ear")
        pile.add(oval(0.8 * r, y - 0.7 * r, 0.2 * r, 0.22 * r), "inner", one)
        pile.add(oval(-0.8 * r, y - 0.7 * r, 0.2 * r, 0.22 * r), "inner", two)
    else:
        pile.pair(limb(0.35 * r, 0.04, (0.6 * r, y - 0.5 * r), (1.5 * r, y - 0.9 * r), (1.1 * r, y - 1.6 * r)), "horn")


def sidelong(rng: np.random.Generator) -> list[Shape]:
    """A beast seen from the side, on two to four legs, with a wing, a saddle or a shell."""
    pile, u = Pile(rng), rng.uniform
    wide, tall = u(0.6, 0.9), u(0.35, 0.5)
    tail = pile.add(limb(0.35, 0.05, (-0.8 * wide, 0.1), (-1.4, u(-0.2, 0.5)), (-1.2, u(-0.9, -0.2))), "body")
    patterned(pile, tail, -1.1, -0.1, 0.4, 0.5)
    for at in (-0.5, 0.45):
        pile.add(
            limb(0.3, 0.17, ((at + 0.1) * wide, 0.2), ((at + 0.1) * wide, 0.6), (at * wide + 0.1, 0.85)), "far leg"
        )
    neck = pile.add(limb(0.5, 0.3, (0.6 * wide, 0), (1.1 * wide, -0.2), (0.95 * wide + 0.1, -0.7)), "body")
    patterned(pile, neck, wide, -0.35, 0.25, 0.35)
    body = pile.add(pile.blob(0, 0.1, wide, tall, 0.05), "body")
    patterned(pile, body, 0, -0.1, 0.8 * wide, 0.6 * tall)
    if pile.chance(0.6):
        pile.add(pile.blob(0, 0.1 + 0.75 * tall, 0.75 * wide, 0.4 * tall, 0.05), "belly", body)
    for at in (-0.6, 0.5):
        leg = pile.add(limb(0.36, 0.19, (at * wide, 0.2), ((at - 0.1) * wide, 0.55), (at * wide, 0.9)), "body")
        pile.add(polygon((-2, u(0.72, 0.82)), (2, 0.77), (2, 2), (-2, 2)), "sock", leg)
        pile.add(oval(at * wide + 0.06, 0.98, 0.17, 0.08, 3), "hoof")
    _carried(pile, wide, tall)
    x, y = 0.95 * wide + 0.2, -0.75
    pile.add(limb(0.16, 0.03, (x - 0.1, y - 0.1), (x - 0.15, y - 0.3), (x + u(-0.4, 0.1), y - 0.45)), "horn")
    head = pile.add(pile.blob(x, y, u(0.28, 0.38), u(0.2, 0.27), 0.06), "head" if pile.chance(0.5) else "body")
    pile.add(oval(x + 0.28, y + 0.1, 0.2, 0.14), "muzzle", head)
    white = pile.add(oval(x + 0.03, y - 0.04, 0.08, 0.09), "eyewhite", head)
    pile.add(oval(x + 0.05, y - 0.03, 0.04, 0.05), "pupil", white)
    return pile.shapes


def _carried(pile: Pile, wide: float, tall: float) -> None:
    u, kind = pile.rng.uniform, int(pile.rng.integers(3))
    if kind == 0:
        wing = pile.add(
            (
                *limb(0.3, 0.1, (0.3, 0), (-0.1, -0.9), (-0.9, -1)),
                *limb(0.3, 0.1, (0.2, 0.05), (-0.4, -0.4), (-1, -0.5)),
            ),
            "wing",
        )
        patterned(pile, wing, -0.4, -0.5, 0.5, 0.5)
    elif kind == 1:
        shell = pile.add(pile.blob(-0.05, -0.15, 0.75 * wide, tall, 0.03), "shell")
        patterned(pile, shell, -0.05, -0.15, 0.7 * wide, tall)
        pile.add(limb(0.1, 0.1, (-0.8 * wide, 0.1), (0, 0.35), (0.75 * wide, 0.1)), "rim")
    else:
        cloth = pile.add(oval(0, 0.0, 0.4 * wide, 0.9 * tall, 4), "cloth")
        patterned(pile, cloth, 0, 0, 0.4 * wide, 0.9 * tall)
        pile.add(oval(0, 0.1 - tall, u(0.3, 0.45) * wide, 0.12), "saddle")


BEASTS = (upright, sidelong)
