"""One least-squares fit of camera and tubes at once: the maker's own paints are the chart.

The unknowns, each in units of its prior's one sigma: 32 numbers a photograph (camera.py), 6 terms a paint, one number a
tint or thin coat, one for the printed black (tubes.py). Residuals: L*a*b* of each field as the picture shows it less
as the tubes predict it, weighed as CIEDE2000 weighs chroma; large ones count by their size only (Huber).
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from finishplan.colour.hiding import BRUSH_COAT_MM
from finishplan.colour.light import delta_e, lab, lab_from_xyz
from finishplan.paint.model import Box, Paint
from finishplan.photo.camera import (
    GAIN,
    SIZE,
    decoded,
    light_at,
    phone_prior,
    scene_lab,
    without_stray,
    without_tone,
)
from finishplan.photo.model import TINT_SHARE, Calibration, LearnedTube, Shot
from finishplan.photo.tubes import BAR_REFLECTANCE, BAR_SPREAD, COAT_SPREAD, TERMS, TubeModel, tube_model

Array = NDArray[np.float64]

WHITE_SEEN = 0.88
"""XYZ / white of a usual white paint, by which the exposure is first set (common practice: L* 95)."""
NOISE = 1.0
"""CIEDE2000, one sigma, of a field read by a camera that is known (tools/learn_camera_prior.py: 1.25 at the median)."""
HUBER = 2.0
"""Sigmas beyond which a field counts by its size only (our rule)."""
_STEP = 1e-5


def white_gain(white_light: Array) -> Array:
    """(3,) logarithm of the gain that brings the white paint's light (3,), without stray light, to WHITE_SEEN."""
    result: Array = np.log(WHITE_SEEN / np.maximum(white_light, 1e-4))
    return result


@dataclass(frozen=True, eq=False)
class _Problem:
    """All shots over one list of fields: `at` says which of them (indices) each shot shows, in its own order, and
    `white` which of its own is the white paint at full strength."""

    shots: tuple[Shot, ...]
    linear: tuple[Array, ...]
    paper: tuple[Array, ...]
    model: TubeModel
    at: tuple[NDArray[np.int64], ...]
    white: tuple[int, ...]
    weight: Array

    @property
    def paints(self) -> int:
        return len(self.model.K)

    @property
    def fields(self) -> int:
        return len(self.model.tube)

    @property
    def size(self) -> int:
        return SIZE * len(self.shots) + TERMS * self.paints + self.fields + 1

    def split(self, x: Array) -> tuple[Array, Array, Array, float]:
        """Cameras (s, 32), tubes (p, 6), fields (n,), bar, in units of their priors."""
        a = SIZE * len(self.shots)
        b = a + TERMS * self.paints
        return x[:a].reshape(-1, SIZE), x[a:b].reshape(-1, TERMS), x[b:-1], float(x[-1])

    def camera(self, i: int, z: Array) -> Array:
        """(32,) numbers of shot i's camera, gain absolute, from units of the prior."""
        prior = phone_prior()
        # From units of the prior's sigma to numbers: all unknowns then weigh alike in the fit.
        c = prior.mean + np.linalg.cholesky(prior.covariance) @ z
        light = self.light(i, c, self.linear[i], self.shots[i].xy)
        # The white paint sets the exposure, so the prior need only hold how gains differ from that.
        c[GAIN] += white_gain(light[self.white[i]])
        return c

    def light(self, i: int, camera: Array, linear: Array, xy: Array) -> Array:
        """(n, 3) light of places of shot i before the tone curve, as if all were lit alike."""
        shot = self.shots[i]
        return _even(camera, (self.paper[i], shot.paper_xy), (linear, xy))

    def read(self, i: int, z: Array) -> Array:
        """(n + k, 3) L*a*b* of shot i's fields, then of its chart."""
        shot, c = self.shots[i], self.camera(i, z)
        linear = np.concatenate([self.linear[i], decoded(shot.known_rgb)])
        return scene_lab(self.light(i, c, linear, np.concatenate([shot.xy, shot.known_xy])), c)

    def predicted(self, z: Array, loose: Array, bar: float) -> Array:
        return lab(self.model.seen(z, loose, bar))

    def misfit(self, x: Array) -> Array:
        """Residuals of the fields and charts, shot by shot, then the priors'."""
        cameras, z, loose, bar = self.split(x)
        want = self.predicted(z, loose, bar)
        rows = [self._off(i, self.read(i, c), want) for i, c in enumerate(cameras)]
        # The unknowns themselves are residuals: that is the prior, and it keeps the slopes of full rank.
        return np.concatenate([*rows, x])

    def _off(self, i: int, read: Array, want: Array) -> Array:
        known = lab_from_xyz(self.shots[i].known_xyz)
        off: Array = (read - np.concatenate([want[self.at[i]], known])) / self._scale(i, known)
        return off.ravel()

    def _scale(self, i: int, known: Array) -> Array:
        return np.concatenate([self.weight[self.at[i]], _tolerance(known)])

    def slope(self, x: Array) -> Array:
        """Differences: all cameras at once, all tubes but the white at once, all fields at once, as their rows are
        apart."""
        cameras, z, loose, bar = self.split(x)
        want = self.predicted(z, loose, bar)
        reads = [self.read(i, c) for i, c in enumerate(cameras)]
        rows = [self._off(i, r, want).size for i, r in enumerate(reads)]
        J = np.zeros((sum(rows), self.size))
        painted = -self._tube_slope(z, loose, bar, want) / self.weight[:, :, None]
        start = 0
        for i, read in enumerate(reads):
            here = slice(start, start + rows[i])
            for k in range(SIZE):
                moved = cameras[i].copy()
                moved[k] += _STEP
                J[here, SIZE * i + k] = (
                    (self.read(i, moved) - read) / self._scale(i, lab_from_xyz(self.shots[i].known_xyz))
                ).ravel() / _STEP
            shown = painted[self.at[i]].reshape(-1, painted.shape[2])
            J[start : start + len(shown), SIZE * len(self.shots) :] = shown
            start += rows[i]
        return np.concatenate([J, np.eye(self.size)])

    def _tube_slope(self, z: Array, loose: Array, bar: float, want: Array) -> Array:
        """(n, 3, 6 p + n + 1) slopes of what is predicted."""
        n, p = self.fields, self.paints
        J = np.zeros((n, 3, TERMS * p + n + 1))
        white, one = self.model.white, np.arange(n)
        for k in range(TERMS):
            moved = z.copy()
            # All tubes but the white at once, since none of them is in another's fields.
            moved[np.arange(p) != white, k] += _STEP
            J[one, :, TERMS * self.model.tube + k] = (self.predicted(moved, loose, bar) - want) / _STEP
            moved = z.copy()
            # The white is in every tint, so it moves on its own.
            moved[white, k] += _STEP
            J[:, :, TERMS * white + k] = (self.predicted(moved, loose, bar) - want) / _STEP
        J[one, :, TERMS * p + one] = (self.predicted(z, loose + _STEP, bar) - want) / _STEP
        J[:, :, -1] = (self.predicted(z, loose, bar + _STEP) - want) / _STEP
        return J


def _tolerance(colours: Array) -> Array:
    """(n, 3) what counts as one sigma in L*, a*, b*: chroma weighs less the stronger a colour (CIE94's S_C and S_H,
    their mean)."""
    chroma = np.hypot(colours[:, 1], colours[:, 2])
    ab = 1 + 0.03 * chroma
    return NOISE * np.stack([np.ones_like(ab), ab, ab], axis=1)


def learn(shots: Sequence[Shot], box: Box) -> Calibration:
    """Cameras and tubes from photographs of one card, any page of it any number of times.

    Raises nothing for odd pictures: `misfit` and each tube's `uncertainty` tell how far to trust the result.
    """
    from scipy.optimize import least_squares

    problem = _problem(shots, box)
    found = least_squares(
        problem.misfit, np.zeros(problem.size), jac=problem.slope, loss="huber", f_scale=HUBER, x_scale=1.0, max_nfev=60
    )
    # Gauss-Newton; the priors' rows make it invertible even for a tube that one field shows.
    covariance = np.linalg.inv(found.jac.T @ found.jac)
    return _calibration(problem, found.x, covariance, box)


def _problem(shots: Sequence[Shot], box: Box) -> _Problem:
    # A field photographed twice is one field with two readings: its tint's ratio is one unknown.
    fields = tuple(dict.fromkeys(f for shot in shots for f in shot.fields))
    place = {f: i for i, f in enumerate(fields)}
    white = next(i for i, p in enumerate(box.paints) if p.id == box.white)
    model = tube_model(box.paints, white, fields, box.table.k1, box.table.k2)
    first = lab(model.seen(np.zeros((len(box.paints), TERMS)), np.zeros(len(fields)), 0.0))
    return _Problem(
        tuple(shots),
        tuple(decoded(s.rgb) for s in shots),
        tuple(decoded(s.paper_rgb) for s in shots),
        model,
        tuple(np.array([place[f] for f in s.fields]) for s in shots),
        tuple(next(i for i, f in enumerate(s.fields) if f.paint == box.white and f.kind == "full") for s in shots),
        # Weights from the first prediction and then fixed: weights that move with the fit would reward strong colours.
        _tolerance(first),
    )


@dataclass(frozen=True, eq=False)
class _Solved:
    """The unknowns as fitted, in units of their priors: tubes (p, 6), fields (n,), and the covariance of all."""

    tubes: Array
    fields: Array
    covariance: Array


def _calibration(problem: _Problem, x: Array, covariance: Array, box: Box) -> Calibration:
    cameras, z, loose, bar = problem.split(x)
    want = problem.predicted(z, loose, bar)
    off = np.concatenate(
        [delta_e(problem.read(i, c)[: len(problem.at[i])], want[problem.at[i]]) for i, c in enumerate(cameras)]
    )
    solved = _Solved(z, loose, covariance)
    tubes = tuple(_tube(problem, solved, i, paint) for i, paint in enumerate(box.paints))
    return Calibration(
        tubes,
        tuple(problem.camera(i, c) for i, c in enumerate(cameras)),
        tuple(_loose(problem, i, c, covariance) for i, c in enumerate(cameras)),
        tuple(float(c @ c) for c in cameras),
        float(np.sqrt(np.mean(np.square(off)))),
        float(BAR_REFLECTANCE * np.exp(BAR_SPREAD * bar)),
    )


def _loose(problem: _Problem, i: int, z: Array, covariance: Array) -> Array:
    """(32, 32) camera i moved by one sigma along each axis of its covariance."""
    here = slice(SIZE * i, SIZE * (i + 1))
    # A trace of the unit matrix: rounding may leave a covariance a hair short of positive.
    steps = np.linalg.cholesky(covariance[here, here] + 1e-12 * np.eye(SIZE))
    return np.array([problem.camera(i, z + step) for step in steps.T])


def _tube(problem: _Problem, solved: _Solved, i: int, paint: Paint) -> LearnedTube:
    model, z = problem.model, solved.tubes
    K, S = model.constants(z)
    # x[0] and x[1] are logarithms of the tube's strength and scattering against the table's.
    x = z[i] * model.spread[i]
    none = np.zeros(2, bool)
    swatches = replace(model, tube=np.array([i, i]), share=np.array([1.0, TINT_SHARE]), thin=none, bar=none)

    def look(terms: Array) -> Array:
        return lab(swatches.seen(terms, np.zeros(2), 0.0))

    here, table = look(z), look(np.where(np.arange(len(z))[:, None] == i, 0.0, z))
    a = SIZE * len(problem.shots) + TERMS * i
    block = solved.covariance[a : a + TERMS, a : a + TERMS]
    steps = np.linalg.cholesky(block + 1e-12 * np.eye(TERMS))
    moved = [look(np.where(np.arange(len(z))[:, None] == i, z + s, z)) for s in steps.T]
    spread = float(np.sqrt(np.sum(np.square([delta_e(m, here) for m in moved]), axis=0)).max())
    coat = [k for k, t in enumerate(model.tube) if t == i and model.thin[k]]
    return LearnedTube(
        replace(paint, K=K[i], S=S[i]),
        float(np.exp(x[0])),
        float(np.exp(x[1])),
        _triple(here[0]),
        _triple(here[1]),
        _triple(table[0]),
        _triple(table[1]),
        spread,
        float(1000 * BRUSH_COAT_MM * np.exp(COAT_SPREAD * solved.fields[coat[0]])) if coat else None,
        float(z[i] @ z[i]),
    )


def _triple(values: Array) -> tuple[float, float, float]:
    L, a, b = values.tolist()
    return L, a, b


def read_dab(shot: Shot, camera: Array, rgb: Array, xy: Array) -> Array:
    """(n, 3) L*a*b* of other patches, coded sRGB rgb (n, 3) at xy (n, 2), of a shot whose camera (32,) is known."""
    return scene_lab(lit_light(shot, camera, rgb, xy), camera)


def lit_light(shot: Shot, camera: Array, rgb: Array, xy: Array) -> Array:
    """(n, 3) light of patches of a shot before the tone curve, as if all were lit alike."""
    return _even(camera, (decoded(shot.paper_rgb), shot.paper_xy), (decoded(rgb), xy))


def _even(camera: Array, paper: tuple[Array, Array], patches: tuple[Array, Array]) -> Array:
    """(n, 3) the same, of bare paper and patches, each its linear light (n, 3) and places (n, 2)."""
    bare, light = (without_stray(without_tone(linear, camera), camera, xy) for linear, xy in (paper, patches))
    result: Array = light / light_at(bare, paper[1], patches[1])
    return result
