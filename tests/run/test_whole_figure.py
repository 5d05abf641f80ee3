"""Steps and quantities of real painting orders: the newt set down by hand, and random small figures."""

import math
import sys
from pathlib import Path

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from small_schemes import dry

sys.path.insert(0, str(Path(__file__).parents[1] / "order"))
from figures import box, newt, order_of, random_figure

from finishplan.amounts.quantities import quantities
from finishplan.bench.safety import plan_cautions
from finishplan.bench.steps import finishing_steps
from finishplan.job.settings import Method, RunSettings
from finishplan.run.build import Painted


def made(figure, colours, castings=1, tool="brush"):
    order = order_of(figure, colours, method=Method(tool=tool), castings=castings)
    mixes = tuple({m.id: m for m in colours.values()}.values())
    own = RunSettings(castings=castings)
    return order, mixes, quantities(Painted(figure, order, mixes, dry()), box(), own)


def total(found, what):
    return sum(q.ml_per_casting for q in found if q.what == what)


def test_the_newt_takes_millilitres():
    """About 190 cm2 painted: two to three coats of 53 um, loss 1.6, are 3 to 6 ml; each coat alone 1.6 ml."""
    figure, colours = newt()
    _, _, found = made(figure, colours)
    surface = sum(a.cm2 for a in figure.areas)
    assert 150 < surface < 250
    assert surface * 20 / 0.38 * 1e-4 * 1.6 < total(found, "mix") < 10


def test_thirty_newts_wear_thirty_times_one():
    """The primer, hence the coats, may differ with the number of castings; here it is left white."""
    figure, colours = newt()
    order = order_of(figure, colours, method=Method(primer="white"))
    mixes = tuple({m.id: m for m in colours.values()}.values())
    one, thirty = (quantities(Painted(figure, order, mixes, dry()), box(), RunSettings(castings=n)) for n in (1, 30))
    assert total(one, "mix") == pytest.approx(total(thirty, "mix"))
    waste_one, waste_thirty = (
        sum(q.ml_run for q in found if q.what == "mix") / (n * total(found, "mix"))
        for n, found in ((1, one), (30, thirty))
    )
    assert 1 <= waste_thirty < 1.1 < waste_one


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 10**6), st.integers(2, 12), st.integers(1, 6), st.sampled_from(["brush", "airbrush"]))
def test_any_order_adds_up(seed, areas, mixes, tool):
    figure, colours = random_figure(seed, areas, mixes, 1 + seed % 3, flagged=0.4)
    painted = [a for a in figure.areas if "bare" not in a.flags]
    assume(painted)
    order, used, found = made(figure, colours, castings=3, tool=tool)
    assert total(found, "pass") == pytest.approx(total(found, "mix"))
    assert total(found, "paint") == pytest.approx(total(found, "mix"))
    assert all(math.isfinite(q.ml_run) and q.ml_run >= 3 * q.ml_per_casting - 1e-6 for q in found)
    laid = {w.mix or p.mix for p in order.passes for w in p.work}
    assert {q.id for q in found if q.what == "mix"} == laid
    least = min(10 / 0.25, 20 / 0.38) * 1e-4 * 1.6
    assert total(found, "mix") >= least * sum(a.cm2 for a in painted if "dot" not in a.flags) - 1e-9
    steps = finishing_steps(Painted(figure, order, used, dry()), run=RunSettings(castings=3))
    assert [s.key for s in steps if s.key.startswith("pass-")] == [f"pass-{p.no}" for p in order.passes]
    assert all(math.isfinite(s.minutes) and math.isfinite(s.wait_min) and "{" not in s.text for s in steps)
    assert any("licensed laboratory" in c for c in plan_cautions(Painted(figure, order, used, dry()), box()))
