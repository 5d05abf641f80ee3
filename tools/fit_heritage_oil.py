"""Fit palettes/heritage-oil.csv and .toml: `python tools/fit_heritage_oil.py [OUT_FOLDER]`.

tests/reference/oil-films.csv holds the films of Geldof, Proano Gaibor, Ligterink, Hendriks, Kirchner,
Heritage Science 6:17 (2018), CC0 1.0. Only masstones, one tint of each pigment and the series of whites with bone black
are used. One least-squares problem for all pigments and wavelengths together, solved by Levenberg-Marquardt:
- data: cube roots of the reflectances over black and over white (near to lightness), one sigma NOISE;
- ln K changes smoothly over the wavelengths (second differences), ln S slowly (first differences);
- Saunderson's k1 and k2 once for the set, near 0.04 and 0.6 of a smooth film of index 1.5;
- what a hand-made film varies by, as a nuisance of each film: its thickness and its surface reflection;
- parts by mass become parts by volume with the paints' densities, handbook values that may move.
"""

import sys
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from heritage_films import PIGMENTS, WAXED, Array, Films, Published
from scipy.sparse import block_diag, csr_array, diags_array, hstack, vstack
from scipy.sparse.linalg import spsolve

from finishplan.colour.film import film, inverse_saunderson, saunderson
from finishplan.colour.light import delta_e, lab

NOISE = 0.015
SIGMA_LN_K, SIGMA_LN_S = 0.4, 0.08
SIGMA_THICKNESS, SIGMA_SURFACE, SIGMA_DENSITY = 0.10, 0.004, 0.3
K1, K2 = (0.04, 0.001), (0.6, 0.01)
FILM_MM = 0.1
"""Dry thickness of the films: not published with the figures; 0.1 mm in the csv, mended by the scale of the toml."""
_W, _P, _STEP = 31, len(PIGMENTS), 1e-5


@dataclass(frozen=True)
class Guess:
    """ln K, ln S (p, 31) per film thickness; ln thickness and surface offset (f,); ln density change (p,); k1, k2."""

    log_K: Array
    log_S: Array
    log_X: Array
    offset: Array
    log_density: Array
    k: Array

    @classmethod
    def of(cls, x: Array, films: int) -> "Guess":
        """Cut from one long vector."""
        at = np.cumsum([_P * _W, _P * _W, films, films, _P])
        K, S, X, offset, density, k = np.split(x, at)
        return cls(K.reshape(_P, _W), S.reshape(_P, _W), X, offset, density, k)


def volumes(mass: Array, log_density: Array) -> Array:
    """Shares by volume (f, p) of shares by mass, densities as in PIGMENTS times exp(log_density)."""
    share = mass / (np.array([p.density for p in PIGMENTS]) * np.exp(log_density))
    result: Array = share / share.sum(axis=1, keepdims=True)
    return result


class Fit:
    """The least-squares problem of some films."""

    def __init__(self, films: Films) -> None:
        self.films, self.f = films, len(films.names)
        second, first = np.diff(np.eye(_W), n=2, axis=0) / SIGMA_LN_K, np.diff(np.eye(_W), axis=0) / SIGMA_LN_S
        self.smooth = block_diag([second] * _P + [first] * _P).tocsr()
        self.sigma = np.concatenate(
            [
                np.full(self.f, SIGMA_THICKNESS),
                np.full(self.f, SIGMA_SURFACE),
                np.full(_P, SIGMA_DENSITY),
                [K1[1], K2[1]],
            ]
        )
        self.mean = np.append(np.zeros(2 * self.f + _P), [K1[0], K2[0]])

    def start(self) -> Array:
        """A mid-grey paint for every pigment, stronger scattering for whites, absorption for blacks."""
        white = np.array([p.ci.startswith("PW") for p in PIGMENTS])[:, None] * np.ones(_W)
        black = np.array([p.ci.startswith("PBk") for p in PIGMENTS])[:, None] * np.ones(_W)
        K, S = 0.5 - 3.5 * white + 2.5 * black, 0.5 + 1.5 * white
        return np.concatenate([K.ravel(), S.ravel(), self.mean])

    def layers(self, g: Guess) -> tuple[Array, Array, Array, Array, Array]:
        """K, S (f, 31) of the films, thickness and internal grounds, and their internal reflectances (f, 2, 31)."""
        share = volumes(self.films.mass, g.log_density)
        K, S = share @ np.exp(g.log_K), share @ np.exp(g.log_S)
        X = np.exp(g.log_X)[:, None, None]
        ground = inverse_saunderson(self.films.grounds, g.k[0], g.k[1])
        return K, S, X, ground, film(K[:, None], S[:, None], X, ground)

    def cube_roots(self, x: Array) -> Array:
        """What is seen of each film (f, 2, 31), its cube root over NOISE."""
        g = Guess.of(x, self.f)
        k1, r = (g.k[0] + g.offset)[:, None, None], self.layers(g)[-1]
        R = k1 + (1 - k1) * (1 - g.k[1]) * r / (1 - g.k[1] * r)
        result: Array = np.cbrt(np.maximum(R, 1e-4)) / NOISE
        return result

    def residuals(self, x: Array) -> Array:
        """Data, smoothness and nuisances, each over its sigma."""
        data = self.cube_roots(x) - np.cbrt(self.films.measured) / NOISE
        return np.concatenate(
            [data.ravel(), self.smooth @ x[: 2 * _P * _W], (x[2 * _P * _W :] - self.mean) / self.sigma]
        )

    def jacobian(self, x: Array) -> csr_array:
        """Derivatives of the residuals: a reading depends on its film's pigments there and its nuisances."""
        g, seen = Guess.of(x, self.f), self.cube_roots(x)
        K, S, X, ground, r = self.layers(g)
        R = (seen * NOISE) ** 3
        k1 = (g.k[0] + g.offset)[:, None, None]
        by_R = np.cbrt(R) ** -2 / 3 / NOISE
        by_r = by_R * (1 - k1) * (1 - g.k[1]) / (1 - g.k[1] * r) ** 2
        more = 1 + _STEP
        by = [
            by_r * (film((K * a)[:, None], (S * b)[:, None], X * c, ground) - r) / _STEP
            for a, b, c in ((more, 1, 1), (1, more, 1), (1, 1, more))
        ]
        share = volumes(self.films.mass, g.log_density)
        row = np.arange(seen.size).reshape(seen.shape)
        rows, columns, values = [], [], []
        for d, total, log_value, start in ((by[0], K, g.log_K, 0), (by[1], S, g.log_S, _P * _W)):
            for p in range(_P):
                held = np.flatnonzero(share[:, p] > 0)
                part = share[held, p, None] * np.exp(log_value[p]) / total[held]
                value = d[held] * part[:, None]
                rows.append(row[held].ravel())
                columns.append(np.broadcast_to(start + p * _W + np.arange(_W), value.shape).ravel())
                values.append(value.ravel())
        where = np.concatenate(rows), np.concatenate(columns)
        of_paints = csr_array((np.concatenate(values), where), shape=(seen.size, 2 * _P * _W))
        own = row.ravel(), np.repeat(np.arange(self.f), 2 * _W)
        of_films = [csr_array((d.ravel(), own), shape=(seen.size, self.f)) for d in (by[2], by_R * (1 - R) / (1 - k1))]
        last = []
        for j in range(len(x) - _P - 2, len(x)):
            moved = x.copy()
            moved[j] += _STEP
            last.append(((self.cube_roots(moved) - seen) / _STEP).ravel())
        data = hstack([of_paints, *of_films, csr_array(np.stack(last, axis=1))])
        return vstack([data, block_diag([self.smooth, diags_array(1 / self.sigma)])]).tocsc()

    def solve(self) -> Guess:
        """The least-squares solution."""
        x = self.start()
        residuals = self.residuals(x)
        cost, damping = float(residuals @ residuals), 1e-2
        for _ in range(200):
            J = self.jacobian(x)
            A, slope = (J.T @ J).tocsc(), J.T @ residuals
            for _ in range(10):
                moved = x + np.clip(-spsolve(A + damping * diags_array(A.diagonal()).tocsc(), slope), -1, 1)
                trial = self.residuals(moved)
                if trial @ trial < cost:
                    break
                damping *= 4
            else:
                break
            gain, x, residuals = cost - float(trial @ trial), moved, trial
            cost, damping = float(trial @ trial), max(damping / 5, 1e-8)
            if gain < 1e-6 * cost:
                break
        return Guess.of(x, self.f)


def differences(g: Guess, films: Films) -> Array:
    """CIEDE2000 (f, 2), over black and over white, of predicted films, nominally thick, from the measured ones."""
    share = volumes(films.mass, g.log_density)
    ground = inverse_saunderson(films.grounds, g.k[0], g.k[1])
    r = film((share @ np.exp(g.log_K))[:, None], (share @ np.exp(g.log_S))[:, None], 1.0, ground)
    return delta_e(lab(saunderson(r, g.k[0], g.k[1])), lab(films.measured))


def write(g: Guess, folder: Path) -> None:
    """The table, its constants in 1/mm to four significant digits, and its metadata."""
    lines = ["paint,constant," + ",".join(str(w) for w in range(400, 701, 10))]
    about = []
    for i, p in enumerate(PIGMENTS):
        for constant, values in (("K", g.log_K[i]), ("S", g.log_S[i])):
            lines.append(f"{p.id},{constant}," + ",".join(f"{v:.4g}" for v in np.exp(values) / FILM_MM))
        density = p.density * float(np.exp(g.log_density[i]))
        hazards = ", hazards = [" + ", ".join(f'"{h}"' for h in p.hazards) + "]" if p.hazards else ""
        about.append(
            f'{p.id} = {{ name = "{p.common}", ci = "{p.ci}", density = {density:.2f}, source = "G2018"{hazards} }}'
        )
    (folder / "heritage-oil.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    head = HEAD.format(k1=round(float(g.k[0]), 4), k2=round(float(g.k[1]), 4))
    (folder / "heritage-oil.toml").write_text(head + "\n".join(about) + "\n", encoding="utf-8")


HEAD = """# Written by tools/fit_heritage_oil.py together with heritage-oil.csv.
name = "historical oil paints"
binder = "oil"
k1 = {k1}
k2 = {k2}
historical = true
sources = [
    "G2018: Geldof, Proano Gaibor, Ligterink, Hendriks, Kirchner, Heritage Science 6:17, 2018 (data CC0 1.0)",
    "K and S: fitted to those films by this project; in the csv the films are taken as 0.1 mm thick when dry",
    "Densities: handbook values adjusted by the fit, to turn parts by mass into parts by volume; not for weighing",
]
cautions = [
    "Historical paints, for study: several are poisonous. Use none on what is handled, or where children are.",
    "Lead: lead white, minium, chrome yellow, eosin lead lake. Mercury: vermilion. Arsenic: emerald green.",
    "Lakes fade in light.",
]

# The films' own thickness was not found. Lead white in oil: handbooks give 15 to 18 square feet hidden by a pound of
# the pigment (from memory), a film of about 0.1 mm at half pigment by volume, S = 200-330 per mm; a bar with a gap of
# 0.1 mm leaves a film of about half of that (common practice), S = 150; and white lead was laid at 16 m2 per litre in
# two or three coats (from memory), S = 130-200.
[scale]
of = "lead-white"
per_mm = 200.0
range = [80.0, 330.0]
source = "hiding power of lead white in oil by old handbooks (from memory); how thick the films were was not found"

[paints]
"""


FILMS = Path(__file__).parents[1] / "tests" / "reference" / "oil-films.csv"


def main(out: Path) -> None:
    """Fit, write, and print how well films predict that took no part."""
    published = Published(FILMS)
    g = Fit(published.films(published.fitted())).solve()
    write(g, out)
    films = published.films(published.held_out())
    away = differences(g, films)
    for name, row in zip(films.names, away, strict=True):
        print(name, published.parts[name], row.round(1))
    judged = np.array([n[:2] not in WAXED for n in films.names])
    print(f"k1 {g.k[0]:.4f} k2 {g.k[1]:.4f}")
    for what, d in (
        ("fitted", differences(g, published.films(published.fitted()))),
        ("31", away[judged]),
        ("all", away),
    ):
        print(
            f"{what}: {d.size} readings, median {np.median(d):.2f}, 90 % {np.quantile(d, 0.9):.2f}, most {d.max():.1f}"
        )


if __name__ == "__main__":
    if len(sys.argv) > 2:
        sys.exit(__doc__)
    main(Path(sys.argv[1]) if len(sys.argv) == 2 else Path(__file__).parents[1] / "palettes")
