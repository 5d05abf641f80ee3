"""Reading the fields of a page that was found, and refusing what cannot be trusted."""

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from finishplan.basics.errors import InputError
from finishplan.photo.camera import decoded, uneven
from finishplan.photo.layout import CardPage, Rect
from finishplan.photo.marks import Picture, Placed
from finishplan.photo.model import Field, Shot

Array = NDArray[np.float64]

GRID = 24
"""Points a side that a field is read at."""
BURNT = 0.985
"""Of full scale: paper or paint beyond it is over-exposed (JPEG keeps 2 to 3 steps of noise)."""
DARK = 0.3
"""Coded sRGB of the paper below which shadows hold too few steps (our rule)."""
SHADOWED = 0.08
"""Of the light, root mean square, by which bare paper may lie beside a smooth fall of it: plain pictures have up to
0.01, a soft shadow of a fifth 0.035; a hard one of two fifths over a quarter of the page, 0.1, cost 4 (our rule)."""
GLARE = 0.06
"""How much brighter than the field's middle value a spot is that mirrors the window (our rule)."""
GLARE_SHARE = 0.05
"""A field with more of it is left out."""
MOST_GLARING = 0.2
"""Share of the fields; beyond it the picture is refused (our rule)."""
BLUR_MM = 0.9
"""Width over which the edge of a mark goes from black to white (10 to 90 %) in a blurred picture (our rule)."""
UNSURE_MM = 0.12
"""One sigma of where a field of a page that bends lies, beyond which it is left out: of those within it none lay over
0.8 mm off (tests/benchmarks/results/photo.md)."""
MOST_UNSURE = 0.35
"""Share of the fields; beyond it the picture is refused (our rule)."""
DARK_PAINT = 0.05
"""Coded sRGB beside the printed black up to which a neat paint's thin coat is as black as that (our rule)."""
UNLIKE_GROUND = 0.03
"""Coded sRGB between what is bare and the faintest paint (our rule)."""


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
    # Blurred over the distance of the points, so that each stands for its own cell and no grain is picked up.
    soft = max(1, round(placed.px_per_mm * rect.w / GRID))
    left, top = np.floor(px.min(axis=0)).astype(int) - 2 * soft
    right, low = np.ceil(px.max(axis=0)).astype(int) + 2 * soft + 1
    left, top = max(left, 0), max(top, 0)
    part = cv2.blur(picture[top:low, left:right], (soft, soft))
    here = px - np.array([left, top], np.float32)
    points = cv2.remap(part, here[:, 0], here[:, 1], cv2.INTER_LINEAR).reshape(-1, 3) / 255
    level = points.mean(axis=1)
    # A tenth off at both ends: dust and brush marks below, glints above.
    order = np.argsort(level)[len(level) // 10 : -len(level) // 10]
    middle = points[order]
    # Against the median, which a glint on part of the field does not move.
    glare = float(np.mean(level > np.median(level) + GLARE))
    return Patch(middle.mean(axis=0), middle.std(axis=0), glare)


@dataclass(frozen=True, eq=False)
class Dabs:
    """Dabs of mixes on a page: letters, coded sRGB (n, 3) 0-1, places (n, 2) 0-1 on the page; and the letters of those
    that glare, and of those that lie where the page bends too much."""

    mixes: tuple[str, ...]
    rgb: Array
    xy: Array
    glaring: tuple[str, ...]
    bent: tuple[str, ...] = ()


def read_page(picture: Picture, placed: Placed, where: str = "") -> tuple[Shot, Dabs]:
    """Every field of the page, and the dabs of mixes on it. Raises InputError for a picture too blurred, dark, bright
    or glaring, and for a page that is not painted."""
    page, unsure = placed.page, unsure_fields(placed, where)
    paper = [r for r in page.paper if placed.open_mm(np.array([r.middle]))[0] <= UNSURE_MM]
    paper_rgb = np.array([read_patch(picture, placed, r).rgb for r in paper])
    _check_light(paper_rgb, np.array([r.middle for r in paper]) / page.size, where)
    _check_sharp(picture, placed, where)
    patches = {f.field: read_patch(picture, placed, f.read) for f in page.fields}
    bare = _bare(page, patches, (np.array([r.middle for r in paper]), paper_rgb))
    _check_fields(page, patches, bare, where)
    at = {f.field: np.array(f.read.middle) / page.size for f in page.fields}
    glaring = {f for f, p in patches.items() if p.glare > GLARE_SHARE}
    good = [f for f in patches if f not in glaring | bare | unsure]
    kept, dabs = tuple(f for f in good if f.kind != "dab"), [f for f in good if f.kind == "dab"]
    dark = _dark_thin(patches)
    why = {**dict.fromkeys(bare, "bare"), **dict.fromkeys(glaring, "glares"), **dict.fromkeys(unsure, "page bends")}
    shot = Shot(
        kept,
        np.array([patches[f].rgb for f in kept]),
        np.array([at[f] for f in kept]),
        paper_rgb,
        np.array([r.middle for r in paper]) / page.size,
        left_out=tuple((f, why[f]) for f in patches if f in why and f.kind != "dab" and f not in dark),
    )
    return shot, Dabs(
        tuple(f.paint for f in dabs),
        np.array([patches[f].rgb for f in dabs]).reshape(-1, 3),
        np.array([at[f] for f in dabs]).reshape(-1, 2),
        *(tuple(f.paint for f in patches if f.kind == "dab" and f in lost) for lost in (glaring, unsure)),
    )


def unsure_fields(placed: Placed, where: str = "") -> frozenset[Field]:
    """Fields that may lie beside where they are thought: the page bends, and no mark near them tells how.
    Raises InputError for too many."""
    fields = placed.page.fields
    spots = np.array([f.read.corners for f in fields])
    open_mm = placed.open_mm(spots.reshape(-1, 2)).reshape(len(fields), -1).max(axis=1)
    found = frozenset(f.field for f, mm in zip(fields, open_mm, strict=True) if mm > UNSURE_MM)
    if len(found) > len(fields) * MOST_UNSURE or fields[0].field in found:
        raise InputError(
            "the page bends more than its marks can tell",
            where=where,
            cure="lay it flat, nothing over its marks, and photograph it from above",
        )
    return found


def _dark_thin(patches: dict[Field, Patch]) -> frozenset[Field]:
    """Thin coats of paints so dark that nobody tells them from the printed black."""
    black = next(p.rgb for f, p in patches.items() if f.kind == "bar")
    full = {f.paint: p.rgb for f, p in patches.items() if f.kind == "full"}
    dark = {paint for paint, rgb in full.items() if (np.abs(rgb - black) < DARK_PAINT).all()}
    return frozenset(f for f in patches if f.kind == "thin" and f.paint in dark)


def _bare(page: CardPage, patches: dict[Field, Patch], paper: tuple[Array, Array]) -> frozenset[Field]:
    """Fields on which nothing was painted: they look like the paper beside them, by its places in mm and colours; a
    thin coat like the printed black. A white may look like paper: it is never taken for bare."""
    # Every page begins with the white at full strength.
    white = page.fields[0].field
    black = next(p.rgb for f, p in patches.items() if f.kind == "bar")
    paper_at, paper_rgb = paper
    found = set[Field]()
    for one in page.fields:
        # The nearest bare paper: the light over the page is not even.
        nearest = int(np.argmin(np.hypot(*(paper_at - np.array(one.read.middle)).T)))
        # A thin coat lies on the printed black, so bare means as black as that.
        ground = black if one.field.kind == "thin" else paper_rgb[nearest]
        within = UNLIKE_GROUND / 2 if one.field.kind == "dab" else UNLIKE_GROUND  # a mix may be nearly white
        alike = bool((np.abs(patches[one.field].rgb - ground) < within).all())
        if alike and one.field.kind != "bar" and one.field.paint != white.paint:
            found.add(one.field)
    return frozenset(found)


def _check_light(paper: Array, xy: Array, where: str) -> None:
    if np.median(paper.max(axis=1)) > BURNT:
        raise InputError(
            "the picture is over-exposed: the paper has lost its tone",
            where=where,
            cure="tap on the paper before you take the picture, or lower the exposure",
        )
    if np.median(paper.max(axis=1)) < DARK:
        raise InputError("the picture is too dark", where=where, cure="take it by a window in daylight, without flash")
    if paper.max(axis=1).min() < 0.45 * paper.max(axis=1).max() or uneven(decoded(paper), xy) > SHADOWED:
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


def _check_fields(page: CardPage, patches: dict[Field, Patch], bare: frozenset[Field], where: str) -> None:
    glaring = {f for f, p in patches.items() if p.glare > GLARE_SHARE}
    if len(glaring) > len(patches) * MOST_GLARING:
        raise InputError(
            f"{len(glaring)} of {len(patches)} fields glare",
            where=where,
            cure="let the light come from the side; give the card a coat of matt varnish if the paint dries glossy",
        )
    if page.fields[0].field in glaring:
        raise InputError("the white field glares", where=where, cure="let the light come from the side")
    dab_page = any(f.kind == "dab" for f in patches)
    counted = {f for f in patches if f.kind in (("tint",) if dab_page else ("full", "tint"))}
    if len(bare & counted) > len(counted) / 3:
        what = "its greys are bare" if dab_page else f"{len(bare & counted)} fields are bare"
        cure = "paint every field as its words say and let it dry; then photograph it again"
        raise InputError(f"page {page.no} is not painted yet ({what})", where=where, cure=cure)
