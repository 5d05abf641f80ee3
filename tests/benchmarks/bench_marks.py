"""Whole pages and hard pictures of them: how many are found, how far off, how many wrong ones pass.

    python tests/benchmarks/bench_marks.py [--whole 100] [--hard 200] [--first 0] [--size 12]

Pages and pictures are those of printed.py. Hard ones go the whole way to learned tubes; one is wrong that is taken
although its fields lie over 1 mm beside where they are thought, or although half of its neat tubes are read over 4.4
CIEDE2000 off.
"""

import argparse
import sys
import time
import warnings
from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory

import cv2
import numpy as np

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT), str(Path(__file__).parent)]
warnings.filterwarnings("ignore")

import bench_card as bc  # noqa: E402
import printed as pr  # noqa: E402
from PIL import Image  # noqa: E402

from finishplan.basics.errors import InputError  # noqa: E402
from finishplan.paint.box import load_box  # noqa: E402
from finishplan.photo.card import card_pages  # noqa: E402
from finishplan.photo.dab_page import Dab, dab_pages  # noqa: E402
from finishplan.photo.layout import CardPage, card_json  # noqa: E402
from finishplan.photo.marks import Placed, find_page  # noqa: E402
from finishplan.photo.picture import open_photo  # noqa: E402
from finishplan.photo.read import learn_box, read_photo  # noqa: E402
from finishplan.sheets.swatch_card import swatch_card_pdf  # noqa: E402

BOX = load_box()
PAGE = card_pages(BOX)[0]
OTHER = dab_pages(BOX, [Dab("A", "moss"), Dab("B", "rust")])[0]
Picture = np.ndarray
Moved = Callable[[np.ndarray], np.ndarray]
"""Where places (n, 2) of the picture lie once it is spoilt."""
Spoil = Callable[[Picture, np.random.Generator], tuple[Picture, Moved]]


def painted(page: CardPage, mine: pr.OwnTubes, rng: np.random.Generator, dpi: int) -> pr.Painted:
    said = card_json(page)
    looks = [
        None
        if f["kind"] == "bar"
        else pr.field_look(f | ({"paint": mine.white} if f["kind"] == "dab" else {}), mine, rng)
        for f in said["fields"]
    ]
    with TemporaryDirectory() as folder:
        (Path(folder) / "page.pdf").write_bytes(swatch_card_pdf([page], 60.0))
        return pr.painted(Path(folder) / "page.pdf", said, looks, rng, dpi)


def cut(p: Picture, rng: np.random.Generator) -> tuple[Picture, Moved]:
    x, y = (int(rng.uniform(0.02, 0.3) * v) for v in p.shape[1::-1])
    return np.ascontiguousarray(p[y:, x:]), lambda at: at - (x, y)


def blurred(p: Picture, rng: np.random.Generator) -> Picture:
    if rng.uniform() < 0.5:
        return cv2.GaussianBlur(p, (0, 0), rng.uniform(1.0, p.shape[1] / 200))
    length = int(rng.uniform(5, p.shape[1] / 40))
    kernel = cv2.warpAffine(
        np.pad(np.ones((1, length), np.float32), ((length // 2, length - 1 - length // 2), (0, 0))),
        cv2.getRotationMatrix2D((length / 2, length / 2), rng.uniform(0, 180), 1), (length, length),
    )  # fmt: skip
    return cv2.filter2D(p, -1, kernel / kernel.sum())


def glaring(p: Picture, rng: np.random.Generator) -> Picture:
    h, w = p.shape[:2]
    y, x = np.mgrid[:h, :w].astype(np.float32)
    out = p.astype(np.float32)
    for _ in range(rng.integers(1, 5)):
        cx, cy, r = rng.uniform(0.1, 0.9) * w, rng.uniform(0.1, 0.9) * h, rng.uniform(0.03, 0.2) * w
        out += rng.uniform(40, 250) * np.exp(-(((x - cx) ** 2 + (y - cy) ** 2) / r**2))[..., None]
    return np.clip(out, 0, 255).astype(np.uint8)


def filtered(p: Picture, rng: np.random.Generator) -> Picture:
    """A turn of hue, more or less chroma, a cast, one of them strong."""
    lab = cv2.cvtColor(p.astype(np.float32) / 255, cv2.COLOR_RGB2LAB)
    kind = rng.integers(3)
    if kind == 0:
        t = np.deg2rad(rng.choice([-1, 1]) * rng.uniform(5, 60))
        lab[..., 1:] = lab[..., 1:] @ np.array([[np.cos(t), np.sin(t)], [-np.sin(t), np.cos(t)]], np.float32)
    elif kind == 1:
        lab[..., 1:] *= rng.choice([rng.uniform(0, 0.6), rng.uniform(1.3, 2.0)])
    else:
        lab[..., 1:] += rng.normal(0, 15, 2) * (1 - lab[..., :1] / 100)  # of the shadows, as effects tint
    return np.rint(np.clip(cv2.cvtColor(lab, cv2.COLOR_LAB2RGB), 0, 1) * 255).astype(np.uint8)


def covered(p: Picture, rng: np.random.Generator) -> Picture:
    h, w = p.shape[:2]
    out = p.copy()
    for _ in range(rng.integers(2, 8)):
        x, y = rng.integers(0, w), rng.integers(0, h)
        out[y : y + h // 9, x : x + w // 9] = rng.integers(0, 255, 3)
    return out


def mismatched(p: Picture, rng: np.random.Generator) -> tuple[Picture, Moved]:
    """A part of the page curled away, so that its marks do not fit."""
    h, w = p.shape[:2]
    start, by = rng.uniform(0.3, 0.8) * w, rng.uniform(0.01, 0.06) * w

    def lift(x: np.ndarray) -> np.ndarray:
        return np.where(x > start, (x - start) / (w - start), 0) ** 2 * by

    y, x = np.mgrid[:h, :w].astype(np.float32)
    curled = cv2.remap(p, x, y + lift(x).astype(np.float32), cv2.INTER_LINEAR)
    return curled, lambda at: at - np.stack([np.zeros(len(at)), lift(at[:, 0])], axis=1)


def still(spoil: Callable[[Picture, np.random.Generator], Picture]) -> Spoil:
    return lambda p, rng: (spoil(p, rng), lambda at: at)


KINDS: dict[str, Spoil] = {
    "cut off": cut,
    "blurred": still(blurred),
    "over-exposed": still(lambda p, rng: np.clip(p * rng.uniform(1.1, 2.2), 0, 255).astype(np.uint8)),
    "glare": still(glaring),
    "filter": still(filtered),
    "dark": still(lambda p, rng: (p * rng.uniform(0.05, 0.5)).astype(np.uint8)),
    "covered": still(covered),
    "mismatched": mismatched,
    "other card": still(lambda p, rng: p),
}  # fmt: skip


def whole(count: int, first: int, size: str, folder: Path) -> None:
    """Pages of so many megapixels from the file on, in every quarter turn."""
    rng = np.random.default_rng((5, first))
    sheet = painted(PAGE, pr.own_tubes([p.id for p in BOX.paints], rng), rng, 150 if size == "3" else 300)
    off, spent = list[np.ndarray](), list[float]()
    for n in range(first, first + count):
        taken = bc.camera(None, bc.LIGHTS[n % len(bc.LIGHTS)], list(bc.RENDERERS)[n % 4], rng)
        taken = replace(taken, size=bc.SIZES[size])
        at = pr.view_of(sheet.mm, taken, rng)
        (folder / "whole.jpg").write_bytes(pr.jpeg(pr.photograph(sheet, taken, rng, at), n % 4))
        picture = open_photo(folder / "whole.jpg")
        start = time.process_time()
        try:
            placed = find_page(picture, [PAGE])
        except InputError as error:
            print(f"lost: {error}")
            continue
        spent.append(time.process_time() - start)
        off.append(away(placed, at, lambda px: px))
        if n % 10 == 9 or n == first + count - 1:
            tell_whole(n + 1 - first, off, spent)


def tell_whole(count: int, off: list[np.ndarray], spent: list[float]) -> None:
    p95 = np.percentile(np.concatenate(off), 95)
    print(f"whole: {len(off)} of {count} found, error median {np.median(off):.2f}, p95 {p95:.2f}, ", end="")
    print(f"worst {np.max(off):.2f} mm; {np.median(spent):.2f} s, at most {np.max(spent):.2f} s", flush=True)


def away(placed: Placed, at: pr.View, moved: Moved) -> np.ndarray:
    """mm by which the fields' corners lie beside where they are thought."""
    mm = np.array([c for f in PAGE.fields for c in f.rect.corners])
    return np.linalg.norm(placed.pixels(mm) - moved(at.pixels(mm)), axis=1) / placed.px_per_mm


def taken_pictures(
    count: int, mine: pr.OwnTubes, rng: np.random.Generator
) -> dict[bool, list[tuple[Picture, pr.View]]]:
    """Pictures of 3 megapixels, each with its own camera, light and view; True: of the other card."""
    found: dict[bool, list[tuple[Picture, pr.View]]] = {False: [], True: []}
    for page, other, many in ((PAGE, False, count), (OTHER, True, 2)):
        sheet = painted(page, mine, rng, 150)
        for _ in range(many):
            taken = bc.camera(None, str(rng.choice(bc.LIGHTS)), str(rng.choice([*bc.RENDERERS])), rng)
            taken = replace(taken, size=bc.SIZES["3"])
            at = pr.view_of(sheet.mm, taken, rng)
            found[other].append((pr.photograph(sheet, taken, rng, at), at))
    return found


def hard(count: int, first: int, folder: Path) -> None:
    """Spoilt pictures, the whole way: each of some twenty spoilt in every manner, every time otherwise."""
    rng, taken, refused, wrong = np.random.default_rng((6, first)), Counter(), Counter(), Counter()
    mine = pr.own_tubes([p.id for p in BOX.paints], rng)
    pictures = taken_pictures(-(-count // len(KINDS)), mine, rng)
    neat = pr.lab_of(np.array([mine.mix({p.id: 1.0}) for p in BOX.paints]))
    for n in range(count):
        kind = [*KINDS][n % len(KINDS)]
        which = pictures[kind == "other card"]
        picture, at = which[n // len(KINDS) % len(which)]
        picture, moved = KINDS[kind](picture, rng)
        Image.fromarray(picture).save(folder / "hard.jpg", quality=92)
        try:
            photo = read_photo(folder / "hard.jpg", [PAGE])
            tubes = learn_box([photo], BOX).tubes
        except InputError:
            refused[kind] += 1
            continue
        taken[kind] += 1
        colours = np.median(pr.off(np.array([t.lab for t in tubes]), neat))
        beside = away(photo.placed, at, moved).max()
        if beside > 1.0 or colours > 4.4 or kind == "other card":
            wrong[kind] += 1
            print(f"  silently wrong: {n} {kind}: {beside:.2f} mm, neat tubes {colours:.1f}", flush=True)
        if n % 20 == 19:
            print(f"  {n + 1} pictures", flush=True)
    print("| hard | refused | taken | of these wrong |\n| --- | --- | --- | --- |")
    for kind in KINDS:
        print(f"| {kind} | {refused[kind]} | {taken[kind]} | {wrong[kind]} |")
    print(f"| all | {refused.total()} | {taken.total()} | {wrong.total()} |", flush=True)


def main() -> None:
    parser = argparse.ArgumentParser()
    for name, usual in (("--whole", 100), ("--hard", 200), ("--first", 0)):
        parser.add_argument(name, type=int, default=usual)
    parser.add_argument("--size", choices=bc.SIZES, default="12", help="megapixels of whole pages")
    given = parser.parse_args()
    with TemporaryDirectory() as folder:
        if given.whole:
            whole(given.whole, given.first, given.size, Path(folder))
        if given.hard:
            hard(given.hard, given.first, Path(folder))


if __name__ == "__main__":
    main()
