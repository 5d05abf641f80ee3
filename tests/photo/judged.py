"""What photographs teach, judged against simulated tubes and cameras that are known to the last figure."""

from dataclasses import dataclass, replace

import numpy as np
import simulated as sim

from finishplan.colour.light import delta_e, lab
from finishplan.paint.box import load_box
from finishplan.paint.model import Box
from finishplan.photo.card import card_pages
from finishplan.photo.correct import Drops, correct, with_added
from finishplan.photo.fit import learn, read_dab
from finishplan.photo.model import Calibration, DabColour, Shot

BOX = load_box()
IDS = tuple(p.id for p in BOX.paints)
PAGE = card_pages(BOX)[0]
DAB_SIGMA = 1.8
"""CIEDE2000, one sigma, of a dab read from one photograph (tests/benchmarks/results/photo.md)."""


@dataclass(frozen=True)
class Judged:
    """CIEDE2000 from the truth: dabs read, mixes predicted by the learned tubes and by the table's, thin coats of
    learned tubes over black."""

    dabs: np.ndarray
    mixes: np.ndarray
    table: np.ndarray
    thin: np.ndarray


def shot_of(mine: sim.Tubes, phone: sim.Phone, rng: np.random.Generator) -> tuple[Shot, np.ndarray]:
    """The card as read patch by patch, without its geometry, and the slope (2,) of the light over it."""
    slope = rng.normal(size=2)
    slope *= 0.15 / np.linalg.norm(slope)
    xy = np.array([f.read.middle for f in PAGE.fields]) / PAGE.size
    paper_xy = np.array([r.middle for r in PAGE.paper]) / PAGE.size
    R = sim.reflectances(PAGE, mine, rng)
    paper = np.tile(np.full(31, sim.PAPER) * (1 + 0.03 * np.sin(np.arange(31) / 6)), (len(paper_xy), 1))
    fields = tuple(f.field for f in PAGE.fields)
    return Shot(
        fields, phone.picture(R, lit(xy, slope), rng), xy, phone.picture(paper, lit(paper_xy, slope), rng), paper_xy
    ), slope


def lit(xy: np.ndarray, slope: np.ndarray) -> np.ndarray:
    """(n, 1) how strongly places are lit."""
    return (1 + (xy - 0.5) @ slope - 0.08 * ((xy - 0.5) ** 2).sum(axis=1))[:, None]


def random_parts(rng: np.random.Generator, count: int) -> np.ndarray:
    """(count, paints) of mixes of two to four paints, 1 to 6 parts each."""
    parts = np.zeros((count, len(IDS)))
    for row in parts:
        size = rng.integers(2, 5)
        row[rng.choice(len(IDS), size, replace=False)] = rng.integers(1, 7, size)
    return parts


def as_tubes(box: Box) -> sim.Tubes:
    K, S = (np.array([getattr(p, which) for p in box.paints]) for which in "KS")
    return sim.Tubes(IDS, K, S, IDS.index("titanium-white"), BOX.table.k1, BOX.table.k2)


def learned_box(found: Calibration) -> Box:
    return replace(BOX, paints=tuple(replace(t.paint, swatch_off=t.uncertainty) for t in found.tubes))


def judge(cameras: dict[str, np.ndarray], lamps: tuple[str, ...], runs: int, seed: int, photos: int = 1) -> Judged:
    """Random tubes, a card each, `photos` of it, thirty dabs. cameras: name -> sensitivities (31, 3)."""
    rng = np.random.default_rng(seed)
    rows = []
    for run in range(runs):
        sensitivity = list(cameras.values())[run % len(cameras)]
        lamp, mine = str(rng.choice(lamps)), sim.tubes(IDS, rng)
        taken = [sim.phone(sensitivity, lamp, rng) for _ in range(photos)]
        shots = [shot_of(mine, phone, rng) for phone in taken]
        found = learn([s for s, _ in shots], BOX)
        parts = random_parts(rng, 30)
        R, xy = mine.mixed(parts), rng.uniform(0, 1, (30, 2))
        read = [
            read_dab(shot, camera, phone.picture(R, lit(xy, slope), rng), xy)
            for (shot, slope), camera, phone in zip(shots, found.cameras, taken, strict=True)
        ]
        tubes, n = as_tubes(learned_box(found)), range(len(IDS))
        ground = float(sim.inverse_saunderson(sim.BAR, BOX.table.k1, BOX.table.k2))
        thin = [delta_e(lab(tubes.thin(i, 0.02, ground)), lab(mine.thin(i, 0.02, ground))) for i in n]
        rows.append(
            (
                delta_e(np.mean(read, axis=0), lab(R)),
                delta_e(lab(tubes.mixed(parts)), lab(R)),
                delta_e(lab(as_tubes(BOX).mixed(parts)), lab(R)),
                thin,
            )
        )
    return Judged(*(np.concatenate([np.ravel(row[i]) for row in rows]) for i in range(4)))


@dataclass(frozen=True)
class Corrected:
    """CIEDE2000 of pots from their aim, before, after one correction, after two; worse: share of first corrections
    that lost more than 0.3."""

    before: np.ndarray
    once: np.ndarray
    twice: np.ndarray
    worse: float


def correct_pots(pots: int, seed: int, *, measured: bool) -> Corrected:
    """Random pots of about twelve drops, poured by a hand a tenth off, each dab read with the spread that photographs
    have; measured: tubes known from a photographed card."""
    rng = np.random.default_rng(seed)
    found, boxes = [], [_measured(rng) for _ in range(4)] if measured else []
    for pot in range(pots):
        mine, box = boxes[pot % len(boxes)] if measured else (sim.tubes(IDS, rng), BOX)
        found.append(_one_pot(box, mine, rng))
    off = np.array(found)
    return Corrected(off[:, 0], off[:, 1], off[:, 2], float(np.mean(off[:, 1] > off[:, 0] + 0.3)))


def _measured(rng: np.random.Generator) -> tuple[sim.Tubes, Box]:
    mine = sim.tubes(IDS, rng)
    shot, _ = shot_of(mine, sim.phone(sim.sensitivities(sim.CAMERAS[0]), "D65", rng), rng)
    return mine, learned_box(learn([shot], BOX))


def _one_pot(box: Box, mine: sim.Tubes, rng: np.random.Generator) -> tuple[float, float, float]:
    parts = 2 * random_parts(rng, 1)[0]
    aim = lab(as_tubes(box).mixed(parts[None]))[0]
    poured = {IDS[i]: float(parts[i]) for i in np.flatnonzero(parts)}
    true = {id: n * float(np.exp(rng.normal(0, 0.1))) for id, n in poured.items()}
    off = [_off(mine, true, aim)]
    for times in range(2):
        dab = _look(mine, true) + rng.normal(0, 1.0, 3)
        said = correct(box, poured, DabColour(tuple(dab), DAB_SIGMA), tuple(aim), times=times)
        poured = with_added(poured, said.add, box)
        for one in said.add:
            loose = float(np.exp(rng.normal(0, 0.1)))
            more = with_added({}, (Drops(one.paint, one.drops, one.thinned),), box)
            true = {id: true.get(id, 0.0) + loose * more.get(id, 0.0) for id in (*true, *more)}
        off.append(_off(mine, true, aim))
    return off[0], off[1], off[2]


def _look(mine: sim.Tubes, drops: dict[str, float]) -> np.ndarray:
    return lab(mine.mixed(np.array([[drops.get(id, 0.0) for id in IDS]])))[0]


def _off(mine: sim.Tubes, drops: dict[str, float], aim: np.ndarray) -> float:
    return float(delta_e(_look(mine, drops), aim))
