"""A second hand: other media on other papers, other ways of shading. Nothing is shared with draw.py but the figures and
how a border is inked, so that a reading that fits only the one shows it."""

from collections.abc import Callable
from dataclasses import dataclass, replace

import cv2
import numpy as np
from scipy.ndimage import find_objects
from skimage.color import lab2rgb, rgb2lab

from .draw import Kit, cloud, finished, inked, strayed
from .truth import Layout, Sketch, borders, distance_to

PAPERS = ((252, 252, 250), (247, 244, 236), (249, 244, 233), (245, 246, 248))
Laid = tuple[np.ndarray, np.ndarray]
"""(h, w) cover 0-1 of the paint, and (h, w) change of its L*."""


@dataclass(frozen=True, eq=False)
class Region:
    """One region of a layout: its window, its pixels there, and their places (n,) x and y."""

    window: tuple[slice, slice]
    inside: np.ndarray
    x: np.ndarray
    y: np.ndarray


def each(labels: np.ndarray) -> list[Region]:
    """The regions of (h, w) labels."""
    found = []
    for number, window in enumerate(find_objects(labels), 1):
        if window is not None:
            inside = labels[window] == number
            y, x = np.nonzero(inside)
            found.append(Region(window, inside, x, y))
    return found


def handmade(kit: Kit) -> Sketch:
    """On fibrous paper, in one of five media, lines once or twice over, with gaps and of uneven pressure."""
    rng, u = kit.rng, kit.rng.uniform
    paper = np.array(PAPERS[int(rng.integers(len(PAPERS)))], float)
    ink = np.array([u(25, 75)] * 3) + rng.uniform(-6, 6, 3)
    plan, colours, wide = kit.start(u(0.0022, 0.005), ink=ink, paper=paper)
    medium = MEDIA[int(rng.integers(len(MEDIA)))]
    cover, tone = medium(rng, plan)
    missed = streaks(rng, plan, int(rng.integers(0, 7)))
    fine = strayed(rng, plan.fine, u(0.3, 1.2) * plan.unit)
    lab = rgb2lab(colours[fine] / 255)
    lab[..., 0] = np.clip(lab[..., 0] + tone, 2, 99)
    fill = 255 * lab2rgb(lab)
    filled = (fine > 0) * cover * (1 - missed)
    picture = paper + filled[..., None] * (fill - paper)
    pressure = ink + 14 * cloud(rng, plan.fine.shape, 120 * plan.unit)[..., None]
    for _ in range(1 + (u() < 0.35)):
        picture = inked(rng, plan, picture, np.clip(pressure, 5, 130), wide, gaps=True, wobble=u(0.8, 1.8))
    picture += fibres(rng, plan.fine.shape, plan.unit)[..., None]
    return replace(finished(plan, colours, picture, ink, wide), limit=8.0)


def hatched(rng: np.random.Generator, plan: Layout) -> Laid:
    """Coloured pencil: lines beside and across each other, the second way over a part of the patch only."""
    cover, tone = np.zeros(plan.fine.shape, np.float32), np.zeros(plan.fine.shape, np.float32)
    apart, pressed = rng.uniform(6, 11) * plan.unit, cloud(rng, plan.fine.shape, 160 * plan.unit)
    stray = 0.35 * cloud(rng, plan.fine.shape, 90 * plan.unit)
    for region in each(plan.fine):
        angle = rng.uniform(0, np.pi)
        bare = np.ones(len(region.x), np.float32)
        for turn in (0, rng.uniform(0.9, 1.6)):
            across = region.x * np.sin(angle + turn) - region.y * np.cos(angle + turn)
            phase = across / apart + stray[region.window][region.inside]
            line = np.clip(0.5 + 1.1 * np.cos(2 * np.pi * phase) + rng.uniform(0.45, 0.9), 0, 1)
            bare *= 1 - line * (0.9 if turn == 0 else 0.7 * (pressed[region.window][region.inside] > -0.5))
        cover[region.window][region.inside] = 1 - bare
        tone[region.window][region.inside] = 6 * bare - 2
    return np.clip(cover + 0.35, 0, 0.97), tone + 2 * pressed


def marker(rng: np.random.Generator, plan: Layout) -> Laid:
    """Felt pen: bands that overlap, darker where they do."""
    tone = np.zeros(plan.fine.shape, np.float32)
    for region in each(plan.fine):
        angle, broad = rng.uniform(0, np.pi), rng.uniform(18, 45) * plan.unit
        across = (region.x * np.sin(angle) - region.y * np.cos(angle)) / broad
        across = across + 0.12 * np.sin((region.x * np.cos(angle) + region.y * np.sin(angle)) / (3 * broad))
        share = across - np.floor(across)
        overlap = share < rng.uniform(0.1, 0.25)
        tone[region.window][region.inside] = np.where(overlap, -rng.uniform(3, 6.5), 0.6)
    return np.full(plan.fine.shape, 0.98, np.float32), cv2.GaussianBlur(tone, (0, 0), 1.2 * plan.unit)


def washed(rng: np.random.Generator, plan: Layout) -> Laid:
    """Watercolour: a hard dark rim where a wash dried, backruns, pigment in the hollows, slips of bare paper."""
    depth = distance_to(borders(plan.fine))
    wander = plan.unit * (2.5 + 2 * cloud(rng, depth.shape, 60 * plan.unit))
    rim = np.exp(-(((depth - wander) / (3.0 * plan.unit)) ** 2))
    pool = cloud(rng, depth.shape, 170 * plan.unit)
    front = np.abs(cloud(rng, depth.shape, 140 * plan.unit) + 0.15 * cloud(rng, depth.shape, 15 * plan.unit) - 1.1)
    backrun = np.exp(-((front / 0.07) ** 2))
    sunk = np.maximum(cloud(rng, depth.shape, 4 * plan.unit), 0)
    slip = np.clip((cloud(rng, depth.shape, 75 * plan.unit) - 1.9) * 3, 0, 1) * (depth < 9 * plan.unit)
    return 0.96 * (1 - slip), 4.5 * pool - rng.uniform(4, 10) * rim - 4.5 * backrun - 1.5 * sunk


def waxed(rng: np.random.Generator, plan: Layout) -> Laid:
    """Wax on laid paper: the fibres' hollows stay bare, in rows."""
    rows = np.sin(np.arange(plan.fine.shape[0]) / (2.2 * plan.unit))[:, None]
    tooth = cloud(rng, plan.fine.shape, 3.5 * plan.unit) + 0.5 * rows
    pressed = cloud(rng, plan.fine.shape, 110 * plan.unit)
    return (1 / (1 + np.exp(-5 * (tooth + 1.9 + 0.45 * pressed)))).astype(np.float32), 2.5 * tooth - 2 * pressed


def rubbed(rng: np.random.Generator, plan: Layout) -> Laid:
    """Pastel rubbed in: soft, cloudy, thin towards the rims."""
    depth = distance_to(borders(plan.fine))
    thin = 0.35 * np.exp(-depth / (7 * plan.unit)) * (0.6 + 0.4 * cloud(rng, depth.shape, 80 * plan.unit))
    grain = cloud(rng, depth.shape, 2.5 * plan.unit)
    return np.clip(0.95 - thin - 0.03 * np.abs(grain), 0, 1), 3 * cloud(rng, depth.shape, 60 * plan.unit) + 2.5 * grain


MEDIA = (hatched, marker, washed, waxed, rubbed)


def streaks(rng: np.random.Generator, plan: Layout, number: int) -> np.ndarray:
    """(h, w) 0-1: slim places, pointed at both ends, that were not filled in."""
    out = np.zeros(plan.fine.shape, np.float32)
    inside = np.flatnonzero((distance_to(borders(plan.fine)) > 12 * plan.unit).ravel() & (plan.fine > 0).ravel())
    for spot in rng.choice(inside, number) if len(inside) else ():
        y, x = divmod(int(spot), out.shape[1])
        long, turn = rng.uniform(25, 80) * plan.unit, rng.uniform(0, 180)
        size = (round(long), max(2, round(rng.uniform(2, 6) * plan.unit)))
        cv2.ellipse(out, (x, y), size, turn, 0, 360, 1.0, -1, cv2.LINE_AA)
    return out * rng.uniform(0.5, 1)


def fibres(rng: np.random.Generator, shape: tuple[int, int], unit: float) -> np.ndarray:
    """(h, w) light and dark of matted fibres, about 1.5 steps of 255."""
    flat = cv2.GaussianBlur(rng.normal(size=shape).astype(np.float32), (0, 0), sigmaX=6 * unit, sigmaY=0.8 * unit)
    steep = cv2.GaussianBlur(rng.normal(size=shape).astype(np.float32), (0, 0), sigmaX=0.8 * unit, sigmaY=6 * unit)
    both = flat + steep
    matted: np.ndarray = 1.5 * both / both.std()
    return matted


def modelled(kit: Kit) -> Sketch:
    """Soft shading of one of four kinds: round, straight, from two lights, with a lit rim; half of them dithered."""
    rng, u = kit.rng, kit.rng.uniform
    ink = np.full(3, u(0, 60)) if u() < 0.5 else None
    plan, colours, wide = kit.start(u(0.002, 0.0045) if ink is not None else 0.0, ink=ink)
    lab = rgb2lab(colours[plan.fine] / 255)
    light = LIGHTS[int(rng.integers(len(LIGHTS)))]
    deep, tint, angle = u(8, 13), u(0, 5), u(0, 2 * np.pi)
    for region in each(plan.drawn):
        shade = light(rng, region, angle)
        shade = (shade - shade.mean()) / max(np.abs(shade - shade.mean()).max(), 1e-6)
        patch = lab[region.window]
        pixels = patch[region.inside]
        pixels[:, 0] += deep * shade
        pixels[:, 2] += tint * shade  # lamplight is warm, what it leaves is cool
        patch[region.inside] = pixels
    picture = 255 * lab2rgb(np.clip(lab, [1, -127, -127], [99.5, 127, 127]))
    picture[plan.fine == 0] = colours[0]
    if ink is not None:
        picture = inked(rng, plan, picture, ink, wide)
    made = finished(plan, colours, picture, ink, wide)
    return replace(made, limit=8.0, rgb=dithered(rng, made.rgb) if u() < 0.5 else made.rgb)


def _round(rng: np.random.Generator, at: Region, angle: float) -> np.ndarray:
    """Bright about a place, dark away from it."""
    far = 0.25 * np.array([np.ptp(at.x), np.ptp(at.y)])
    x, y = at.x.mean() + far[0] * np.cos(angle), at.y.mean() + far[1] * np.sin(angle)
    away: np.ndarray = -np.hypot(at.x - x, at.y - y)
    return away


def _straight(rng: np.random.Generator, at: Region, angle: float) -> np.ndarray:
    """From one side to the other, every patch a little its own way."""
    way = angle + rng.normal(scale=0.3)
    along: np.ndarray = at.x * np.cos(way) + at.y * np.sin(way)
    return along


def _both_sides(rng: np.random.Generator, at: Region, angle: float) -> np.ndarray:
    """Lit from two sides, dark between."""
    along = _straight(rng, at, angle)
    along = 2 * (along - along.min()) / max(np.ptp(along), 1) - 1
    lit: np.ndarray = np.abs(along + 0.2) ** 1.5
    return lit


def _rim_lit(rng: np.random.Generator, at: Region, angle: float) -> np.ndarray:
    """A ball's shading, with a narrow lit rim on the dark side."""
    depth = distance_to(~np.pad(at.inside, 1))[1:-1, 1:-1][at.inside]
    along = _straight(rng, at, angle)
    along = 2 * (along - along.min()) / max(np.ptp(along), 1) - 1
    rim = np.exp(-depth / max(0.12 * depth.max(), 2))
    lit: np.ndarray = along + 0.7 * np.minimum(depth / (0.5 * depth.max()), 1) + 1.0 * rim * (along < -0.2)
    return lit


LIGHTS: tuple[Callable[[np.random.Generator, Region, float], np.ndarray], ...] = (
    _round,
    _straight,
    _both_sides,
    _rim_lit,
)


def dithered(rng: np.random.Generator, rgb: np.ndarray) -> np.ndarray:
    """With noise of one to three steps, which programs add against bands."""
    noise = rng.normal(scale=rng.uniform(1, 3), size=rgb.shape[:2])[..., None]
    return np.clip(np.rint(rgb + noise), 0, 255).astype(np.uint8)
