"""From photographs to learned tubes, and from a photographed dab to its colour."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from finishplan.basics.errors import InputError
from finishplan.colour.lab import Lab
from finishplan.paint.model import Box
from finishplan.photo.card import CardPage
from finishplan.photo.chart import read_chart
from finishplan.photo.fit import learn, read_dab
from finishplan.photo.marks import Placed, find_page
from finishplan.photo.model import Calibration, Shot
from finishplan.photo.patches import read_page, read_patch
from finishplan.photo.picture import open_photo

Array = NDArray[np.float64]

WORST_MISFIT = 4.0
"""CIEDE2000, root mean square, of fields against the learned tubes: beyond it a filter was on, paints were swapped or
the light was mixed (tests/photo/test_refusals.py)."""


@dataclass(frozen=True, eq=False)
class CardPhoto:
    """One photograph of a page, read."""

    path: Path
    placed: Placed
    shot: Shot


def read_photo(path: Path, pages: Sequence[CardPage], chart: Array | None = None) -> CardPhoto:
    """The page in a photograph. chart: corners (4, 2) in pixels of a 24-patch chart lying beside it. Raises InputError,
    with the cure, for a picture that cannot be trusted."""
    picture = open_photo(path)
    placed = find_page(picture, pages, str(path))
    shot = read_page(picture, placed, str(path))
    if chart is not None:
        rgb, px, xyz = read_chart(picture, chart, str(path))
        shot = replace(shot, known_rgb=rgb, known_xy=_on_page(placed, px), known_xyz=xyz)
    return CardPhoto(path, placed, shot)


def _on_page(placed: Placed, px: Array) -> Array:
    """(n, 2) places in the picture as shares of the page, kept within half a page of it."""
    back = np.linalg.inv(placed.H)
    xyw = np.concatenate([px, np.ones((len(px), 1))], axis=1) @ back.T
    result: Array = np.clip(xyw[:, :2] / xyw[:, 2:] / placed.page.size, -0.5, 1.5)
    return result


def learn_box(photos: Sequence[CardPhoto], box: Box) -> Calibration:
    """What the photographs of a card teach of a box's tubes.

    Raises InputError where pages are missing, or the fields do not fit any camera and tubes.
    """
    pages = {p.placed.page.no for p in photos}
    missing = set(range(1, photos[0].placed.page.pages + 1)) - pages
    if missing:
        said = ", ".join(map(str, sorted(missing)))
        raise InputError(f"page {said} of the card is missing", where="PHOTO", cure="photograph every page of the card")
    learned = learn([p.shot for p in photos], box)
    if learned.misfit > WORST_MISFIT:
        raise InputError(
            f"the fields do not fit together (colour error {learned.misfit:.1f} on average)",
            where=", ".join(str(p.path) for p in photos),
            cure="switch filters and night mode off, use one light only, check that every paint is in its field",
        )
    return learned


def dab_lab(photo: CardPhoto, place: tuple[float, float, float, float], camera: Array) -> Lab:
    """L*a*b* of a dab in a rectangle (x, y, w, h in mm) of the page, by a camera (26,) that `learn` found."""
    from finishplan.photo.card import Rect

    rect = Rect(*place)
    patch = read_patch(open_photo(photo.path), photo.placed, rect)
    middle = np.array([[rect.x + rect.w / 2, rect.y + rect.h / 2]]) / photo.placed.page.size
    L, a, b = read_dab(photo.shot, camera, patch.rgb[None], middle)[0].tolist()
    return L, a, b
