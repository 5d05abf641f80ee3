"""How near the aims lie to what is drawn: `python tests/benchmarks/measure_aim.py [DRAWINGS [SEED]]`.

Drawings of random flat colours (as a screen shows them: uniform in hue, chroma and lightness, a third of them dark),
each colour searched in a box as it is. Printed for each box: the share of colours aimed at within CIEDE2000 1.0 of the
drawn, the mean distance of the mixes from the drawing, that of scaling XYZ between black and white paint (black point
compensation, after ISO 18619) beside it, and how much of the differences in lightness between neighbours is kept.
"""

import sys
from pathlib import Path

import numpy as np

from finishplan import read_drawing
from finishplan.colour.film import opaque, saunderson, surface
from finishplan.colour.light import (
    delta_e,
    lab,
    lab_from_hex,
    lab_from_rgb8,
    lab_from_xyz,
    rgb8_from_lab,
    white_xyz,
    xyz,
    xyz_from_lab,
)
from finishplan.paint.aim import aims, reach_of
from finishplan.paint.box import load_box
from finishplan.paint.mixing import MixSettings
from finishplan.paint.model import Box
from finishplan.paint.search import search
from finishplan.paint.shelf import make_shelf
from finishplan.paint.table import load_table

EXAMPLE = Path(__file__).parents[2] / "examples" / "newt.png"


def drawing(rng: np.random.Generator) -> np.ndarray:
    """(k, 3) L*a*b* of 3 to 8 colours that a screen shows."""
    count = int(rng.integers(3, 9))
    L = np.where(rng.random(count) < 1 / 3, rng.uniform(0, 35, count), rng.uniform(20, 100, count))
    hue, chroma = rng.uniform(0, 2 * np.pi, count), rng.uniform(0, 70, count)
    drawn = np.stack([L, chroma * np.cos(hue), chroma * np.sin(hue)], axis=1)
    return lab_from_rgb8(rgb8_from_lab(drawn))


def scaled(drawn: np.ndarray, box: Box) -> np.ndarray:
    """The drawing's white and black on the white and black paint, XYZ scaled between."""
    k1, k2 = surface("satin", box.table.k1, box.table.k2)
    seen = xyz(saunderson(opaque([p.K for p in box.paints], [p.S for p in box.paints]), k1, k2))
    ids = [p.id for p in box.paints]
    light, dark = seen[ids.index(str(box.white))], seen[ids.index(str(box.black))]
    return lab_from_xyz(dark + (light - dark) * xyz_from_lab(drawn) / white_xyz())


def kept(aimed: np.ndarray, drawn: np.ndarray) -> float:
    """Median share of the difference in lightness kept between colours next to each other in the drawing's list."""
    was, now = (np.abs(np.diff(v[:, 0])) for v in (drawn, aimed))
    return float(np.median((now / np.maximum(was, 1e-9))[was > 2]))


def measure(name: str, box: Box, drawings: list[np.ndarray]) -> None:
    wish = MixSettings(cache=False, max_paints=3)
    shelf = make_shelf(box, wish)
    drawn = np.concatenate(drawings)
    reach = reach_of(box, wish)
    inside = (drawn[:, 0] >= reach.dark) & (drawn[:, 0] <= reach.light)
    for way, aimed in (
        ("aimed as drawn", aims(drawn, box, wish)),
        ("keep contrast", aims(drawn, box, MixSettings(cache=False, dark="keep contrast"))),
        ("XYZ scaled", scaled(drawn, box)),
    ):
        near = delta_e(aimed, drawn) <= 1.0
        found = search(shelf, aimed, wish)
        seen = np.stack([lab(shelf.seen(r.ingredients[None], r.parts[None]))[0] for r in found])
        off = delta_e(seen, drawn)
        reached = [r.best <= wish.reach for r in found]
        contrast = np.median([kept(a, d) for a, d in zip(np.split(aimed, cuts(drawings)), drawings, strict=True)])
        print(
            f"| {name} | {way} | {len(drawn)} | {100 * near.mean():.0f} % | {100 * near[inside].mean():.0f} % "
            f"| {off.mean():.2f} | {100 * np.mean(reached):.0f} % | {100 * contrast:.0f} % |",
            flush=True,
        )


def cuts(drawings: list[np.ndarray]) -> np.ndarray:
    return np.cumsum([len(d) for d in drawings])[:-1]


if __name__ == "__main__":
    count, seed = (int(v) for v in (*sys.argv[1:3], *("200", "7")[len(sys.argv[:3]) - 1 :]))
    rng = np.random.default_rng(seed)
    made = [drawing(rng) for _ in range(count)]
    newt = [np.array([lab_from_hex(c.hex) for c in read_drawing(EXAMPLE).palette])]
    print(
        "| box | way | colours | aimed within 1.0 | of those between black and white | mix from the drawing, mean "
        "| mix reaches its aim | difference in L* kept |"
    )
    print("| --- | --- | --- | --- | --- | --- | --- | --- |")
    every = load_box(own=tuple(p.id for p in load_table(None).paints))
    for name, box in (("starter", load_box()), ("all thirty", every)):
        measure(f"newt, {name}", box, newt)
        measure(f"{count} drawings, {name}", box, made)
