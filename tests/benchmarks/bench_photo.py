"""How well photographs teach: dabs, mixes, thin coats, corrections, marks; tables as in results/photo.md.

    python tests/benchmarks/bench_photo.py [--runs 24] [--cameras FOLDER]

With a folder of sensitivities (wavelength, red, green, blue) each of its cameras is judged with a prior learned on the
others.
"""

import argparse
import sys
import warnings
from pathlib import Path

import numpy as np

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests" / "photo"), str(ROOT / "tools")]
warnings.filterwarnings("ignore", module="colour")

import judged  # noqa: E402
import learn_camera_prior as prior  # noqa: E402
import simulated as sim  # noqa: E402

from finishplan.paint.trust import TUBE_SCATTERING, TUBE_STRENGTH  # noqa: E402
from finishplan.photo import fit  # noqa: E402
from finishplan.photo.camera import CameraPrior  # noqa: E402


def row(name: str, *sets: np.ndarray) -> None:
    """A row of a Markdown table: median / 90 % of each set."""
    cells = (f"{np.median(s):.2f} / {np.percentile(s, 90):.2f}" for s in sets)
    print(f"| {name} | {' | '.join(cells)} |", flush=True)


def cameras(name: str, sensitivity: np.ndarray, runs: int) -> None:
    for lamps, said in ((sim.LAMPS, "all lamps"), (sim.DAYLIGHT, "daylight")):
        found = judged.judge({name: sensitivity}, lamps, runs, seed=9)
        row(f"{name}, {said}", found.dabs, found.mixes, found.table, found.thin)
    three = judged.judge({name: sensitivity}, sim.DAYLIGHT, runs // 2, seed=9, photos=3)
    row(f"{name}, daylight, three photographs", three.dabs, three.mixes, three.table, three.thin)


def others(folder: Path, runs: int) -> None:
    """Each camera of a folder, the prior learned on the rest."""
    held = prior.read_cameras(folder)
    for i, sensitivity in enumerate(held):
        mean, covariance, _ = prior.learn([c for k, c in enumerate(held) if k != i], 200)
        fit.phone_prior = lambda m=mean, c=covariance: CameraPrior(m, c)  # type: ignore[assignment]
        cameras(f"phone {i + 1}", sensitivity, runs)


def tubes(runs: int) -> None:
    """What a photograph leaves of a tube's strength and scattering, by the spread that tubes have."""
    rng, off = np.random.default_rng(2), []
    for _ in range(runs):
        mine = sim.tubes(judged.IDS, rng)
        shot, _ = judged.shot_of(mine, sim.phone(sim.sensitivities(sim.CAMERAS[0]), "D65", rng), rng)
        for tube, K, S in zip(fit.learn([shot], judged.BOX).tubes, mine.K, mine.S, strict=True):
            if tube.paint.id != judged.BOX.white:
                strength = float(np.mean(np.log(tube.paint.K / K)))
                off.append((strength, float(np.mean(np.log(tube.paint.S / S))) - strength))
    left = np.sqrt(np.mean(np.square(off), axis=0)) / (TUBE_STRENGTH, TUBE_SCATTERING)
    print(f"\nleft of a tube's spread: strength {left[0]:.2f}, scattering {left[1]:.2f}")


def pots(count: int) -> None:
    print("\n| pots | before | once | twice | made worse |\n| --- | --- | --- | --- | --- |")
    for measured in (False, True):
        found = judged.correct_pots(count, 1, measured=measured)
        name = "measured tubes" if measured else "table's tubes"
        cells = (f"{np.median(s):.2f} / {np.percentile(s, 90):.2f}" for s in (found.before, found.once, found.twice))
        print(f"| {name} | {' | '.join(cells)} | {100 * found.worse:.0f} % |", flush=True)


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--runs", type=int, default=24)
    parser.add_argument("--cameras", type=Path)
    given = parser.parse_args()
    print("| CIEDE2000, median / 90 % | dabs | mixes | mixes by the table | thin coat over black |")
    print("| --- | --- | --- | --- | --- |")
    for name in sim.CAMERAS:
        cameras(name, sim.sensitivities(name), given.runs)
    cameras("no phone: three-layer sensor", sim.sensitivities("Sigma SDMerill (NPL)"), given.runs // 2)
    tubes(given.runs // 2)
    pots(5 * given.runs)
    if given.cameras:
        others(given.cameras, given.runs)


if __name__ == "__main__":
    main()
