"""General-purpose quantisers told the true number of colours, to compare with: what they list beside paper and ink."""

from collections.abc import Callable

import numpy as np
from PIL import Image
from scipy.cluster.vq import kmeans2
from skimage.color import lab2rgb, rgb2lab

from .generator import Drawn, difference


def median_cut(rgb: np.ndarray, colours: int, drawn: Drawn) -> np.ndarray:
    """(k, 3) Pillow's median cut."""
    done = Image.fromarray(rgb).quantize(colours, Image.Quantize.MEDIANCUT)
    palette = np.array(done.getpalette()).reshape(-1, 3)[: len(done.getcolors() or [])]
    return _without_paper_and_ink(palette, rgb, drawn)


def kmeans_lab(rgb: np.ndarray, colours: int, drawn: Drawn) -> np.ndarray:
    """(k, 3) k-means in CIE Lab on every twentieth pixel, started by k-means++."""
    lab = rgb2lab(rgb.reshape(1, -1, 3)[:, ::20] / 255)[0]
    centres, _ = kmeans2(lab, colours, minit="++", seed=np.random.default_rng(0))
    palette = np.rint(255 * lab2rgb(centres[None])[0])
    return _without_paper_and_ink(palette, rgb, drawn)


def _without_paper_and_ink(palette: np.ndarray, rgb: np.ndarray, drawn: Drawn) -> np.ndarray:
    """The entry nearest to the paper as it looks in the picture, and that nearest to the ink, are set aside."""
    paper = np.median(rgb[drawn.regions == 0], axis=0)
    for known in (paper, drawn.ink):
        if known is not None and len(palette):
            palette = np.delete(palette, difference(palette, known[None])[:, 0].argmin(), axis=0)
    return palette


QUANTISERS: dict[str, Callable[[np.ndarray, int, Drawn], np.ndarray]] = {
    "median cut": median_cut,
    "k-means in Lab": kmeans_lab,
}
