"""Damages job files, box files, tables, meshes and pictures at random and reads them: nothing but InputError may come.

    python tests/benchmarks/fuzz.py [seconds=60] [seed=0]

The tests do the same for a moment; this is the longer run by hand.
"""

import io
import random
import re
import sys
import tempfile
import time
import warnings
import zipfile
from collections import Counter
from collections.abc import Callable, Sequence
from pathlib import Path

from PIL import Image

from finishplan.basics.errors import InputError
from finishplan.drawing import read_drawing
from finishplan.job.read import load_job
from finishplan.paint.box import load_box
from finishplan.paint.table import load_table
from finishplan.plan.planner import make_plan
from finishplan.scheme.surfaces import mesh_surface_cm2

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


STACK = b"""<?xml version="1.0" encoding="UTF-8"?>
<image w="320" h="298"><stack>
<stack name="lantern" opacity="0.9"><layer name="glass" src="data/a.png" x="9" y="-4" visibility="visible"/></stack>
<layer name="a" src="data/a.png" composite-op="svg:src-over"/>
</stack></image>
"""


def ora(png: bytes, stack: bytes = STACK) -> bytes:
    """An OpenRaster file of a group and a layer."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as file:
        file.writestr("mimetype", "image/openraster")
        file.writestr("stack.xml", stack)
        file.writestr("data/a.png", png)
        file.writestr("mergedimage.png", png)
    return out.getvalue()


def miswritten(data: bytes, rng: random.Random) -> bytes:
    """An OpenRaster file, whole as a zip, with a damaged stack.xml, or one whose attributes are others, which parse."""
    with zipfile.ZipFile(io.BytesIO(data)) as file:
        png, stack = file.read("data/a.png"), file.read("stack.xml")
    if rng.random() < 0.3:
        return ora(png, damaged(stack, rng))
    values = re.findall(rb'"[^"]*"', stack)
    for _ in range(rng.randint(1, 2)):
        at = rng.choice([m.span() for m in re.finditer(rb'"[^"]*"', stack)][2:])  # those of the first line stay
        other = rng.choice(
            [*values, *(b'"%s"' % v.strip('"').encode() for v in (*VALUES, "99999999999", "-300", "hidden"))]
        )
        stack = stack[: at[0]] + other + stack[at[1] :]
    return ora(png, stack)


FLAGS = ("recess", "dot", "first", "last", "blend", "bare")
WORDS = (*FLAGS, "lap", "cut", "matt", "satin", "gloss", "brush", "airbrush", "black", "white", "auto")


def reworked(data: bytes, rng: random.Random) -> bytes:
    """A TOML file with one to four numbers and words in place of which others stand, of their kind."""
    text = data.decode()
    for _ in range(rng.randint(1, 4)):
        found = rng.choice([*re.finditer(r"(?<== )[0-9.]+|(?<=[ [])\"(?:" + "|".join(WORDS) + r")\"", text)])
        said = found[0]
        other = f'"{rng.choice(WORDS)}"' if said[0] == '"' else f"{float(said) * rng.choice((0.1, 0.5, 2, 3, 10)):g}"
        text = text[: found.start()] + other + text[found.end() :]
    return text.encode()


def altered(file: str, good: bytes, rng: random.Random) -> bytes:
    """The good file, damaged in a way that suits its kind."""
    if file == "plan.toml" and rng.random() < 0.7:
        return reworked(good, rng)
    if file.endswith(".toml") and rng.random() < 0.7:
        return twisted(good, rng)
    if file.endswith(".ora") and rng.random() < 0.7:
        return miswritten(good, rng)
    return damaged(good, rng)


def plan_of(edges: Sequence[tuple[int, int]]) -> bytes:
    """A job that fits a drawing with these edges: area 1 a recess, 2 a dot, two others blended, another edge lapped."""
    into = next(pair for pair in edges if not {1, 2} & {*pair})
    lapped = next(pair for pair in edges if 2 not in pair and pair != into)
    return PLAN.format(*into, *lapped).encode()


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
    for k in rng.sample(valued, min(rng.choice((1, 1, 1, 2, 3)), len(valued))):
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
            plan_of([edge.areas for edge in whole.edges]),
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
        for file, (good, read) in files.items():  # what is refused undamaged would be refused early, and tests nothing
            (folder / file).write_bytes(good)
            read(folder / file)
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            for file, (good, read) in files.items():
                path = folder / file
                path.write_bytes(altered(file, good, rng))
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
