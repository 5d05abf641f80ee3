"""Reading the fields of a page that was found, and refusing what cannot be trusted."""

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from finishplan.basics.errors import InputError
from finishplan.photo.card import CardPage, Rect
from finishplan.photo.marks import Picture, Placed
from finishplan.photo.model import Field, Shot

Array = NDArray[np.float64]

GRID = 24
"""Points a side that a field is read at."""
BURNT = 0.985
"""Of full scale: paper or paint beyond it is over-exposed (JPEG keeps 2 to 3 steps of noise)."""
DARK = 0.3
"""Coded sRGB of the paper below which shadows hold too few steps (our rule)."""
GLARE = 0.06
"""How much brighter than the field's middle value a spot is that mirrors the window (our rule)."""
GLARE_SHARE = 0.05
"""A field with more of it is left out; where a fifth of the fields has it, the picture is refused."""
BLUR_MM = 0.9
"""Width over which the edge of a mark goes from black to white (10 to 90 %) in a blurred picture (our rule)."""
UNLIKE_PAPER = 0.03
"""Coded sRGB between bare paper and the lightest paint (our rule)."""


@dataclass(frozen=True, eq=False)
class Patch:
    """One rectangle as read: trimmed mean and deviation of its coded sRGB (3,), share of glaring points."""

    rgb: Array
    deviation: Array
    glare: float


def read_patch(picture: Picture, placed: Placed, rect: Rect) -> Patch:
    """The colour in a rectangle of the page; the middle four fifths of its points are averaged."""
    at = (np.arange(GRID) + 0.5) / GRID
    xs, ys = np.meshgrid(rect.x + rect.w * at, rect.y + rect.h * at)
    px = placed.pixels(np.stack([xs.ravel(), ys.ravel()], axis=1)).astype(np.float32)
    soft = max(1, round(placed.px_per_mm * rect.w / GRID))
    left, top = np.floor(px.min(axis=0)).astype(int) - 2 * soft
    right, low = np.ceil(px.max(axis=0)).astype(int) + 2 * soft + 1
    left, top = max(left, 0), max(top, 0)
    part = cv2.blur(picture[top:low, left:right], (soft, soft))
    here = px - np.array([left, top], np.float32)
    points = cv2.remap(part, here[:, 0], here[:, 1], cv2.INTER_LINEAR).reshape(-1, 3) / 255
    level = points.mean(axis=1)
    order = np.argsort(level)[len(level) // 10 : -len(level) // 10]
    middle = points[order]
    glare = float(np.mean(level > np.median(level) + GLARE))
    return Patch(middle.mean(axis=0), middle.std(axis=0), glare)


def read_page(picture: Picture, placed: Placed, where: str = "") -> Shot:
    """Every field of the page. Raises InputError for a picture too blurred, dark, bright or glaring, and for a page
    that is not painted."""
    page = placed.page
    paper = [read_patch(picture, placed, r) for r in page.paper]
    paper_rgb = np.array([p.rgb for p in paper])
    _check_light(paper_rgb, where)
    _check_sharp(picture, placed, where)
    patches = {f.field: read_patch(picture, placed, f.read) for f in page.fields}
    near = {f.field: _nearest_paper(f.read, page, paper_rgb) for f in page.fields}
    kept = tuple(f for f, p in patches.items() if p.glare <= GLARE_SHARE and not _bare(f, p, near[f]))
    _check_fields(page, patches, near, kept, where)
    middle = {f.field: (f.read.x + f.read.w / 2, f.read.y + f.read.h / 2) for f in page.fields}
    return Shot(
        kept,
        np.array([patches[f].rgb for f in kept]),
        np.array([middle[f] for f in kept]) / page.size,
        paper_rgb,
        np.array([(r.x + r.w / 2, r.y + r.h / 2) for r in page.paper]) / page.size,
    )


def _nearest_paper(rect: Rect, page: CardPage, paper_rgb: Array) -> Array:
    away = [np.hypot(r.x + r.w / 2 - rect.x - rect.w / 2, r.y + r.h / 2 - rect.y - rect.h / 2) for r in page.paper]
    result: Array = paper_rgb[int(np.argmin(away))]
    return result


def _bare(field: Field, patch: Patch, paper: Array) -> bool:
    """Whether nothing was painted there. A white may look like paper: it is never taken for bare."""
    return field.kind == "tint" and bool((np.abs(patch.rgb - paper) < UNLIKE_PAPER).all())


def _check_light(paper: Array, where: str) -> None:
    if np.median(paper.max(axis=1)) > BURNT:
        raise InputError(
            "the picture is over-exposed: the paper has lost its tone",
            where=where,
            cure="tap on the paper before you take the picture, or lower the exposure",
        )
    if np.median(paper.max(axis=1)) < DARK:
        raise InputError("the picture is too dark", where=where, cure="take it by a window in daylight, without flash")
    if paper.max(axis=1).min() < 0.45 * paper.max(axis=1).max():
        raise InputError(
            "a shadow lies over the page", where=where, cure="turn so that the light falls evenly on all of it"
        )


def _check_sharp(picture: Picture, placed: Placed, where: str) -> None:
    width = float(np.median([_edge_mm(picture, placed, m.rect) for m in placed.page.marks]))
    if width > BLUR_MM:
        raise InputError(
            f"the picture is blurred (edges {width:.1f} mm wide)",
            where=where,
            cure="hold still and let the phone focus",
        )


def _edge_mm(picture: Picture, placed: Placed, rect: Rect) -> float:
    """Width in mm of the rise from a mark's black rim to the paper on its left, 10 to 90 %."""
    along = np.linspace(-2.0, 1.2, 65)
    rows = rect.y + rect.h * np.linspace(0.25, 0.75, 9)
    mm = np.stack([np.tile(rect.x + along, len(rows)), np.repeat(rows, len(along))], axis=1)
    px = placed.pixels(mm).astype(np.float32)
    line = cv2.remap(picture, px[:, 0], px[:, 1], cv2.INTER_LINEAR).reshape(len(rows), len(along), 3)
    level = np.median(line.mean(axis=2), axis=0)
    high, low = level[:10].mean(), level[-8:].mean()
    share = (level - low) / max(high - low, 1.0)
    inside = np.flatnonzero((share > 0.1) & (share < 0.9))
    return float((inside[-1] - inside[0] + 1) * (along[1] - along[0])) if len(inside) else 0.0


def _check_fields(
    page: CardPage, patches: dict[Field, Patch], near: dict[Field, Array], kept: tuple[Field, ...], where: str
) -> None:
    glaring = sum(p.glare > GLARE_SHARE for p in patches.values())
    if glaring > len(patches) / 5:
        raise InputError(
            f"{glaring} of {len(patches)} fields glare",
            where=where,
            cure="let the light come from the side; give the card a coat of matt varnish if the paint dries glossy",
        )
    bare = [f for f, p in patches.items() if _bare(f, p, near[f])]
    white = page.fields[0].field
    if len(bare) > len(patches) / 3 or white not in kept:
        raise InputError(
            f"page {page.no} is not painted yet ({len(bare)} fields are bare)"
            if len(bare) > len(patches) / 3
            else "the white field glares",
            where=where,
            cure="paint every field as its words say and let it dry; then photograph it again",
        )
