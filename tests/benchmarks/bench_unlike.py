"""Cards and pots photographed by cameras and renderers unlike those that the prior was learned with (unlike.py).

    python tests/benchmarks/bench_unlike.py [--cards 10] [--pages 8] [--first 0] [--kept]

--kept: the renderers and draws that took no part in choosing anything.
"""

import argparse
import warnings
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import unlike

warnings.filterwarnings("ignore", module="colour")

import judged as J  # noqa: E402
import simulated as sim  # noqa: E402

from finishplan.basics.errors import InputError  # noqa: E402
from finishplan.colour.light import delta_e, lab  # noqa: E402
from finishplan.paint.model import Box  # noqa: E402
from finishplan.photo import read  # noqa: E402
from finishplan.photo.correct import correct, with_added  # noqa: E402
from finishplan.photo.dab_page import Dab, dab_pages  # noqa: E402
from finishplan.photo.fit import learn, read_dab  # noqa: E402
from finishplan.photo.marks import Placed  # noqa: E402
from finishplan.photo.patches import Dabs  # noqa: E402
from finishplan.photo.sheet import View  # noqa: E402

LETTERS = "ABCDEFGH"
DABS = dab_pages(J.BOX, [Dab(c, f"mix {c}") for c in LETTERS])[0]
POT = 18
"""Drops of a pot, about."""
HAND = 0.1


@dataclass(frozen=True)
class Card:
    """CIEDE2000 of dabs, mixes and thin coats over black; odd, misfit: of the fit."""

    dabs: np.ndarray
    mixes: np.ndarray
    thin: np.ndarray
    odd: float
    misfit: float

    @property
    def refused(self) -> bool:
        return self.odd > read.ODD_CAMERA or self.misfit > read.WORST_MISFIT


def one_card(curve: unlike.Curve, lamps: tuple[str, ...], rng: np.random.Generator, light: str) -> Card:
    mine, lamp = unlike.tubes(J.IDS, rng), str(rng.choice(lamps))
    R = sim.reflectances(J.PAGE, mine, rng)
    shot, how = unlike.shot_of(J.PAGE, R, unlike.taken(curve, lamp, rng, light), rng)
    found = learn([shot], J.BOX)
    parts, xy = J.random_parts(rng, 30), rng.uniform(0.08, 0.92, (30, 2))
    true = mine.mixed(parts)
    dabs = read_dab(shot, found.cameras[0], how.picture(true, xy, rng), xy)
    own, n = J.as_tubes(J.learned_box(found)), range(len(J.IDS))
    ground = float(sim.inverse_saunderson(sim.BAR, J.BOX.table.k1, J.BOX.table.k2))
    thin = [delta_e(lab(own.thin(i, 0.02, ground)), lab(mine.thin(i, 0.02, ground))) for i in n]
    mixes = delta_e(lab(own.mixed(parts)), lab(true))
    return Card(delta_e(dabs, lab(true)), mixes, np.array(thin), found.odd[0], found.misfit)


def cells(*sets: Iterable[np.ndarray] | np.ndarray) -> str:
    whole = (np.concatenate([np.ravel(v) for v in s]) for s in sets)
    return " | ".join(f"{np.median(v):.2f} / {np.percentile(v, 90):.2f}" for v in whole)


def card_row(name: str, cards: list[Card]) -> None:
    said = cells([c.dabs for c in cards], [c.mixes for c in cards], [c.thin for c in cards])
    odd, refused = max(c.odd for c in cards), sum(c.refused for c in cards)
    print(f"| {name} | {said} | {odd:.0f} | {refused} of {len(cards)} |", flush=True)


def cards(count: int, first: int, curves: dict[str, unlike.Curve]) -> None:
    print("| card | dabs | mixes | thin coat | oddest | refused |\n| --- | --- | --- | --- | --- | --- |")
    every: dict[str, list[Card]] = {"all lamps": [], "daylight": []}
    for name, curve in curves.items():
        for lamps, said in ((sim.LAMPS, "all lamps"), (sim.DAYLIGHT, "daylight")):
            rng = np.random.default_rng((81, first))
            found = [one_card(curve, lamps, rng, "even") for _ in range(count)]
            card_row(f"{name}, {said}", found)
            every[said] += found
    for said, found in every.items():
        card_row(f"all renderers, {said}", found)
    for light in unlike.LIGHTS[1:]:
        rng = np.random.default_rng((82, first))
        card_row(
            f"{light}, daylight", [one_card(c, sim.DAYLIGHT, rng, light) for c in curves.values() for _ in range(3)]
        )


def recipe(rng: np.random.Generator) -> dict[str, float]:
    """Two to four paints, often let down with white, about POT drops."""
    parts = dict(
        zip(rng.choice(J.IDS, n := rng.integers(2, 5), replace=False), rng.integers(1, 7, n) * 1.0, strict=True)
    )
    if rng.uniform() < 0.6:
        parts["titanium-white"] = parts.get("titanium-white", 0.0) + float(rng.integers(1, 8))
    times = max(1, round(POT / sum(parts.values())))
    return {id: times * n for id, n in parts.items()}


def by_hand(drops: dict[str, float], rng: np.random.Generator) -> dict[str, float]:
    return {id: n * float(np.exp(rng.normal(0, HAND))) for id, n in drops.items()}


def look(mine: sim.Tubes, drops: dict[str, float]) -> np.ndarray:
    """(31,) reflectance of a pot."""
    return mine.mixed(np.array([[drops.get(id, 0.0) for id in J.IDS]]))[0]


def measured(mine: sim.Tubes, curve: unlike.Curve, rng: np.random.Generator) -> Box:
    R = sim.reflectances(J.PAGE, mine, rng)
    return J.learned_box(learn([unlike.shot_of(J.PAGE, R, unlike.taken(curve, "D65", rng), rng)[0]], J.BOX))


def photo_of(mine: sim.Tubes, pots: dict[str, dict[str, float]], how: unlike.Taken, rng: np.random.Generator):
    """The page of dabs, read."""
    dabs = {id: look(mine, drops) for id, drops in pots.items()}
    R = sim.reflectances(DABS, mine, rng, dabs=dabs)
    shot, how = unlike.shot_of(DABS, R, how, rng)
    own = [f for f in DABS.fields if f.field.kind == "dab"]
    xy = np.array([f.read.middle for f in own]) / DABS.size
    rgb = how.picture(np.array([dabs[f.field.paint] for f in own]), xy, rng)
    none = Placed(DABS, View(np.append(np.eye(3).ravel()[:8], np.zeros(6)), DABS.size, np.zeros(2), 1.0), 0.0, 8.0)
    return read.CardPhoto(Path("dabs.jpg"), none, shot, Dabs(tuple(f.field.paint for f in own), rgb, xy, ()))


def one_page(curve: unlike.Curve, rng: np.random.Generator, own: bool) -> list[tuple[float, ...]]:
    """Its pots: CIEDE2000 of (dab read, again, before, once, twice)."""
    mine = unlike.tubes(J.IDS, rng)
    box = measured(mine, curve, rng) if own else J.BOX
    planned = {c: recipe(rng) for c in LETTERS}
    aims = {c: lab(look(J.as_tubes(box), d)) for c, d in planned.items()}
    pots = {c: by_hand(d, rng) for c, d in planned.items()}
    rows = {c: list[float]() for c in LETTERS}
    for times in range(2):
        lamp = str(rng.choice([*sim.DAYLIGHT, "LED-B4"]))
        photo = photo_of(mine, pots, unlike.taken(curve, lamp, rng), rng)
        found = read.learn([photo.shot], box)
        read.learn = lambda *_, once=found: once  # all dabs of a page by one fit
        for c in LETTERS:
            true = lab(look(mine, pots[c]))
            dab = read.read_dabs([photo], c, box)
            rows[c] += [float(delta_e(dab.lab, true)), float(delta_e(true, aims[c])), dab.uncertainty]
            said = correct(box, planned[c], dab, tuple(aims[c]), times=times)
            planned[c] = with_added(planned[c], said.add, box)
            for id, n in by_hand({i: n for i, n in with_added({}, said.add, box).items() if n}, rng).items():
                pots[c][id] = pots[c].get(id, 0.0) + n
        read.learn = learn
    return [(*rows[c], float(delta_e(lab(look(mine, pots[c])), aims[c]))) for c in LETTERS]


def pots(pages: int, first: int, curves: dict[str, unlike.Curve]) -> None:
    print("\n| pots | dab read | by its told uncertainty | before | once | twice | made worse |")
    print("| --- | --- | --- | --- | --- | --- | --- |")
    for own in (False, True):
        rows, names = list[tuple[float, ...]](), [*curves]
        for number in range(first, first + pages):
            try:
                rows += one_page(curves[names[number % len(names)]], np.random.default_rng((83, number)), own)
            except InputError as error:
                print(f"page {number} refused: {error}")
        a = np.array(rows)
        off, told = a[:, [0, 3]].ravel(), a[:, [2, 5]].ravel()
        z = np.sqrt(np.mean(np.square(off / told)))
        worse = f"{100 * np.mean(a[:, 4] > a[:, 1] + 0.3):.0f} % of {len(a)}"
        name = "measured tubes" if own else "table's tubes"
        print(f"| {name} | {cells([off])} | {z:.2f} | {cells([a[:, 1]], [a[:, 4]], [a[:, 6]])} | {worse} |", flush=True)


def main() -> None:
    parser = argparse.ArgumentParser()
    for name, usual in (("--cards", 10), ("--pages", 8), ("--first", 0)):
        parser.add_argument(name, type=int, default=usual)
    parser.add_argument("--kept", action="store_true")
    given = parser.parse_args()
    curves = unlike.KEPT if given.kept else unlike.TRIED
    first = given.first + 1000 * given.kept
    if given.cards:
        cards(given.cards, first, curves)
    if given.pages:
        pots(given.pages, first, curves)


if __name__ == "__main__":
    main()
