"""A chart of 24 published patches (N. Ohta's spectra, 1997, as colour-science carries them) beside the card."""

from dataclasses import replace

import numpy as np
import pytest
import simulated as sim
from judged import BOX, IDS, lit, random_parts, shot_of

from finishplan.basics.errors import InputError
from finishplan.basics.text_files import shipped_toml
from finishplan.colour.light import delta_e, lab
from finishplan.photo.chart import COLUMNS, ROWS, corners_of, read_chart
from finishplan.photo.fit import learn, read_dab

XYZ = np.array(shipped_toml("photo/data/chart.toml")["xyz"])


def chart_spectra() -> np.ndarray:
    import colour

    shape = colour.SpectralShape(400, 700, 10)
    patches = colour.SDS_COLOURCHECKERS["ColorChecker N Ohta"]
    return np.array([sd.copy().align(shape).values for sd in patches.values()])


def test_dabs_beside_a_chart() -> None:
    rng, R, off = np.random.default_rng(4), chart_spectra(), []
    for run in range(5):
        mine = sim.tubes(IDS, rng)
        phone = sim.phone(sim.sensitivities(sim.CAMERAS[0]), sim.LAMPS[4 * run], rng)  # every fourth of them
        shot, slope = shot_of(mine, phone, rng)
        at = np.stack(np.meshgrid(np.linspace(0.1, 0.9, COLUMNS), np.linspace(1.05, 1.4, ROWS)), axis=-1).reshape(-1, 2)
        both = replace(shot, known_rgb=phone.picture(R, lit(at, slope), rng), known_xy=at, known_xyz=XYZ)
        dabs, xy = mine.mixed(random_parts(rng, 30)), rng.uniform(0, 1, (30, 2))
        camera = learn([both], BOX).cameras[0]
        off.append(delta_e(read_dab(both, camera, phone.picture(dabs, lit(xy, slope), rng), xy), lab(dabs)))
    assert np.median(off) <= 1.9 and np.percentile(off, 90) <= 4.3


def test_patches_are_read_where_they_lie() -> None:
    rng = np.random.default_rng(1)
    colours = rng.integers(30, 220, (ROWS, COLUMNS, 3)).astype(np.uint8)
    picture = np.pad(np.kron(colours, np.ones((40, 40, 1), np.uint8)), ((50, 50), (60, 60), (0, 0)))
    right, low = 60 + 40 * COLUMNS, 50 + 40 * ROWS
    corners = corners_of(f"60,50 {right},50 {right},{low} 60,{low}")
    rgb, places, xyz = read_chart(picture, corners)
    assert np.allclose(rgb * 255, colours.reshape(-1, 3), atol=0.6) and np.allclose(places[0], (80, 70), atol=0.5)
    assert xyz.shape == (24, 3)


@pytest.mark.parametrize("said", ["", "1,2 3,4", "0,0 9,9 9,0 0,9", "a,b c,d e,f g,h"])
def test_corners_that_are_none(said: str) -> None:
    with pytest.raises(InputError, match="not four corners"):
        corners_of(said)


def test_a_corner_outside() -> None:
    with pytest.raises(InputError, match="outside"):
        read_chart(np.zeros((100, 100, 3), np.uint8), corners_of("0,0 200,0 200,90 0,90"))
