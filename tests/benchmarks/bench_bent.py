"""Sheets that do not lie flat, by geometry alone: how many are taken, how far their fields lie from where thought.

    python tests/benchmarks/bench_bent.py [--sheets 300] [--first 0]

A sheet of paper bends about lines of one direction and stretches nowhere (a developable surface), or cockles where wet
paint lay; a pinhole camera over it sees the corners of its marks, each read a little off.
"""

import argparse
import sys
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path

import numpy as np

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT)]

from finishplan.basics.errors import InputError  # noqa: E402
from finishplan.paint.box import load_box  # noqa: E402
from finishplan.photo.card import card_pages  # noqa: E402
from finishplan.photo.layout import CardPage  # noqa: E402
from finishplan.photo.marks import WORST_MM, placed_by  # noqa: E402
from finishplan.photo.patches import unsure_fields  # noqa: E402

PAGES = {paper: card_pages(load_box(), paper)[0] for paper in ("a4", "letter")}
READ_PX = 0.15
"""One sigma of a mark's corner."""
FOCAL = (1.0, 1.5)
"""Of phones, per half diagonal: 22 to 32 mm of a 36 mm picture (common practice)."""
Profile = Callable[[np.ndarray], np.ndarray]


def arch(h: float, rng: np.random.Generator) -> Profile:
    return lambda s: h * (1 - s**2)


def wave(h: float, rng: np.random.Generator) -> Profile:
    phase, turns = rng.uniform(0, 2 * np.pi), rng.uniform(0.5, 1.2)
    return lambda s: h / 2 * np.sin(np.pi * turns * s + phase)


def edge(h: float, rng: np.random.Generator) -> Profile:
    start = rng.uniform(-0.2, 0.6)
    return lambda s: h * (np.maximum(s - start, 0) / (1 - start)) ** 2


def fold(h: float, rng: np.random.Generator) -> Profile:
    """As a sheet once folded lies: two planes with a rounded ridge."""
    at, wide = rng.uniform(-0.4, 0.4), rng.uniform(0.03, 0.15)
    return lambda s: h * (1 - np.sqrt((s - at) ** 2 + wide**2))


BENDS = {"arch": arch, "wave": wave, "edge curled up": edge, "fold": fold}


@dataclass(frozen=True)
class Sheet:
    """The page in space: mm on it -> mm (n, 3), z up."""

    page: CardPage
    kind: str
    high: float
    rng: np.random.Generator

    def places(self) -> Callable[[np.ndarray], np.ndarray]:
        half = np.array(self.page.size) / 2
        if self.kind == "cockled":
            waves = self.rng.normal(0, 1, (4, 2)) * 2 * np.pi / 160
            phase, high = self.rng.uniform(0, 7, 4), self.rng.uniform(0.3, 1, 4) * self.high / 8
            return lambda mm: np.c_[mm - half, (high * np.sin(mm @ waves.T + phase)).sum(axis=1)]
        angle = self.rng.uniform(0, np.pi)
        along, across = np.array([np.cos(angle), np.sin(angle)]), np.array([-np.sin(angle), np.cos(angle)])
        reach = float(np.abs(along) @ half)
        profile = BENDS[self.kind](self.high, self.rng)
        s = np.linspace(-reach, reach, 4001)
        z = profile(s / reach)
        flat = np.concatenate([[0], np.cumsum(np.sqrt(np.maximum(1 - (np.diff(z) / np.diff(s)) ** 2, 0)) * np.diff(s))])
        flat -= flat[2000]

        def lie(mm: np.ndarray) -> np.ndarray:
            at = (mm - half) @ along
            plane = np.interp(at, s, flat)[:, None] * along + ((mm - half) @ across)[:, None] * across
            return np.c_[plane, np.interp(at, s, z)]

        return lie


def pinhole(size: tuple[int, int], rng: np.random.Generator, page: CardPage) -> Callable[[np.ndarray], np.ndarray]:
    """mm in space (n, 3) -> pixels (n, 2): a phone held over the page, a little askew, the page filling the picture."""
    w, h = size
    half = np.hypot(w, h) / 2
    f = rng.uniform(*FOCAL)
    tilt, lens = rng.normal(0, 0.1, 2), rng.uniform(-0.02, 0.02)
    turn = rng.normal(0, 0.05)
    far = f * half / (rng.uniform(0.8, 0.9) * min(w / page.size[0], h / page.size[1]))
    cx, cy = np.cos(tilt), np.sin(tilt)
    R = (
        np.array([[np.cos(turn), -np.sin(turn), 0], [np.sin(turn), np.cos(turn), 0], [0, 0, 1]])
        @ np.array([[1, 0, 0], [0, cx[0], -cy[0]], [0, cy[0], cx[0]]])
        @ np.array([[cx[1], 0, cy[1]], [0, 1, 0], [-cy[1], 0, cx[1]]])
    )

    def seen(xyz: np.ndarray) -> np.ndarray:
        at = xyz @ R.T
        straight = f * at[:, :2] / (far - at[:, 2:])
        return half * straight * (1 + lens * (straight**2).sum(axis=1, keepdims=True)) + np.array([w, h]) / 2

    return seen


def one_sheet(kind: str, high: float, hidden: int, rng: np.random.Generator) -> tuple[bool, np.ndarray, np.ndarray]:
    """Whether it is taken; which fields are read; mm by which the corners of each (n, 4) lie beside where thought."""
    page, size = PAGES[str(rng.choice([*PAGES]))], (3000, 4000)
    lie, see = Sheet(page, kind, high, rng).places(), pinhole(size, rng, page)
    shown = rng.permutation(page.marks)[hidden:]
    marks = {m.number: see(lie(np.array(m.rect.corners))) + rng.normal(0, READ_PX, (4, 2)) for m in shown}
    placed = placed_by(page, marks, (size[1], size[0]))
    mm = np.array([f.rect.corners for f in page.fields]).reshape(-1, 2)
    off = (np.linalg.norm(placed.pixels(mm) - see(lie(mm)), axis=1) / placed.px_per_mm).reshape(-1, 4)
    try:
        unsure = unsure_fields(placed)
    except InputError:
        return False, np.zeros(len(off), bool), off
    return placed.worst_mm <= WORST_MM, np.array([f.field not in unsure for f in page.fields]), off


def row(name: str, sheets: Iterable[tuple[bool, np.ndarray, np.ndarray]]) -> None:
    every = [*sheets]
    taken = [(read, off[read].max(axis=1)) for whole, read, off in every if whole]
    off = np.concatenate([o for _, o in taken]) if taken else np.zeros(1)
    share = 100 * np.mean(np.concatenate([r for r, _ in taken])) if taken else 0
    cells = f"{100 * len(taken) / len(every):.0f} % | {share:.0f} % | {np.percentile(off, 95):.2f} | {off.max():.2f}"
    print(f"| {name} | {cells} | {(off > 1).sum()} of {len(off)} |", flush=True)


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--sheets", type=int, default=300)
    parser.add_argument("--first", type=int, default=0)
    given = parser.parse_args()
    print("| sheet, by up to | taken | fields of these read | p95 | worst | fields over 1 mm off |")
    print("| --- | --- | --- | --- | --- | --- |")
    for hidden in (0, 1, 2):
        for kind, most in (*((k, 12.0) for k in BENDS), ("cockled", 3.0)):
            rng = np.random.default_rng((7, given.first, hidden, [*BENDS, "cockled"].index(kind)))
            sheets = (one_sheet(kind, rng.uniform(0, most), hidden, rng) for _ in range(given.sheets // 5))
            row(f"{kind}, {most:g} mm, {hidden} marks hidden", sheets)


if __name__ == "__main__":
    main()
