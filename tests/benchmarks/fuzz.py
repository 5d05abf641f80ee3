"""Damages job files, box files, tables, meshes and pictures at random and reads them: nothing but InputError may come.

    python tests/benchmarks/fuzz.py [seconds=60] [seed=0]

The tests do the same for a moment; this is the longer run by hand.
"""

import io
import random
import sys
import tempfile
import time
import warnings
import zipfile
from collections import Counter
from collections.abc import Callable
from pathlib import Path

from PIL import Image

from finishplan.drawing import read_drawing
from finishplan.errors import InputError
from finishplan.job import load_job
from finishplan.paint.box import load_box
from finishplan.paint.table import load_table
from finishplan.plan import make_plan
from finishplan.run.surfaces import mesh_surface_cm2

ROOT = Path(__file__).resolve().parents[2]
BOX = (
    'own = ["PW6", "bone-black"]\n[[paint]]\nname = "Brick"\ncolour = "#a0452e"\ntint = "#e7b8a8"\nopacity = "opaque"\n'
)
VALUES = (
    "0",
    "1",
    "2",
    "40",
    "0.5",
    "-1",
    "1e-9",
    "1e300",
    "nan",
    "inf",
    "true",
    '""',
    '"auto"',
    '"#808080"',
    "[]",
    "{}",
)
TOKENS = (b"nan", b"-1", b"1e999", b"[", b"]", b'"', b"\x00", b"\xff", b"=", b"\n", b"true", b"999999999999")


PLAN = """
[figure]
height_mm = 60
finish = "gloss"
[areas.1]
flags = ["recess"]
[areas.2]
target = "#4080a0"
flags = ["dot"]
[areas.{0}]
blend_into = {1}
[edges."{2}-{3}"]
treat = "lap"
[paints]
own = ["titanium-white", "bone-black", "yellow-ochre", "pyrrole-red", "ultramarine-blue"]
max_paints = 2
[method]
coat_um = 25
[room]
temperature_c = 18
humidity_pct = 60
[run]
castings = 3
painters = 2
session_min = 120
rack = 2
"""


def stl() -> bytes:
    """A tetrahedron of 20 mm."""
    import trimesh

    corners, faces = [[0, 0, 0], [20, 0, 0], [0, 20, 0], [0, 0, 20]], [[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]]
    return bytes(trimesh.Trimesh(corners, faces).export(file_type="stl"))


def ora(png: bytes) -> bytes:
    """An OpenRaster file of one layer."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as file:
        file.writestr("mimetype", "image/openraster")
        file.writestr("stack.xml", '<image w="320" h="298"><stack><layer name="a" src="data/a.png"/></stack></image>')
        file.writestr("data/a.png", png)
        file.writestr("mergedimage.png", png)
    return out.getvalue()


def damaged(data: bytes, rng: random.Random) -> bytes:
    """The bytes with a few cuts, swaps, repeats or foreign tokens."""
    out = bytearray(data)
    for _ in range(rng.choice((1, 1, 2, 8))):
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


def twisted(data: bytes, rng: random.Random) -> bytes:
    """A TOML file in which one to three values are others, which parse."""
    lines = data.decode().splitlines()
    valued = [k for k, line in enumerate(lines) if " = " in line and not line.startswith("#")]
    for k in rng.sample(valued, min(rng.randint(1, 3), len(valued))):
        own = lines[rng.choice(valued)].partition(" = ")[2]
        lines[k] = f"{lines[k].partition(' = ')[0]} = {rng.choice((*VALUES, own))}"
    return "\n".join(lines).encode()


def subjects(folder: Path) -> dict[str, tuple[bytes, Callable[[Path], object]]]:
    """File name -> (a good file, how it is read)."""
    small = folder / "small.png"
    with Image.open(ROOT / "examples" / "newt.png") as newt:
        newt.resize((320, 298)).save(small)
        newt.convert("RGB").resize((320, 298)).save(folder / "small.jpg")
    (folder / "own.toml").write_bytes((ROOT / "palettes" / "acrylic.toml").read_bytes())
    whole = read_drawing(small)
    return {
        "job.toml": ((ROOT / "examples" / "newt.toml").read_bytes(), load_job),
        "box.toml": (BOX.encode(), lambda path: load_box(None, None, path)),
        "plan.toml": (
            PLAN.format(*whole.edges[-1].areas, *whole.edges[0].areas).encode(),
            lambda path: make_plan(whole, load_job(path), cache=False),
        ),
        "a.stl": (stl(), mesh_surface_cm2),
        "a.ora": (ora(small.read_bytes()), read_drawing),
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
                way = twisted if file.endswith(".toml") and rng.random() < 0.7 else damaged
                path.write_bytes(way(good, rng))
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
