"""Learn what phones are like: mean and covariance of a camera's 26 numbers over simulated photographs.

`python tools/learn_camera_prior.py FOLDER [--photos 400]` reads published sensitivities (wavelength, red, green, blue)
from the CSV files of FOLDER and writes finishplan/photo/data/camera_prior.toml. The photographs are those of
tests/photo/simulated.py; cameras that tests judge with take no part.
"""

import csv
import sys
from pathlib import Path

import numpy as np
from scipy.optimize import least_squares

ROOT = Path(__file__).parents[1]
sys.path[:0] = [str(ROOT), str(ROOT / "tests" / "photo")]

import simulated  # noqa: E402

from finishplan.colour.light import delta_e, lab  # noqa: E402
from finishplan.paint.table import load_table  # noqa: E402
from finishplan.photo.camera import GAIN, LEARNED, MATRIX, SIZE, STRAY, TONE, decoded, scene_lab, without_tone  # noqa: E402
from finishplan.photo.fit import white_gain  # noqa: E402

OTHER_TONES = (0.15, 0.35)
"""By how much, one sigma, the tone curve's two numbers are left freer than our one renderer varies them: renderers with
other curves are read better, ours as well (tests/benchmarks/results/photo.md)."""
SHIPPED = ROOT / "finishplan" / "photo" / "data" / "camera_prior.toml"
SRGB_TO_XYZ = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]])


def read_cameras(folder: Path) -> list[np.ndarray]:
    """(31, 3) each, from files of wavelength, red, green, blue."""
    found = []
    for path in sorted(folder.glob("*.csv")):
        with path.open(encoding="utf-8") as file:
            rows = np.array([row for row in csv.reader(file) if row][1:], dtype=float)
        found.append(np.maximum(rows[:, 1:], 0))
    return found


def plain() -> tuple[np.ndarray, np.ndarray]:
    """Mean and deviation of the weak prior each photograph is fitted with: a camera that renders sRGB plainly."""
    mean, sigma = np.zeros(LEARNED), np.zeros(LEARNED)
    mean[TONE], sigma[TONE] = (0.0, 0.35), (0.15, 0.3)
    mean[STRAY], sigma[STRAY] = 0.006, 0.01
    sigma[GAIN] = 0.1
    mean[MATRIX] = np.concatenate([SRGB_TO_XYZ.T, np.zeros((3, 3))]).ravel()
    sigma[MATRIX] = 0.35
    return mean, sigma


def one_photo(sensitivity: np.ndarray, rng: np.random.Generator) -> tuple[np.ndarray, float]:
    """The numbers of one simulated photograph and their median error, CIEDE2000."""
    ids = tuple(p.id for p in load_table(None).paints if "cadmium" not in p.id)
    mine = simulated.tubes(ids, rng)
    phone = simulated.phone(sensitivity, str(rng.choice(simulated.LAMPS)), rng)
    parts = np.eye(len(ids))[rng.integers(len(ids), size=160)] * rng.uniform(0.02, 1, (160, 1))
    parts += np.eye(len(ids))[rng.integers(len(ids), size=160)] * rng.uniform(0, 1, (160, 1))
    parts[:, mine.white] += rng.choice([0, 0, 1, 5], size=160)
    white = np.eye(len(ids))[[mine.white]]
    R = mine.mixed(np.concatenate([white, parts]))
    linear, aim = decoded(phone.picture(R, 1.0, rng)), lab(R)
    mean, sigma = plain()

    def read(x: np.ndarray) -> np.ndarray:
        camera = np.append(x, np.zeros(SIZE - LEARNED))
        light = without_tone(linear, camera) - camera[STRAY]
        camera[GAIN] += white_gain(light[0])
        return scene_lab(light, camera)

    def misfit(x: np.ndarray) -> np.ndarray:
        return np.concatenate([(read(x) - aim).ravel(), 2 * (x - mean) / sigma])

    x = least_squares(misfit, mean, loss="huber", f_scale=3.0).x
    return x, float(np.median(delta_e(read(x), aim)))


def learn(cameras: list[np.ndarray], photos: int, seed: int = 1) -> tuple[np.ndarray, np.ndarray, float]:
    """Mean (26,), covariance (26, 26) and the median error of the fits."""
    rng = np.random.default_rng(seed)
    fitted = [one_photo(cameras[i % len(cameras)], rng) for i in range(photos)]
    values = np.array([x for x, _ in fitted])
    covariance = np.cov(values.T)
    covariance = 1.3 * covariance + np.diag(0.02 * np.diag(covariance) + 1e-6)
    covariance[TONE, TONE] += np.diag(np.square(OTHER_TONES))
    # not medians: taken number by number they break what ties the numbers together, and white lay 2.7 L* too light
    return values.mean(axis=0), covariance, float(np.median([off for _, off in fitted]))


def main(folder: Path, photos: int) -> None:
    mean, covariance, off = learn(read_cameras(folder), photos)
    lines = [
        "# Written by tools/learn_camera_prior.py: a camera's 26 numbers over simulated photographs, gain relative to",
        "# the white paint's. Sensitivities: Tominaga, Nishi, Ohtera, Sensors 21:4985 (2021); Burggraaff et al.,",
        f"# Optics Express 27:19075 (2019). {photos} photographs, 17 CIE illuminants. Median error of fits {off:.2f}.",
        f"# The tone curve's two numbers are left freer than they vary there, by {OTHER_TONES}.",
        "mean = [" + ", ".join(f"{v:.6g}" for v in mean) + "]",
        "covariance = [",
        *("    [" + ", ".join(f"{v:.5g}" for v in row) + "]," for row in covariance),
        "]",
    ]
    SHIPPED.write_text("\n".join(lines) + "\n", encoding="utf-8")
    print(f"median error of the fits: {off:.2f}")


if __name__ == "__main__":
    main(Path(sys.argv[1]), int(sys.argv[3]) if len(sys.argv) > 3 else 400)
