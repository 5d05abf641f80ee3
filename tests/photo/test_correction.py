"""Pots corrected from the photograph of a dab, against tubes and hands that are known. Bounds are the goals set."""

from collections.abc import Mapping
from dataclasses import replace

import numpy as np
import pytest
from judged import BOX, correct_pots

from finishplan.basics.errors import InputError
from finishplan.colour.film import opaque, saunderson
from finishplan.colour.lab import Lab
from finishplan.colour.light import delta_e, lab
from finishplan.paint.model import Box
from finishplan.photo.correct import Drops, correct, with_added
from finishplan.photo.model import DabColour

AIM = (60.0, 5.0, 20.0)
POT = {"titanium-white": 8.0, "yellow-ochre": 3.0, "burnt-sienna": 1.0}


def pot_lab(box: Box, drops: Mapping[str, float]) -> Lab:
    """L*a*b* of a pot of a box's paints."""
    K, S = (
        np.sum([n * getattr(p, k) for p in box.paints for id, n in drops.items() if id == p.id], axis=0) for k in "KS"
    )
    L, a, b = lab(saunderson(opaque(K, S), box.table.k1, box.table.k2)).tolist()
    return L, a, b


def read(lightness: float, uncertainty: float = 1.8) -> DabColour:
    return DabColour((lightness, 5.0, 20.0), uncertainty)


@pytest.mark.parametrize(("measured", "once"), [(False, (2.2, 4.0)), (True, (2.0, 3.5))])
def test_corrected_pots_come_nearer(measured: bool, once: tuple[float, float]) -> None:
    found = correct_pots(24, 5, measured=measured)
    assert np.median(found.once) <= once[0] and np.percentile(found.once, 90) <= once[1]
    assert np.median(found.twice) <= 2.0 and np.percentile(found.twice, 90) <= 3.5
    assert found.worse <= 0.08 and found.once.mean() < found.before.mean()


def test_when_a_pot_is_left() -> None:
    near = correct(BOX, POT, read(60.3), AIM)
    third = correct(BOX, POT, read(70.0), AIM, times=2)
    unsure = correct(BOX, POT, read(61.5, 3.0), AIM)
    assert not near.worth_it and not third.worth_it and not unsure.worth_it
    assert near.add == third.add == () and third.before == third.after and "twice" in third.why


def test_additions_are_few_drops_and_bring_it_nearer() -> None:
    found = correct(BOX, POT, read(50.0), AIM)
    assert found.worth_it and found.after < found.before - 0.5 and 1 <= len(found.add) <= 2
    assert sum(d.drops for d in found.add) <= sum(POT.values()) / 2
    more = with_added(POT, (Drops("bone-black", 2, thinned=True),), BOX)
    assert more["bone-black"] == pytest.approx(0.2) and more["titanium-white"] == pytest.approx(9.8)


def test_tubes_that_the_references_show_are_used() -> None:
    """An ochre of half the scattering, seen neat beside the dab, is not put down to the hand."""
    tubes = tuple(replace(p, S=0.5 * p.S) if p.id == "yellow-ochre" else p for p in BOX.paints)
    true = replace(BOX, paints=tubes)
    dab = DabColour(pot_lab(true, POT), 1.8, tubes)
    aim = pot_lab(true, {**POT, "titanium-white": 12.0})
    off = {}
    for told in (dab, replace(dab, tubes=())):
        said = correct(BOX, POT, told, aim)
        off[bool(told.tubes)] = (
            delta_e(pot_lab(true, with_added(POT, said.add, BOX)), aim),
            delta_e(said.predicted, aim),
        )
    assert off[True][0] < 0.5 and off[True][0] <= off[False][0]


def test_pots_that_cannot_be() -> None:
    with pytest.raises(InputError, match="empty"):
        correct(BOX, {}, read(60.0), AIM)
    with pytest.raises(InputError, match="which the box lacks"):
        correct(BOX, {"yellow-ocher": 2.0}, read(60.0), AIM)
