"""From the printed PDF through a photograph to learned tubes and corrected pots, by the command itself.

    python tests/benchmarks/bench_card.py [--runs 24] [--first 0] [--cameras FOLDER] [--seed 1] [--size 12]

Pages, paints and pictures are made by printed.py, which shares nothing with the reading. Each run draws a camera (those
of colour-science and, with a folder, others, each bent a little so that none is the prior's), a light, a renderer, a
paper and a size.
"""

import argparse
import csv
import json
import subprocess
import sys
import tempfile
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT), str(Path(__file__).parent)]

import colour  # noqa: E402
import printed as pr  # noqa: E402

from finishplan.paint.box import load_box  # noqa: E402

LIGHTS = ("D50", "D65", "D75", "cloudy + LED", "window + lamp", "LED-B3", "LED-B5", "FL11", "A")
BOX = load_box()
SIZES = {"3": (1500, 2000), "5": (1950, 2600), "12": (3000, 4000), "50": (6120, 8160)}
"""Megapixels -> width and height."""
RENDERERS = {
    "plain": {"tone": "srgb"},
    "soft S": {"tone": "s", "contrast": 0.25, "saturation": 1.08},
    "hard S": {"tone": "s", "contrast": 0.55, "saturation": 1.15},
    "filmic": {"tone": "filmic", "contrast": 0.4, "saturation": 1.05},
}


def finishplan(*said: object) -> tuple[int, str, str]:
    """The command's exit code, figures and words."""
    done = subprocess.run(
        [sys.executable, "-m", "finishplan", *map(str, said)], cwd=ROOT, capture_output=True, text=True, check=False
    )
    return done.returncode, done.stdout, done.stderr.strip()


def light(name: str) -> np.ndarray:
    """(31,) power of a lamp or a mixture of two, each of equal brightness."""

    def one(lamp: str) -> np.ndarray:
        power = np.maximum(colour.SDS_ILLUMINANTS[lamp].copy().align(pr.SHAPE).values, 0)
        return power / (power @ pr.OBSERVER[:, 1])

    mixed = {"cloudy + LED": ("D65", "LED-B4", 0.7), "window + lamp": ("D55", "LED-B2", 0.6)}
    if name in mixed:
        a, b, share = mixed[name]
        return share * one(a) + (1 - share) * one(b)
    return one(name)


def sensitivities(folder: Path | None, rng: np.random.Generator) -> np.ndarray:
    """(31, 3) of a camera, its curves moved by up to 4 nm and widened a little."""
    known = [colour.MSDS_CAMERA_SENSITIVITIES["Nikon 5100 (NPL)"].copy().align(pr.SHAPE).values]
    for path in sorted(folder.glob("*.csv")) if folder else ():
        with path.open(encoding="utf-8") as file:
            known.append(np.array([r for r in csv.reader(file) if r][1:], float)[:, 1:])
    curves = np.maximum(known[rng.integers(len(known))], 0)
    moved = [np.interp(pr.WAVES, 550 + (pr.WAVES - 550) * rng.normal(1, 0.01) + rng.normal(0, 3), c) for c in curves.T]
    return np.maximum(np.array(moved).T, 0) + 1e-4


def camera(folder: Path | None, lamp: str, renderer: str, rng: np.random.Generator) -> pr.Camera:
    return pr.Camera(
        sensitivities(folder, rng), light(lamp), wb=float(rng.uniform(0.01, 0.06)),
        exposure=float(rng.uniform(0.65, 0.92)), vignette=float(rng.uniform(0, 0.25)),
        bend=float(rng.uniform(-0.02, 0.02)),
        slope=float(rng.uniform(0, 0.2)), **RENDERERS[renderer],
    )  # fmt: skip


def card(paper: str, folder: Path, *more: object) -> tuple[list[dict[str, Any]], Path]:
    """Pages as the layout tells them and their PDF."""
    pdf = folder / f"{paper}-{len(more)}.pdf"
    code, out, err = finishplan("swatches", "--paper", paper, "--out", pdf, "--json", *more)
    assert code == 0, err
    return json.loads(out), pdf


def mixes_off(tubes: list[dict[str, Any]], mine: pr.OwnTubes, rng: np.random.Generator) -> np.ndarray:
    """CIEDE2000 of thirty mixes of two to four paints, predicted by learned tubes, from what they are."""
    ids, K, S = [t["paint"] for t in tubes], *({t["paint"]: np.array(t[k]) for t in tubes} for k in "KS")
    found = pr.OwnTubes(K, S)
    drops = [
        dict(zip(rng.choice(ids, n, replace=False), rng.integers(1, 7, n), strict=True)) for n in rng.integers(2, 5, 30)
    ]
    return pr.off(pr.lab_of(np.array([found.mix(d) for d in drops])), pr.lab_of(np.array([mine.mix(d) for d in drops])))


def judged(tubes: list[dict[str, Any]], mine: pr.OwnTubes, rng: np.random.Generator) -> dict[str, np.ndarray]:
    """How far neat tubes, tints, mixes and thin coats over black are off; and z: neat by their told uncertainty."""
    ids = [t["paint"] for t in tubes]
    neat = pr.off(np.array([t["lab"] for t in tubes]), pr.lab_of(np.array([mine.mix({id: 1.0}) for id in ids])))
    true = [mine.mix({id: 0.1, mine.white: 0.9} if id != mine.white else {id: 1.0}) for id in ids]
    tint = pr.off(np.array([t["tint_lab"] for t in tubes]), pr.lab_of(np.array(true)))
    coats = [
        pr.lab_of(np.array([pr.coat(K, S, 0.02, pr.INK)]))[0]
        for t in tubes
        for K, S in ((np.array(t["K"]), np.array(t["S"])), (mine.K[t["paint"]], mine.S[t["paint"]]))
    ]
    return {
        "neat": neat, "tint": tint, "mixes": mixes_off(tubes, mine, rng), "thin": pr.off(coats[::2], coats[1::2]),
        "z": neat / np.array([t["uncertainty"] for t in tubes]),
    }  # fmt: skip


def one_card(run: int, given: argparse.Namespace, folder: Path) -> None:
    """One card photographed and read; its line printed."""
    rng = np.random.default_rng((given.seed, run))
    paper = ("a4", "a4", "letter", "a5")[run % 4]
    lamp, renderer = LIGHTS[run % len(LIGHTS)], list(RENDERERS)[run % len(RENDERERS)]
    pages, pdf = card(paper, folder)
    mine = pr.own_tubes(sorted({f["paint"] for p in pages for f in p["fields"]} - {""}), rng)
    photos, size = [], SIZES[given.size]
    for page in pages:
        looks = [None if f["kind"] == "bar" else pr.field_look(f, mine, rng) for f in page["fields"]]
        sheet = pr.painted(pdf, page, looks, rng)
        for _ in range(2 if run % 5 == 4 else 1):
            taken = replace(camera(given.cameras, lamp, renderer, rng), size=size)
            path = folder / f"{run}-{len(photos)}.jpg"
            seen = pr.photograph(sheet, taken, rng)
            path.write_bytes(pr.jpeg(seen, run % 4, run % 3 == 1, int(rng.integers(80, 96))))
            photos.append(path)
    target = folder / f"{run}.toml"
    code, out, err = finishplan("swatches", "read", *photos, "--paper", paper, "--out", target, "--json")
    name = f"{run:3d} {paper:6s} {lamp:13s} {renderer:7s} {len(photos)} photo(s)"
    if code:
        print(f"| {name} | refused ({code}): {err[-150:]} |", flush=True)
        return
    found = judged(json.loads(out)["tubes"], mine, rng)
    cells = (f"{np.median(v):.1f} / {np.percentile(v, 90):.1f}" for v in found.values())
    print(f"| {name} | {' | '.join(cells)} | misfit {json.loads(out)['misfit']:.2f} |", flush=True)


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--runs", type=int, default=24)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--cameras", type=Path)
    parser.add_argument("--size", choices=SIZES, default="12")
    given = parser.parse_args()
    print("| card | neat | tint | mixes | thin coat | neat by its uncertainty | |")
    print("| --- | --- | --- | --- | --- | --- | --- |")
    with tempfile.TemporaryDirectory() as folder:
        for run in range(given.first, given.first + given.runs):
            one_card(run, given, Path(folder))


if __name__ == "__main__":
    main()
