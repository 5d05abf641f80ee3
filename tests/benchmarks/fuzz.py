"""Damages job files, box files, colour tables and pictures at random and reads them: nothing but InputError may come.

    python tests/benchmarks/fuzz.py [seconds=60] [seed=0]

The tests do the same for a moment; this is the longer run by hand.
"""

import random
import sys
import tempfile
import time
import warnings
from collections import Counter
from collections.abc import Callable
from pathlib import Path

from PIL import Image

from finishplan.drawing import read_drawing
from finishplan.errors import InputError
from finishplan.job import load_job
from finishplan.paint.box import load_box
from finishplan.paint.table import load_table

ROOT = Path(__file__).resolve().parents[2]
BOX = (
    'own = ["PW6", "bone-black"]\n[[paint]]\nname = "Brick"\ncolour = "#a0452e"\ntint = "#e7b8a8"\nopacity = "opaque"\n'
)
TOKENS = (b"nan", b"-1", b"1e999", b"[", b"]", b'"', b"\x00", b"\xff", b"=", b"\n", b"true", b"999999999999")


def damaged(data: bytes, rng: random.Random) -> bytes:
    """The bytes with one to eight cuts, swaps, repeats or foreign tokens."""
    out = bytearray(data)
    for _ in range(rng.randint(1, 8)):
        at = rng.randrange(len(out) + 1)
        end = at + rng.randint(0, 12)
        choice = rng.randrange(4)
        if choice == 0:
            del out[at:end]
        elif choice == 1:
            out[at:end] = rng.choice(TOKENS)
        elif choice == 2:
            out[at:at] = out[at : at + rng.randint(1, 200)]
        elif out:
            out[min(at, len(out) - 1)] = rng.randrange(256)
    return bytes(out)


def subjects(folder: Path) -> dict[str, tuple[bytes, Callable[[Path], object]]]:
    """File name -> (a good file, how it is read)."""
    small = folder / "small.png"
    with Image.open(ROOT / "examples" / "newt.png") as newt:
        newt.resize((320, 298)).save(small)
        newt.convert("RGB").resize((320, 298)).save(folder / "small.jpg")
    (folder / "own.toml").write_bytes((ROOT / "palettes" / "acrylic.toml").read_bytes())
    return {
        "job.toml": ((ROOT / "examples" / "newt.toml").read_bytes(), load_job),
        "box.toml": (BOX.encode(), lambda path: load_box(None, None, path)),
        "own.csv": ((ROOT / "palettes" / "acrylic.csv").read_bytes(), load_table),
        "a.png": (small.read_bytes(), read_drawing),
        "a.jpg": ((folder / "small.jpg").read_bytes(), read_drawing),
    }


def main() -> None:
    seconds = float(sys.argv[1]) if len(sys.argv) > 1 else 60
    rng = random.Random(int(sys.argv[2]) if len(sys.argv) > 2 else 0)
    warnings.simplefilter("ignore")
    tally: Counter[tuple[str, str]] = Counter()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        files = subjects(folder)
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            for file, (good, read) in files.items():
                path = folder / file
                path.write_bytes(damaged(good, rng))
                try:
                    read(path)
                    tally[file, "read"] += 1
                except InputError:
                    tally[file, "refused"] += 1
                except Exception:
                    kept = Path.cwd() / f"fuzz-{file}"
                    kept.write_bytes(path.read_bytes())
                    print(f"kept as {kept}")
                    raise
    for (file, what), count in sorted(tally.items()):
        print(f"{file:10} {what:8} {count}")


if __name__ == "__main__":
    main()
