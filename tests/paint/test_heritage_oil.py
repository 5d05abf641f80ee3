"""The historical table predicts measured films that took no part in its fit.

Geldof, Proano Gaibor, Ligterink, Hendriks, Kirchner, Heritage Science 6:17 (2018), data CC0 1.0: recipes by mass and
L*a*b* over black and over white (tests/reference/held-out-films.csv).
"""

import csv
import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from test_tables import REFERENCE, ROOT, tool

from finishplan.colour.film import film, inverse_saunderson, saunderson
from finishplan.colour.light import delta_e, lab
from finishplan.paint.box import load_box
from finishplan.paint.settings import MixSettings
from finishplan.paint.shelf import make_shelf
from finishplan.paint.table import load_table, shipped_table
from finishplan.paint.trust import expect_within


def rows(path: Path) -> list[dict[str, str]]:
    with path.open() as file:
        return list(csv.DictReader(line for line in file if not line.startswith("#")))


def differences() -> tuple[np.ndarray, np.ndarray]:
    """CIEDE2000 (films, 2) over black and over white, and which films hold no wax."""
    table = load_table(shipped_table("heritage-oil"))
    grounds = np.array([[float(v) for v in list(r.values())[1:]] for r in rows(REFERENCE / "film-grounds.csv")])
    films = rows(REFERENCE / "held-out-films.csv")
    mass = np.array([[float(f[p.id]) for p in table.paints] for f in films])
    volume = mass / np.array([p.density for p in table.paints])
    volume /= volume.sum(axis=1, keepdims=True)
    K, S = (volume @ np.array([getattr(p, c) for p in table.paints]) for c in "KS")
    ground = inverse_saunderson(grounds, table.k1, table.k2)
    assert table.scale is not None  # the films are 0.1 mm thick in the numbers of the file
    thick = 0.1 / table.scale.times
    predicted = lab(saunderson(film(K[:, None], S[:, None], thick, ground), table.k1, table.k2))
    measured = np.array([[[float(f[f"{c}_{g}"]) for c in "Lab"] for g in ("black", "white")] for f in films])
    return delta_e(predicted, measured), np.array([f["waxed"] == "0" for f in films])


def test_held_out_films() -> None:
    """62 readings of 31 films: median 2.12 (2.0 was aimed at and not reached) and 90th percentile 5.49.

    A plain fit of each wavelength by itself reaches 2.4 to 2.9 and 7.1 to 8.3 (see the notes for developers).
    """
    away, judged = differences()
    assert away[judged].size == 62
    assert away.size == 70
    assert np.median(away[judged]) <= 2.15
    assert np.quantile(away[judged], 0.9) <= 5.5
    assert np.median(away) <= 2.4
    assert np.quantile(away, 0.9) <= 6.7


def test_mixes_of_two_paints_lie_within_what_is_expected() -> None:
    """Each held-out film is of a pigment and white, or of a pigment and black. What a plan expects (the hand left out)
    holds 61 of 62 readings. The tubes are those of the fit, so the tube's share vouches for more than it has to: the
    model's share alone, 1.5, holds 38 where it ought to hold 59; how thick the films are is part of that.
    """
    table = load_table(shipped_table("heritage-oil"))
    box = load_box(shipped_table("heritage-oil"), own=tuple(p.id for p in table.paints))
    shelf, density = make_shelf(box, MixSettings(premixes=False)), np.array([p.density for p in box.paints])
    away, judged = differences()
    expected = []
    for film_row in rows(REFERENCE / "held-out-films.csv"):
        mass = np.array([float(film_row[p.id]) for p in box.paints])
        used = np.flatnonzero(mass)
        assert len(used) == 2
        expected.append(expect_within(shelf, used, (mass / density)[used], hand=0.0))
    inside = away[judged] <= np.array(expected)[judged, None]
    assert 60 <= inside.sum() <= 62 == inside.size
    assert np.median(np.array(expected)[judged]) < 4 * np.median(away[judged]), "expected is no empty promise"


def test_fit_gives_the_shipped_table_on_any_number_of_threads(tmp_path: Path) -> None:
    """The same bytes on one thread and on two, and the shipped constants to a thousandth (a last digit may turn
    with the arithmetic of a machine)."""
    written = []
    for threads in ("1", "2"):
        out = tmp_path / threads
        out.mkdir()
        script = [sys.executable, str(ROOT / "tools" / "fit_heritage_oil.py"), str(out)]
        names = ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS")
        subprocess.run(script, check=True, capture_output=True, env=os.environ | dict.fromkeys(names, threads))
        written.append([(out / f"heritage-oil.{kind}").read_bytes() for kind in ("csv", "toml")])
    assert written[0] == written[1]
    again, shipped = (load_table(f / "heritage-oil.csv") for f in (tmp_path / "1", ROOT / "palettes"))
    assert [p.id for p in again.paints] == [p.id for p in shipped.paints]
    assert (again.k1, again.k2) == (pytest.approx(shipped.k1, rel=1e-3), pytest.approx(shipped.k2, rel=1e-3))
    for one, other in zip(again.paints, shipped.paints, strict=True):
        np.testing.assert_allclose(one.K, other.K, rtol=2e-3)
        np.testing.assert_allclose(one.S, other.S, rtol=2e-3)
        assert one.hazards == other.hazards


def test_held_out_films_take_no_part() -> None:
    films = tool("heritage_films").Published(REFERENCE / "oil-films.csv")
    assert not set(films.fitted()) & set(films.held_out())
    held = {f["film"] for f in rows(REFERENCE / "held-out-films.csv")}
    assert held == set(films.held_out())
