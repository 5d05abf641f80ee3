"""From photographs to learned tubes, and from a photographed dab to its colour."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from finishplan.basics.errors import InputError
from finishplan.colour.lab import Lab
from finishplan.paint.model import Box
from finishplan.photo.chart import read_chart
from finishplan.photo.fit import learn, read_dab
from finishplan.photo.layout import CardPage
from finishplan.photo.marks import Placed, find_page
from finishplan.photo.model import Calibration, Shot
from finishplan.photo.patches import Dabs, read_page
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
    dabs: Dabs


def read_photo(path: Path, pages: Sequence[CardPage], chart: Array | None = None) -> CardPhoto:
    """The page in a photograph. chart: corners (4, 2) in pixels of a 24-patch chart lying beside it. Raises InputError,
    with the cure, for a picture that cannot be trusted."""
    picture = open_photo(path)
    placed = find_page(picture, pages, str(path))
    shot, dabs = read_page(picture, placed, str(path))
    if chart is not None:
        rgb, px, xyz = read_chart(picture, chart, str(path))
        shot = replace(shot, known_rgb=rgb, known_xy=_on_page(placed, px), known_xyz=xyz)
    return CardPhoto(path, placed, shot, dabs)


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


def dab_lab(photo: CardPhoto, mix: str, camera: Array) -> Lab:
    """L*a*b* of a mix's dab, by the camera (26,) that `learn` found for this photograph. Raises InputError where its
    square is bare or glares."""
    if mix not in photo.dabs.mixes:
        glares = mix in photo.dabs.glaring
        raise InputError(
            f"the dab of mix {mix} {'glares' if glares else 'is not painted'}",
            where=str(photo.path),
            cure="let the light come from the side" if glares else f"fill the square {mix}, let it dry, photograph it",
        )
    i = photo.dabs.mixes.index(mix)
    L, a, b = read_dab(photo.shot, camera, photo.dabs.rgb[i : i + 1], photo.dabs.xy[i : i + 1])[0].tolist()
    return L, a, b
