"""A third hand: paper with a ruling, a tooth or a colour of its own, layers of pencil, washes that bleed, pens that
skip, fills that miss their outlines. Nothing is shared with the other two but the figures and how a border is inked."""

from collections.abc import Callable
from dataclasses import dataclass, replace

import cv2
import numpy as np
from skimage.color import lab2rgb, rgb2lab

from .draw import Kit, cloud, finished, inked, strayed
from .handmade import each
from .truth import FINE, Layout, Sketch, borders, distance_to

PAPERS = {
    "white": (250, 250, 249),
    "cream": (248, 242, 226),
    "squared": (251, 251, 250),
    "lined": (250, 249, 246),
    "rough": (247, 246, 242),
    "kraft": (196, 165, 125),
}
PENS = {
    "ball pen": (52, 66, 150),
    "graphite": (88, 88, 92),
    "fine liner": (30, 30, 34),
    "brown ink": (92, 58, 36),
}


@dataclass(frozen=True, eq=False)
class Laid:
    """cover: (h, w) 0-1 of the paint; tone: (h, w) change of its L*; shows: share of the paper's own marks that are
    seen through it."""

    cover: np.ndarray
    tone: np.ndarray
    shows: float = 0.1


def otherhand(kit: Kit) -> Sketch:
    """By any of six media, on any of six papers, with any of four pens."""
    rng, u = kit.rng, kit.rng.uniform
    medium = MEDIA[int(rng.integers(len(MEDIA)))]
    # On brown paper only what covers has the colour of its own stick.
    name = str(rng.choice([*PAPERS] if medium is opaque else [*PAPERS][:-1]))
    paper, ink = np.array(PAPERS[name], float), np.array(PENS[str(rng.choice([*PENS]))], float)
    plan, colours, wide = kit.start(u(0.0018, 0.0045), ink=ink, paper=paper)
    laid = medium(rng, plan)
    spilt = strayed(rng, _moved(rng, plan) if u() < 0.3 else plan.fine, u(0.3, 2.0) * plan.unit)
    lab = rgb2lab(colours[spilt] / 255)
    lab[..., 0] = np.clip(lab[..., 0] + laid.tone, 2, 99)
    filled = ((spilt > 0) * laid.cover)[..., None]
    sheet = paper * (1 + tooth(rng, plan, 0.02 if name == "rough" else 0.007))[..., None]
    ruling = ruled(rng, plan, name)
    picture = sheet + filled * (255 * lab2rgb(lab) - sheet)
    picture *= 1 - ruling * (1 - filled * (1 - laid.shows))
    pen = ink * (1 + 0.18 * cloud(rng, plan.fine.shape, 40 * plan.unit))[..., None]
    picture = inked(rng, plan, picture, np.clip(pen, 5, 170), wide, gaps=True, wobble=u(0.6, 1.6))
    return replace(finished(plan, colours, picture, ink, wide), limit=8.0)


def _moved(rng: np.random.Generator, plan: Layout) -> np.ndarray:
    """(h, w) int32: the regions some pixels aside of where their outlines are."""
    aside = rng.uniform(-5, 5, 2) * plan.unit
    height, width = plan.fine.shape
    move = np.float32([[1, 0, aside[0]], [0, 1, aside[1]]])
    return cv2.warpAffine(plan.fine.astype(np.float32), move, (width, height), flags=cv2.INTER_NEAREST).astype(np.int32)


def tooth(rng: np.random.Generator, plan: Layout, deep: float) -> np.ndarray:
    """(h, w) light and dark of a paper's surface, lit from a side."""
    hills = cloud(rng, plan.fine.shape, 7 * plan.unit)
    lit: np.ndarray = deep * (hills - np.roll(hills, round(2 * plan.unit), (0, 1)))
    return lit


def ruled(rng: np.random.Generator, plan: Layout, paper: str) -> np.ndarray:
    """(h, w, 3) share of the light that a printed ruling takes: 5 mm squares or lines 8 mm apart, on A5 to A4."""
    out = np.zeros((*plan.fine.shape, 3), np.float32)
    if paper not in ("squared", "lined"):
        return out
    millimetre = 1600 * plan.unit / rng.uniform(200, 290)
    apart, wide = (5 if paper == "squared" else 8) * millimetre, max(1, round(0.25 * millimetre))
    blue = np.float32([0.32, 0.2, 0.06]) * rng.uniform(0.5, 1.1)
    for at in np.arange(rng.uniform(0, apart), plan.fine.shape[0], apart).round().astype(int):
        out[at : at + wide] = blue
    if paper == "squared":
        for at in np.arange(rng.uniform(0, apart), plan.fine.shape[1], apart).round().astype(int):
            out[:, at : at + wide] = blue
    else:
        at = round(rng.uniform(0.08, 0.14) * plan.fine.shape[1])
        out[:, at : at + wide] = np.float32([0.1, 0.4, 0.35])
    return cv2.GaussianBlur(out, (0, 0), 0.7 * FINE)


def layered(rng: np.random.Generator, plan: Layout) -> Laid:
    """Coloured pencil in layers: light all over, harder towards one side; the tooth shows where it was light."""
    grain = cloud(rng, plan.fine.shape, 3 * plan.unit) + 0.4 * cloud(rng, plan.fine.shape, 1.5 * plan.unit)
    pressed = np.zeros(plan.fine.shape, np.float32)
    for region in each(plan.fine):
        way = rng.uniform(0, 2 * np.pi)
        along = region.x * np.cos(way) + region.y * np.sin(way)
        pressed[region.window][region.inside] = (along - along.min()) / max(np.ptp(along), 1)
    cover = 1 / (1 + np.exp(-3.5 * (grain + 1.1 + 1.3 * pressed)))
    return Laid(cover.astype(np.float32), -5 * pressed + 2 * grain, 0.4)


def bleeding(rng: np.random.Generator, plan: Layout) -> Laid:
    """Watercolour: hard edges where washes dried over each other, cauliflowers, pale pools."""
    depth = distance_to(borders(plan.fine))
    edge = np.exp(-depth / (rng.uniform(2, 4) * plan.unit)) * (0.6 + 0.4 * cloud(rng, depth.shape, 90 * plan.unit))
    tone = 3.5 * cloud(rng, depth.shape, 130 * plan.unit) - rng.uniform(5, 11) * np.clip(edge, 0, 1.3)
    for _ in range(int(rng.integers(2, 7))):
        y, x = np.mgrid[: depth.shape[0], : depth.shape[1]].astype(np.float32)
        away = np.hypot(x - rng.uniform(0, depth.shape[1]), y - rng.uniform(0, depth.shape[0]))
        away = away / (rng.uniform(40, 110) * plan.unit) + 0.25 * cloud(rng, depth.shape, 25 * plan.unit)
        tone += 4 * np.clip(1 - away, 0, 1) - 5 * np.exp(-(((away - 1) / 0.06) ** 2))
    return Laid(np.full(depth.shape, 0.97, np.float32), tone, 0.7)


def felt(rng: np.random.Generator, plan: Layout) -> Laid:
    """Felt pen: strokes laid beside each other, unevenly, twice over where they turn; slits left bare."""
    tone, bare = (np.zeros(plan.fine.shape, np.float32) for _ in range(2))
    for region in each(plan.fine):
        way, broad = rng.uniform(0, np.pi), rng.uniform(14, 30) * plan.unit
        across = (region.x * np.sin(way) - region.y * np.cos(way)) / broad
        across = across + 0.25 * np.sin((region.x * np.cos(way) + region.y * np.sin(way)) / (7 * broad))
        band = np.floor(across).astype(int)
        ends = rng.uniform(-0.25, 0.5, band.max() - band.min() + 2)[band - band.min()]
        share = across - band
        tone[region.window][region.inside] = np.where(share < np.maximum(ends, 0), -rng.uniform(3, 7), 0.5)
        bare[region.window][region.inside] = (ends < -0.21) & (share < 0.12)
    turned = distance_to(borders(plan.fine)) < 6 * plan.unit
    tone -= 3 * turned * (cloud(rng, plan.fine.shape, 20 * plan.unit) > 0.4)
    tone, bare = (cv2.GaussianBlur(k, (0, 0), 1.3 * plan.unit) for k in (tone, bare))
    return Laid(0.98 - 0.8 * bare, tone, 0.7)


def waxy(rng: np.random.Generator, plan: Layout) -> Laid:
    """Wax crayon on rough paper: a fifth of it stays bare in flecks, strokes run across the patch."""
    hills = cloud(rng, plan.fine.shape, 5.5 * plan.unit)
    swept = np.zeros(plan.fine.shape, np.float32)
    for region in each(plan.fine):
        way = rng.uniform(0, np.pi)
        across = (region.x * np.sin(way) - region.y * np.cos(way)) / (rng.uniform(10, 18) * plan.unit)
        swept[region.window][region.inside] = np.sin(across + 2 * rng.random())
    cover = 1 / (1 + np.exp(-5 * (hills + rng.uniform(1.0, 1.6) + 0.35 * swept)))
    return Laid((0.96 * cover).astype(np.float32), 2 * hills + 1.5 * swept, 0.2)


def opaque(rng: np.random.Generator, plan: Layout) -> Laid:
    """Gouache or paint pens: covers, with the bristles' streaks and a dry end here and there."""
    bristles = np.zeros(plan.fine.shape, np.float32)
    fine = cloud(rng, plan.fine.shape, 60 * plan.unit)
    for region in each(plan.fine):
        way = rng.uniform(0, np.pi)
        across = (region.x * np.sin(way) - region.y * np.cos(way)) / (2.2 * plan.unit)
        bristles[region.window][region.inside] = np.sin(across + 3 * fine[region.window][region.inside])
    dry = np.clip((cloud(rng, plan.fine.shape, 90 * plan.unit) - 1.8) * 2, 0, 1) * (bristles > 0.3)
    return Laid(0.99 - 0.5 * dry, 1.6 * bristles + 1.5 * fine, 0.0)


MEDIA: tuple[Callable[[np.random.Generator, Layout], Laid], ...] = (layered, bleeding, felt, waxy, opaque, layered)
