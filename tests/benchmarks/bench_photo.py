"""How well photographs teach: dabs, mixes, thin coats, corrections, marks; tables as in results/photo.md.

    python tests/benchmarks/bench_photo.py [--runs 24] [--cameras FOLDER]

With a folder of sensitivities (wavelength, red, green, blue) each of its cameras is judged with a prior learned on the
others.
"""

import argparse
import sys
import warnings
from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory

import cv2
import numpy as np
from PIL import Image

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests" / "photo"), str(ROOT / "tools")]
warnings.filterwarnings("ignore", module="colour")

import judged  # noqa: E402
import learn_camera_prior as prior  # noqa: E402
import simulated as sim  # noqa: E402
import test_chart  # noqa: E402

from finishplan.basics.errors import InputError  # noqa: E402
from finishplan.colour.light import delta_e, lab  # noqa: E402
from finishplan.paint.trust import TUBE_SCATTERING, TUBE_STRENGTH  # noqa: E402
from finishplan.photo import fit  # noqa: E402
from finishplan.photo.camera import with_others  # noqa: E402
from finishplan.photo.dab_page import Dab, dab_pages  # noqa: E402
from finishplan.photo.read import ODD_CAMERA, WORST_MISFIT, read_dabs, read_photo  # noqa: E402


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
        fit.phone_prior = lambda m=mean, c=covariance: with_others(m, c)  # type: ignore[assignment]
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


def chart(runs: int) -> None:
    """Dabs with a 24-patch chart beside the card, all lamps."""
    rng, R, off = np.random.default_rng(13), test_chart.chart_spectra(), []
    at = np.stack(np.meshgrid(np.linspace(0.1, 0.9, 6), np.linspace(1.05, 1.4, 4)), axis=-1).reshape(-1, 2)
    for _ in range(runs):
        mine = sim.tubes(judged.IDS, rng)
        phone = sim.phone(sim.sensitivities(sim.CAMERAS[0]), str(rng.choice(sim.LAMPS)), rng)
        shot, slope = judged.shot_of(mine, phone, rng)
        patches = phone.picture(R, judged.lit(at, slope), rng)
        both = replace(shot, known_rgb=patches, known_xy=at, known_xyz=test_chart.XYZ)
        dabs, xy = mine.mixed(judged.random_parts(rng, 30)), rng.uniform(0, 1, (30, 2))
        seen = phone.picture(dabs, judged.lit(xy, slope), rng)
        off.append(delta_e(fit.read_dab(both, fit.learn([both], judged.BOX).cameras[0], seen, xy), lab(dabs)))
    row("with a 24-patch chart, all lamps", np.concatenate(off))


def files(runs: int) -> None:
    """From a JPEG of a page of dabs, 3 megapixels, to the colours of its eight dabs."""
    rng, letters, off, z = np.random.default_rng(14), "ABCDEFGH", [], []
    page = dab_pages(judged.BOX, [Dab(c, f"mix {c}") for c in letters])[0]
    with TemporaryDirectory() as folder:
        for _ in range(runs):
            mine, lamp = sim.tubes(judged.IDS, rng), str(rng.choice(sim.LAMPS))
            parts = judged.random_parts(rng, len(letters))
            parts[:, mine.white] += rng.integers(0, 8, len(letters))
            R = mine.mixed(parts)
            seen = sim.photo_of(page, mine, rng, lamp=lamp, dabs=dict(zip(letters, R, strict=True)))
            file = Path(folder) / "dabs.jpg"
            Image.fromarray(seen).save(file, quality=90)
            try:
                photo = read_photo(file, [page])
                read = [read_dabs([photo], c, judged.BOX) for c in photo.dabs.mixes]
            except InputError as error:
                print(f"refused under {lamp}: {error}")
                continue
            off.append(delta_e(np.array([r.lab for r in read]), lab(R[[letters.index(c) for c in photo.dabs.mixes]])))
            z.append(off[-1] / [r.uncertainty for r in read])
    row("from a JPEG of the page of dabs, all lamps", np.concatenate(off))
    print(f"off by its told uncertainty: root mean square {np.sqrt(np.mean(np.concatenate(z) ** 2)):.2f}")


def tinged(rgb: np.ndarray, turn: float, chroma: float) -> np.ndarray:
    """Coded sRGB (n, 3) with its hue turned by degrees and its chroma times `chroma`, as filters do."""
    seen = cv2.cvtColor(rgb.astype(np.float32)[None], cv2.COLOR_RGB2LAB)[0]
    t = np.deg2rad(turn)
    seen[:, 1:] = chroma * seen[:, 1:] @ np.array([[np.cos(t), np.sin(t)], [-np.sin(t), np.cos(t)]], np.float32)
    return np.clip(cv2.cvtColor(seen[None], cv2.COLOR_LAB2RGB)[0], 0, 1).astype(np.float64)


def filters(runs: int) -> None:
    """What a slight filter costs dabs read beside the card in daylight, and how often it is refused."""
    print("\n| a filter over the whole picture | dabs | refused |\n| --- | --- | --- |")
    for turn, chroma in ((0, 1.0), (3, 1.0), (6, 1.0), (12, 1.0), (24, 1.0), (0, 1.1), (0, 1.25), (0, 1.5), (0, 0.7)):
        rng, off, refused = np.random.default_rng(15), [], 0
        for _ in range(runs):
            mine = sim.tubes(judged.IDS, rng)
            phone = sim.phone(sim.sensitivities(sim.CAMERAS[0]), str(rng.choice(sim.DAYLIGHT)), rng)
            shot, slope = judged.shot_of(mine, phone, rng)
            shot = replace(shot, rgb=tinged(shot.rgb, turn, chroma), paper_rgb=tinged(shot.paper_rgb, turn, chroma))
            found = fit.learn([shot], judged.BOX)
            refused += found.odd[0] > ODD_CAMERA or found.misfit > WORST_MISFIT
            R, xy = mine.mixed(judged.random_parts(rng, 30)), rng.uniform(0, 1, (30, 2))
            seen = tinged(phone.picture(R, judged.lit(xy, slope), rng), turn, chroma)
            off.append(delta_e(fit.read_dab(shot, found.cameras[0], seen, xy), lab(R)))
        every = np.concatenate(off)
        said = f"hue turned by {turn} degrees" if turn else f"chroma times {chroma:g}" if chroma != 1 else "none"
        print(f"| {said} | {np.median(every):.2f} / {np.percentile(every, 90):.2f} | {refused} of {runs} |", flush=True)


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
    chart(given.runs)
    files(given.runs)
    filters(given.runs // 2)
    tubes(given.runs // 2)
    pots(5 * given.runs)
    if given.cameras:
        others(given.cameras, given.runs)


if __name__ == "__main__":
    main()
