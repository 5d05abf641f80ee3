"""From photographs to learned tubes, and from a photographed dab to its colour."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from finishplan.basics.errors import InputError
from finishplan.basics.words import listed
from finishplan.colour.light import delta_e
from finishplan.paint.model import Box
from finishplan.photo.chart import read_beside, read_chart
from finishplan.photo.fit import learn, read_dab
from finishplan.photo.layout import CardPage
from finishplan.photo.marks import Picture, Placed, find_page
from finishplan.photo.model import Calibration, DabColour, Shot
from finishplan.photo.patches import Dabs, read_page
from finishplan.photo.picture import open_photo
from finishplan.photo.unknown import begun, begun_box

Array = NDArray[np.float64]

WORST_MISFIT = 2.2
"""CIEDE2000, root mean square, of fields against the learned tubes: plain photographs have 0.9 to 1.5
(tests/benchmarks/results/photo.md; the bound is our rule)."""
ODD_CAMERA = 42.6
"""Squared distance of a picture's 32 numbers from the usual phone's, exceeded once in ten at random (chi-square of 32):
a filter was on. Plain photographs, whose numbers the prior holds, have 4 to 28 (tests/benchmarks/results/photo.md)."""
ODD_TUBE = 27.9
"""The same of a tube's six, exceeded once in ten thousand (chi-square of 6): paints were
swapped (our rule)."""
NEAR = 0.3
"""Of the page's sides: how far beyond its edge the light on it still tells that on a dab (our rule)."""
CAMERA_LEAVES = 1.5
"""CIEDE2000, one sigma, that a phone's 32 numbers and tubes painted by hand leave of a dab: at 1.2, what the prior's
fits leave, dabs were off by 1.3 times what was told (tests/benchmarks/bench_photo.py)."""


@dataclass(frozen=True, eq=False)
class CardPhoto:
    """One photograph of a page, read. beside: coded sRGB (1, 3) and place (1, 2), in shares of the page, of a dab that
    lies beside it, where one was told."""

    path: Path
    placed: Placed
    shot: Shot
    dabs: Dabs
    beside: tuple[Array, Array] | None = None


def read_photo(
    path: Path, pages: Sequence[CardPage], chart: Array | None = None, dab: Array | None = None
) -> CardPhoto:
    """The page in a photograph. chart, dab: corners (4, 2) in pixels of a 24-patch chart, of a dab lying beside it.
    Raises InputError, with the cure, for a picture that cannot be trusted."""
    picture = open_photo(path)
    placed = find_page(picture, pages, str(path))
    shot, dabs = read_page(picture, placed, str(path))
    if chart is not None:
        rgb, px, xyz = read_chart(picture, chart, str(path))
        shot = replace(shot, known_rgb=rgb, known_xy=_on_page(placed, px), known_xyz=xyz)
    return CardPhoto(path, placed, shot, dabs, None if dab is None else _beside(picture, placed, dab, str(path)))


def _beside(picture: Picture, placed: Placed, corners: Array, where: str) -> tuple[Array, Array]:
    rgb, px = read_beside(picture, corners, where)
    xy = _on_page(placed, px[None])
    if (xy < -NEAR).any() or (xy > 1 + NEAR).any():
        raise InputError("the dab lies too far from the card", where=where, cure="lay it against the card's edge")
    return rgb[None], xy


def _on_page(placed: Placed, px: Array) -> Array:
    """(n, 2) places in the picture as shares of the page, kept within half a page of it."""
    back = np.linalg.inv(placed.view.H)
    xyw = np.concatenate([px, np.ones((len(px), 1))], axis=1) @ back.T
    result: Array = np.clip(xyw[:, :2] / xyw[:, 2:] / placed.page.size, -0.5, 1.5)
    return result


def learn_box(photos: Sequence[CardPhoto], box: Box) -> Calibration:
    """What the photographs of a card teach of a box's tubes.

    Raises InputError where pages are missing, or the fields do not fit any camera and tubes.
    """
    if len({p.placed.page.size for p in photos}) > 1:
        raise InputError("cards on unlike paper", where="PHOTO", cure="read each card by itself")
    pages = {p.placed.page.no for p in photos}
    missing = set(range(1, photos[0].placed.page.pages + 1)) - pages
    if missing:
        said = listed([*map(str, sorted(missing))], most=24)
        what = f"page {said} of the card is missing" if len(missing) == 1 else f"pages {said} of the card are missing"
        raise InputError(what, where="PHOTO", cure="photograph every page of the card")
    learned = _learned(photos, box)
    shots = [p.shot for p in photos]
    starts = begun(shots, learned, box)
    if not starts:
        return learned
    again = _learned(photos, begun_box(box, starts))
    tubes = (replace(t, begun=s.name) if (s := starts.get(t.paint.id)) else t for t in again.tubes)
    return replace(again, tubes=tuple(tubes))


def _learned(photos: Sequence[CardPhoto], box: Box) -> Calibration:
    learned = learn([p.shot for p in photos], box)
    where = ", ".join(str(p.path) for p in photos)
    if max(learned.odd) > ODD_CAMERA or learned.misfit > WORST_MISFIT:
        raise InputError(
            "its colours are not those of a plain photograph of these paints",
            where=where,
            cure="switch off filters, effects and night mode, use one light only, put every paint in its own field",
        )
    odd = [t.paint.name for t in learned.tubes if t.odd > ODD_TUBE and t.paint.swatch_off is None]
    if odd:
        raise InputError(
            f"{listed(odd, most=4)}: not the colour that any such tube has",
            where=where,
            cure="look whether paints were swapped, or a tint made too strong, and paint those fields again",
        )
    return learned


def read_dabs(photos: Sequence[CardPhoto], mix: str, box: Box) -> DabColour:
    """The colour of a mix's dab over photographs of its page, the mean of them.

    Raises InputError where its square is on none of them, bare or glaring, and where the references do not fit.
    """
    here = [p for p in photos if any(f.field.paint == mix for f in p.placed.page.fields if f.field.kind == "dab")]
    if not here:
        raise InputError(f"no photograph shows mix {mix}", where="PHOTO", cure="photograph the page with its square")
    return _mean_colour(here, [_dab(p, mix) for p in here], box)


def read_dab_beside(photo: CardPhoto, box: Box) -> DabColour:
    """The colour of the dab that lies beside the card. Raises InputError where the references do not fit."""
    assert photo.beside is not None, "read_photo was told no dab"
    return _mean_colour([photo], [photo.beside], box)


def _mean_colour(photos: Sequence[CardPhoto], dabs: Sequence[tuple[Array, Array]], box: Box) -> DabColour:
    """Of dabs, one a photograph: coded sRGB (1, 3) and places (1, 2)."""
    learned = _learned(photos, box)
    colours, squares = list[Array](), list[float]()
    for photo, (rgb, xy), camera, loose in zip(photos, dabs, learned.cameras, learned.loose, strict=True):
        lab = read_dab(photo.shot, camera, rgb, xy)
        colours.append(lab[0])
        squares.append(sum(float(delta_e(read_dab(photo.shot, c, rgb, xy), lab)[0]) ** 2 for c in loose))
    L, a, b = np.mean(colours, axis=0).tolist()
    shown = {f.paint for p in photos for f in p.shot.fields}
    tubes = tuple(t.paint for t in learned.tubes if t.paint.id in shown)
    return DabColour((L, a, b), float(np.sqrt(CAMERA_LEAVES**2 + np.mean(squares) / len(photos))), tubes)


def _dab(photo: CardPhoto, mix: str) -> tuple[Array, Array]:
    """Coded sRGB (1, 3) and place (1, 2) of a mix's dab."""
    if mix not in photo.dabs.mixes:
        what, cure = "is not painted", f"fill the square {mix}, let it dry, photograph it"
        if mix in photo.dabs.bent:
            what, cure = "lies where the page bends", "lay the page flat, nothing over its marks"
        elif mix in photo.dabs.glaring:
            what, cure = "glares", "let the light come from the side"
        raise InputError(f"the dab of mix {mix} {what}", where=str(photo.path), cure=cure)
    i = photo.dabs.mixes.index(mix)
    return photo.dabs.rgb[i : i + 1], photo.dabs.xy[i : i + 1]
