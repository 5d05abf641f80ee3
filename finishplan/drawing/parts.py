"""Parts: pieces that the background separates, layers, or the colours of a parts map; and which are alike."""

from dataclasses import dataclass

import numpy as np

from finishplan.drawing.components import boxes, components

ALIKE = 0.9
GRID = 64


@dataclass(frozen=True, eq=False)
class Pieces:
    """of_pixel: (h, w) int32, 0 outside, else part 1..n in reading order; names: n of them."""

    of_pixel: np.ndarray
    names: tuple[str, ...]


def letter_name(number: int) -> str:
    """'part A' ... 'part Z', 'part AA' ... for 0, 1, ..."""
    letters = ""
    number += 1
    while number:
        number, rest = divmod(number - 1, 26)
        letters = chr(65 + rest) + letters
    return f"part {letters}"


def pieces_by_background(figure: np.ndarray, least: float, top: float, tall: float) -> tuple[Pieces, int]:
    """(the pieces of an (h, w) bool figure that hang together, corners included; how many smaller than `least` pixels
    were left out). top, tall: where the figure's first row lies on the sheet, and the sheet's height, pixels."""
    marked, n = components(figure, corners=True)
    count = np.bincount(marked.ravel(), minlength=n + 1)
    kept = [i for i in range(1, n + 1) if count[i] >= least]
    found = boxes(marked, n)
    ordered = reading_order([(found[i - 1][1].start, found[i - 1][0].start + top) for i in kept], tall)
    table = np.zeros(n + 1, np.int32)
    for number, i in enumerate(ordered, 1):
        table[kept[i]] = number
    return Pieces(table.take(marked), tuple(letter_name(i) for i in range(len(kept)))), n - len(kept)


def pieces_by_mask(figure: np.ndarray, named: list[tuple[str, np.ndarray]], top: float, tall: float) -> Pieces:
    """Each pixel of an (h, w) bool figure to the named (h, w) bool mask that holds it, else to the nearest one; masks
    off the figure come last. top, tall: as for pieces_by_background."""
    from skimage.segmentation import expand_labels

    held = np.zeros(figure.shape, np.int32)
    for number, (_, mask) in enumerate(named, 1):
        held[mask & figure] = number
    filled = np.where(figure, expand_labels(held, sum(held.shape)), 0)  # type: ignore[no-untyped-call]
    present = [i for i in range(1, len(named) + 1) if (filled == i).any()]
    tops = [tuple(int(v.min()) for v in np.nonzero(filled == i)[::-1]) for i in present]
    ordered = reading_order([(x, y + top) for x, y in tops], tall)
    table = np.zeros(len(named) + 1, np.int32)
    for number, i in enumerate(ordered, 1):
        table[present[i]] = number
    order = [present[i] for i in ordered] + [i for i in range(1, len(named) + 1) if i not in present]
    return Pieces(table[filled], tuple(named[i - 1][0] for i in order))


def reading_order(corners: list[tuple[float, float]], height: float) -> list[int]:
    """Indices of (x, y) points by rows from the top, each row from the left; a row is a twelfth of the height."""
    band = max(height / 12, 1)
    return sorted(range(len(corners)), key=lambda i: (corners[i][1] // band, corners[i][0], corners[i][1]))


def twins(of_pixel: np.ndarray, colour: np.ndarray, n: int) -> list[tuple[int | None, bool]]:
    """For each part 1..n: (number of an earlier part of the same shape and colours or None, mirrored).

    of_pixel: (h, w) int, the part at each pixel, 0 outside; colour: (h, w) int, the palette index there.
    """
    seen: dict[int, tuple[tuple[int, int], np.ndarray]] = {}
    found: list[tuple[int | None, bool]] = []
    for number, box in enumerate(boxes(of_pixel, n), 1):
        crop = np.where(of_pixel[box] == number, colour[box] + 1, 0)
        if not crop.size:
            found.append((None, False))
            continue
        rows = (np.arange(GRID) * crop.shape[0] / GRID).astype(int)
        columns = (np.arange(GRID) * crop.shape[1] / GRID).astype(int)
        here = crop[rows][:, columns]
        match: tuple[int | None, bool] = (None, False)
        for earlier, (shape, other) in seen.items():
            if max(abs(a / b - 1) for a, b in zip(crop.shape, shape, strict=True)) > 0.08:
                continue
            # As it is, mirrored, or turned by half: a quarter turn would have changed its box.
            for mirrored, view in ((False, other), (True, other[:, ::-1]), (False, other[::-1, ::-1])):
                either = (here > 0) | (view > 0)
                if (here == view)[either].mean() >= ALIKE:
                    match = (earlier, mirrored)
                    break
            if match[0] is not None:
                break
        seen[number] = (crop.shape[0], crop.shape[1]), here
        found.append(match)
    return found
