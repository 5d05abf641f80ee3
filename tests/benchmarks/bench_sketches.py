"""Readings of the drawings makers have, every kind with known truth.

    python tests/benchmarks/bench_sketches.py [--kinds bold,cel] [--drawings 20] [--seed 0] [--keep FOLDER]

Work on seeds below 1000; those from 1000 on are held out, for reporting: `--seed 1000`. Prints the mean of each figure
over the drawings of a kind; a reading that failed counts as nought throughout and is named. --keep: the pictures
are left there, and each drawing's figures printed, so that the worst can be looked at.
"""

import argparse
import sys
import tempfile
import time
import warnings
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
warnings.filterwarnings("ignore")

import numpy as np  # noqa: E402
from benchmarks.sketches.draw import KINDS, Kit, sketch  # noqa: E402
from benchmarks.sketches.handmade import handmade, modelled  # noqa: E402
from benchmarks.sketches.photograph import photo  # noqa: E402
from benchmarks.sketches.score import Tally, failed, mean, score  # noqa: E402
from benchmarks.sketches.tabletop import second_photo, stored  # noqa: E402
from benchmarks.sketches.truth import Sketch  # noqa: E402

from finishplan.basics.errors import InputError  # noqa: E402
from finishplan.drawing import read_drawing  # noqa: E402

SECOND = {"textured 2": handmade, "soft 2": modelled}
"""By a second hand, see sketches/handmade.py."""
EVERY = (*KINDS, "photo", *SECOND, "photo 2")
HEAD = """| class | recall / precision / extra / pairs R, P / areas found | specks | failed | CPU s |
| --- | --- | --- | --- | --- |"""


def drawn(kind: str, seed: int, most: int) -> Sketch:
    """The drawing of that kind."""
    if kind in SECOND or kind == "photo 2":
        kit = Kit(np.random.default_rng([sum(map(ord, kind)), seed]), seed + seed // 7, most)
        return SECOND[kind](kit) if kind in SECOND else second_photo(kit, seed)
    return photo(seed, most) if kind == "photo" else sketch(kind, seed, most)


def save(made: Sketch, path: Path) -> Path:
    """Photos as JPEG, half of them saying that a camera took them; the rest as PNG."""
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
    parser.add_argument("--kinds", default=",".join(EVERY))
    for name, usual in (("drawings", 20), ("seed", 0), ("most", 2000)):
        parser.add_argument(f"--{name}", type=int, default=usual)
    parser.add_argument("--keep", type=Path)
    asked = parser.parse_args()
    print(HEAD)
    with tempfile.TemporaryDirectory() as own:
        folder = asked.keep or Path(own)
        folder.mkdir(exist_ok=True, parents=True)
        for kind in asked.kinds.split(","):
            tallies, failures, spent = [], 0, 0.0
            for seed in range(asked.seed, asked.seed + asked.drawings):
                made = drawn(kind, seed, asked.most)
                path = save(made, folder / f"{kind.replace(' ', '-')}-{seed}")
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
            print(f"| {kind} | {line(whole)} | {specks} | {failures} | {spent / asked.drawings:.1f} |", flush=True)


if __name__ == "__main__":
    main()
