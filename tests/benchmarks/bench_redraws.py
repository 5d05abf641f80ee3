"""How surely the areas of a job are found again when the drawing is drawn again.

    python tests/benchmarks/bench_redraws.py [--drawings 20] [--seed 0] [--size 900]

Drawings of random patches, each redrawn in every way; the true region of every pixel goes along. Work on seeds below
1000; those from 1000 on are held out, for reporting. Every area of the first reading counts as edited: an edit is right
where it lies on the area that now shows the same region. Prints, for each way, with the map of the first reading and
without it (its file was deleted): the edits that are right, of those whose region is still there; those lost; those
wrong and told as doubtful; those wrong and silent; those right that are told as doubtful; the longest matching.
"""

import argparse
import io
import sys
import tempfile
import time
import warnings
from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
warnings.filterwarnings("ignore")

import numpy as np  # noqa: E402
from drawing.generator import Drawn, border_lengths, difference, draw, photo, scan  # noqa: E402
from PIL import Image  # noqa: E402
from scipy import ndimage  # noqa: E402
from skimage.color import lab2rgb, rgb2lab  # noqa: E402

from finishplan.basics.errors import InputError  # noqa: E402
from finishplan.drawing import read_drawing  # noqa: E402
from finishplan.drawing.matching import match  # noqa: E402
from finishplan.drawing.model import Drawing, marks_of  # noqa: E402
from finishplan.drawing.registration import small_map  # noqa: E402

LEAST_SEEN = 0.6
"""Of a reading's area that must be of one region, and of the region that must lie in it, to count as its area."""


def patches(drawn: Drawn, seed: int, count: int = 2) -> Drawn:
    """New discs of new colours, well inside some region."""
    rng = np.random.default_rng([seed, 11])
    rgb, regions, colours = drawn.rgb.copy(), drawn.regions.copy(), drawn.colours
    for _ in range(count):
        depth = ndimage.distance_transform_edt(np.pad(regions > 0, 1))[1:-1, 1:-1]
        radius = rng.uniform(0.03, 0.06) * max(regions.shape)
        room = np.flatnonzero((depth > 0.8 * radius).ravel())
        if not len(room):
            continue
        cy, cx = divmod(int(rng.choice(room)), regions.shape[1])
        y, x = np.ogrid[: regions.shape[0], : regions.shape[1]]
        disc = ((x - cx) ** 2 + (y - cy) ** 2 <= radius**2) & (regions > 0)
        offered = rng.integers(20, 236, (60, 3)).astype(float)
        colour = offered[difference(offered, colours).min(1).argmax()]
        rgb[disc], regions[disc] = colour, len(colours)
        colours = np.concatenate([colours, colour[None]])
    return replace(drawn, rgb=rgb, regions=regions, colours=colours)


def removed(drawn: Drawn, seed: int) -> Drawn:
    """One region painted over in the colour of a neighbour."""
    rng = np.random.default_rng([seed, 12])
    pairs = sorted(border_lengths(drawn.regions))
    if not pairs:
        return drawn
    gone, stays = (int(i) for i in rng.permutation(pairs[int(rng.integers(len(pairs)))]))
    mask = ndimage.binary_dilation(drawn.regions == gone, iterations=int(drawn.ink_px / 2) + 1) & (
        (drawn.regions == gone) | (drawn.regions == stays)
    )
    rgb, regions = drawn.rgb.copy(), drawn.regions.copy()
    rgb[mask] = drawn.colours[stays]
    regions[drawn.regions == gone] = stays
    return replace(drawn, rgb=rgb, regions=regions)


def added_and_removed(drawn: Drawn, seed: int) -> Drawn:
    """Both at once."""
    return patches(removed(drawn, seed), seed)


def moved(drawn: Drawn, seed: int) -> Drawn:
    """One piece moved by 15 % of the page, on a page wide enough."""
    rng = np.random.default_rng([seed, 13])
    height, width = drawn.regions.shape
    pieces, n = ndimage.label(ndimage.binary_dilation(drawn.regions > 0, iterations=3))
    by = round(0.15 * max(height, width))
    way = rng.uniform(0, 2 * np.pi)
    dy, dx = round(by * np.sin(way)), round(by * np.cos(way))
    one = pieces == int(rng.integers(1, n + 1))
    pad = by
    rgb = np.pad(np.where(one[..., None], drawn.colours[0], drawn.rgb), ((pad, pad), (pad, pad), (0, 0)), mode="edge")
    regions = np.pad(np.where(one, 0, drawn.regions), pad)
    y, x = np.nonzero(one)
    free = ~ndimage.binary_dilation(regions > 0, iterations=12)[y + pad + dy, x + pad + dx]
    if not free.all():  # out of the way of the others: along the page
        dy, dx = (by if dy >= 0 else -by), 0
    rgb[y + pad + dy, x + pad + dx] = drawn.rgb[y, x]
    regions[y + pad + dy, x + pad + dx] = drawn.regions[y, x]
    return replace(drawn, rgb=rgb.astype(np.uint8), regions=regions)


def scaled(by: float) -> Callable[[Drawn, int], Drawn]:
    """The whole page larger or smaller."""

    def made(drawn: Drawn, seed: int) -> Drawn:
        size = tuple(round(s * by) for s in drawn.picture.size)
        rgb = np.asarray(drawn.picture.resize(size, Image.Resampling.LANCZOS))
        regions = Image.fromarray(drawn.regions.astype(np.int32)).resize(size, Image.Resampling.NEAREST)
        return replace(drawn, rgb=rgb, regions=np.asarray(regions).astype(int))

    return made


def cropped(drawn: Drawn, seed: int) -> Drawn:
    """The paper cut off close to the figure, and a twentieth of the figure on one side."""
    rows, columns = np.nonzero(drawn.regions)
    cut = (columns.max() - columns.min()) // 20
    box = np.s_[max(rows.min() - 12, 0) : rows.max() + 12, columns.min() + cut : columns.max() + 12]
    return replace(drawn, rgb=np.ascontiguousarray(drawn.rgb[box]), regions=np.ascontiguousarray(drawn.regions[box]))


def recoloured(drawn: Drawn, seed: int) -> Drawn:
    """Every colour CIEDE2000 5 away, all in one direction."""
    rng = np.random.default_rng([seed, 14])
    way = rng.normal(size=3) * (1, 1, 1)
    way /= np.linalg.norm(way)
    lab = rgb2lab(drawn.rgb / 255)
    inside = (drawn.regions > 0)[..., None]
    least, most = 0.0, 40.0
    for _ in range(20):
        step = (least + most) / 2
        far = np.diag(
            difference(drawn.colours[1:], 255 * lab2rgb(rgb2lab(drawn.colours[None, 1:] / 255) + step * way)[0])
        )
        least, most = (step, most) if np.median(far) < 5 else (least, step)
    rgb = np.where(inside, 255 * lab2rgb(np.clip(lab + least * way, [0, -128, -128], [100, 127, 127])), drawn.rgb)
    return replace(drawn, rgb=np.clip(np.rint(rgb), 0, 255).astype(np.uint8))


def as_jpeg(drawn: Drawn, seed: int) -> Drawn:
    """JPEG of quality 85."""
    out = io.BytesIO()
    drawn.picture.save(out, "JPEG", quality=85)
    return replace(drawn, rgb=np.asarray(Image.open(out).convert("RGB")))


WAYS: dict[str, Callable[[Drawn, int], Drawn]] = {
    "two patches added": patches,
    "one removed": removed,
    "two added, one removed": added_and_removed,
    "a piece moved 15 %": moved,
    "page scaled 0.7": scaled(0.7),
    "page scaled 1.4": scaled(1.4),
    "cropped": cropped,
    "colours 5 away": recoloured,
    "PNG to JPEG 85": as_jpeg,
    "scanned": scan,
    "photographed": photo,
}


def read(drawn: Drawn, folder: Path, lossy: bool) -> Drawing:
    """Its reading."""
    path = folder / f"a.{'jpg' if lossy else 'png'}"
    drawn.picture.save(path, **({"quality": 95} if lossy else {}))
    return read_drawing(path)


def overlaps(drawing: Drawing, regions: np.ndarray) -> np.ndarray:
    """(areas + 1, regions + 1) pixels in common, at the reading's scale."""
    height, width = drawing.labels.shape
    x = np.clip((drawing.origin[0] + (np.arange(width) + 0.5) / drawing.scale).astype(int), 0, regions.shape[1] - 1)
    y = np.clip((drawing.origin[1] + (np.arange(height) + 0.5) / drawing.scale).astype(int), 0, regions.shape[0] - 1)
    there = regions[y][:, x]
    most = int(regions.max()) + 1
    code = drawing.labels.astype(np.int64) * most + there
    return np.bincount(code.ravel(), minlength=(len(drawing.areas) + 1) * most).reshape(-1, most)


def region_of(table: np.ndarray) -> dict[int, int]:
    """Area -> the region it shows, where that is clear."""
    found = {}
    for area in range(1, len(table)):
        region = int(table[area, 1:].argmax()) + 1 if table.shape[1] > 1 else 0
        if table[area].sum() and table[area, region] > LEAST_SEEN * table[area].sum():
            found[area] = region
    return found


def judged(first: Drawing, before: np.ndarray, then: Drawing, after: np.ndarray, with_map: bool) -> Counter[str]:
    """How the edits of the first reading fare on the second."""
    shows, now = region_of(overlaps(first, before)), overlaps(then, after)
    shown_now = region_of(now)
    begun = time.process_time()
    found = match(marks_of(first), small_map(first) if with_map else None, then)
    took = time.process_time() - begun
    to, doubtful = dict(found.found), set(found.doubtful)
    score: Counter[str] = Counter()
    for area, region in shows.items():
        homes = [a for a, r in shown_now.items() if r == region] if region < now.shape[1] else []
        there = bool(homes) and sum(now[a, region] for a in homes) > LEAST_SEEN * max(now[:, region].sum(), 1)
        hit = to.get(area)
        score["edits"] += int(there)
        score["right"] += int(there and hit in homes)
        score["right, told doubtful"] += int(there and hit in homes and area in doubtful)
        score["lost"] += int(there and hit is None)
        holds = hit is not None and region < now.shape[1] and now[hit, region] > 0.5 * max(now[:, region].sum(), 1)
        wrong = hit is not None and hit not in homes and not holds
        score["wrong, told"] += int(wrong and area in doubtful)
        score["wrong, silent"] += int(wrong and area not in doubtful)
    score["ms"] = round(1000 * took)
    return score


def main() -> None:
    """The table."""
    options = argparse.ArgumentParser()
    options.add_argument("--drawings", type=int, default=20)
    options.add_argument("--seed", type=int, default=0)
    options.add_argument("--size", type=int, default=900)
    options.add_argument("--ways", default="")
    asked = options.parse_args()
    wanted = [w for w in WAYS if not asked.ways or any(said in w for said in asked.ways.split(","))]
    totals = {(way, kept): Counter[str]() for way in wanted for kept in (True, False)}
    with tempfile.TemporaryDirectory() as folder:
        for seed in range(asked.seed, asked.seed + asked.drawings):
            drawn = draw(seed, (asked.size, round(0.8 * asked.size)))
            first = read(drawn, Path(folder), False)
            for way in wanted:
                again = WAYS[way](drawn, seed)
                try:
                    then = read(again, Path(folder), way in ("PNG to JPEG 85", "scanned", "photographed"))
                except InputError as error:
                    print(f"seed {seed}, {way}: {error}", file=sys.stderr)
                    continue
                for kept in (True, False):
                    score = judged(first, drawn.regions, then, again.regions, kept)
                    longest = max(score.pop("ms"), totals[way, kept]["ms"])
                    totals[way, kept].update(score)
                    totals[way, kept]["ms"] = longest
                    if kept and (score["wrong, silent"] or score["lost"]):
                        print(f"seed {seed}, {way}: {dict(score)}", file=sys.stderr)
    columns = ("right, told doubtful", "lost", "wrong, told", "wrong, silent")
    print("| redrawn by | edits | right | " + " | ".join(columns) + " | ms | right without the map | silent without |")
    print("| --- |" + " --- |" * (len(columns) + 5))
    for way in wanted:
        one, other = totals[way, True], totals[way, False]
        share = f"{one['right'] / max(one['edits'], 1):.1%}"
        bare = f"{other['right'] / max(other['edits'], 1):.1%} | {other['wrong, silent']}"
        print(
            f"| {way} | {one['edits']} | {share} | "
            + " | ".join(str(one[c]) for c in columns)
            + f" | {one['ms']} | {bare} |"
        )


if __name__ == "__main__":
    main()
