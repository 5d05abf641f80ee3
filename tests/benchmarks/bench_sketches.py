"""Readings of the drawings makers have, every kind with known truth.

    python tests/benchmarks/bench_sketches.py [--styles 1,2,3] [--kinds bold,cel] [--drawings 20] [--seed 0]
        [--keep FOLDER]

Styles: 1 draw.py and photograph.py; 2 vectors.py, handmade.py and tabletop.py; 3 nibs.py, thirdhand.py and desk.py.
Work on seeds below 7000; report on others that nobody has looked at. Prints the mean of each figure over the drawings
of a kind; a reading that failed counts as nought throughout and is named. --keep: the pictures are left there, and
each drawing's figures printed, so that the worst can be looked at.
"""

import argparse
import sys
import tempfile
import time
import warnings
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
warnings.filterwarnings("ignore")

from collections.abc import Callable  # noqa: E402
from functools import partial  # noqa: E402

import numpy as np  # noqa: E402
from benchmarks.sketches import nibs, vectors  # noqa: E402
from benchmarks.sketches.desk import third_photo  # noqa: E402
from benchmarks.sketches.draw import KINDS, Kit, sketch  # noqa: E402
from benchmarks.sketches.handmade import handmade, modelled  # noqa: E402
from benchmarks.sketches.photograph import photo  # noqa: E402
from benchmarks.sketches.score import Tally, failed, mean, score  # noqa: E402
from benchmarks.sketches.tabletop import second_photo, stored  # noqa: E402
from benchmarks.sketches.thirdhand import otherhand  # noqa: E402
from benchmarks.sketches.truth import Sketch  # noqa: E402

from finishplan.basics.errors import InputError  # noqa: E402
from finishplan.drawing import read_drawing  # noqa: E402

Maker = Callable[[int, int], Sketch]
"""The drawing of a seed, of at most so many pixels along its longer side."""


def by_hand(kind: str, make: Callable[[Kit], Sketch], seed: int, most: int) -> Sketch:
    """With chance of that kind's own."""
    return make(_kit(kind, seed, most))


def _kit(kind: str, seed: int, most: int) -> Kit:
    return Kit(np.random.default_rng([sum(map(ord, kind)), seed]), seed + seed // 7, most)


STYLES: dict[int, dict[str, Maker]] = {
    1: {kind: partial(sketch, kind) for kind in KINDS} | {"photo": photo},
    2: {kind: partial(vectors.sketch, kind) for kind in vectors.KINDS}
    | {
        "soft": partial(by_hand, "soft 2", modelled),
        "textured": partial(by_hand, "textured 2", handmade),
        "photo": lambda seed, most: second_photo(_kit("photo 2", seed, most), seed),
    },
    3: {kind: partial(nibs.sketch, kind) for kind in nibs.KINDS}
    | {
        "textured": partial(by_hand, "textured 3", otherhand),
        "photo": lambda seed, most: third_photo(_kit("photo 3", seed, most), seed),
    },
}
HEAD = """| class | recall / precision / extra / pairs R, P / areas found | specks | failed | CPU s |
| --- | --- | --- | --- | --- |"""


def save(made: Sketch, path: Path) -> Path:
    """Photos as JPEG, half of them saying that a camera took them; the rest as PNG or as their style says."""
    if made.style is not None:
        return (nibs if isinstance(made.style, nibs.Manner) else vectors).save(made, path)
    if made.to_photo is None:
        path = path.with_suffix(".png")
        made.picture.save(path, compress_level=1)
        return path
    path = path.with_suffix(".jpg")
    path.write_bytes(stored(made))
    return path


def line(tally: Tally) -> str:
    """As the table shows it."""
    t = tally
    return (
        f"{t.recall:.2f} / {t.precision:.2f} / {t.extra:.1f} / {t.pairs_found:.2f}, {t.pairs_true:.2f} / {t.areas:.2f}"
    )


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--styles", default="1,2,3")
    parser.add_argument("--kinds", default=",".join(STYLES[1]))
    for name, usual in (("drawings", 20), ("seed", 0), ("most", 2000)):
        parser.add_argument(f"--{name}", type=int, default=usual)
    parser.add_argument("--keep", type=Path)
    asked = parser.parse_args()
    print(HEAD)
    with tempfile.TemporaryDirectory() as own:
        folder = asked.keep or Path(own)
        folder.mkdir(exist_ok=True, parents=True)
        wanted = [(int(style), kind) for style in asked.styles.split(",") for kind in asked.kinds.split(",")]
        for style, kind in ((style, kind) for style, kind in wanted if kind in STYLES[style]):
            name = kind if style == 1 else f"{kind} {style}"
            tallies, failures, spent = [], 0, 0.0
            for seed in range(asked.seed, asked.seed + asked.drawings):
                made = STYLES[style][kind](seed, asked.most)
                path = save(made, folder / f"{name.replace(' ', '-')}-{seed}")
                start = time.process_time()
                try:
                    tally, said = score(made, read_drawing(path)), ""
                except Exception as error:
                    tally, said = failed(), "" if isinstance(error, InputError) else " CRASH"
                    said += f" {type(error).__name__}: {error}"
                    failures += 1
                spent += time.process_time() - start
                tallies.append(tally)
                if asked.keep or said:
                    print(f"{path.name}: {line(tally)}{said}", file=sys.stderr, flush=True)
            whole = mean(tallies)
            specks = "" if whole.specks != whole.specks else f"{whole.specks:.2f}"
            print(f"| {name} | {line(whole)} | {specks} | {failures} | {spent / asked.drawings:.1f} |", flush=True)


if __name__ == "__main__":
    main()
