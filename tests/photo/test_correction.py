"""Pots corrected from the photograph of a dab, against tubes and hands that are known. Bounds are the goals set."""

import numpy as np
import pytest
from judged import BOX, correct_pots

from finishplan.basics.errors import InputError
from finishplan.photo.correct import Drops, correct, with_added
from finishplan.photo.model import DabColour

AIM = (60.0, 5.0, 20.0)
POT = {"titanium-white": 8.0, "yellow-ochre": 3.0, "burnt-sienna": 1.0}


def read(lightness: float, uncertainty: float = 1.8) -> DabColour:
    return DabColour((lightness, 5.0, 20.0), uncertainty)


@pytest.mark.parametrize(("measured", "once"), [(False, (2.2, 4.0)), (True, (2.0, 3.5))])
def test_corrected_pots_come_nearer(measured: bool, once: tuple[float, float]) -> None:
    found = correct_pots(30, 5, measured=measured)
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


def test_pots_that_cannot_be() -> None:
    with pytest.raises(InputError, match="empty"):
        correct(BOX, {}, read(60.0), AIM)
    with pytest.raises(InputError, match="which the box lacks"):
        correct(BOX, {"yellow-ocher": 2.0}, read(60.0), AIM)
