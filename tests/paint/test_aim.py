"""The colour drawn is the colour aimed at, wherever the box reaches it."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from finishplan.basics.errors import InputError
from finishplan.colour.light import delta_e, lab_from_hex
from finishplan.paint.aim import Reach, aims, bent, reach_of
from finishplan.paint.box import load_box
from finishplan.paint.mixing import MixSettings, find_mixes
from finishplan.paint.recipes import lab_blocks, plain_groups
from finishplan.paint.table import load_table

BOXES = (load_box(), load_box(own=tuple(p.id for p in load_table(None).paints)), load_box(own=("PW6", "PY43", "PBk9")))
WAYS = [MixSettings(cache=False, finish=f, dark=d) for f in ("matt", "gloss") for d in ("exact", "keep contrast")]
lightness = st.floats(0, 100)


@pytest.mark.parametrize("finish", ["matt", "satin", "gloss"])
@pytest.mark.parametrize("box", BOXES, ids=("starter", "all", "three"))
def test_what_the_box_reaches_is_aimed_at_within_one(box, finish: str) -> None:  # type: ignore[no-untyped-def]
    """Every recipe of two paints, and random ones of four: drawn so, its colour is aimed at within CIEDE2000 1.0."""
    wish = MixSettings(cache=False, finish=finish)
    K, S = (np.stack([getattr(p, c) for p in box.paints]) for c in "KS")
    rng = np.random.default_rng(3)
    shares = rng.dirichlet(np.full(len(K), 0.3), 400)
    from finishplan.colour.film import opaque, saunderson, surface
    from finishplan.colour.light import lab

    k1, k2 = surface(finish, box.table.k1, box.table.k2)
    reached = [lab(saunderson(opaque(shares @ K, shares @ S), k1, k2))]
    reached += [block.astype(float) for block in lab_blocks(K, S, plain_groups(len(K), 2, 12), k1, k2)]
    colours = np.concatenate(reached)
    assert delta_e(aims(colours, box, wish), colours).max() <= 1.0
    assert np.median(delta_e(aims(colours, box, wish), colours)) < 1e-6


@settings(max_examples=200, deadline=None)
@given(st.lists(lightness, min_size=2, max_size=2), st.sampled_from(BOXES), st.sampled_from(WAYS))
def test_two_drawn_colours_never_swap_lightness(pair: list[float], box, wish: MixSettings) -> None:  # type: ignore[no-untyped-def]
    first, second = aims([(L, 5.0, -3.0) for L in sorted(pair)], box, wish)[:, 0]
    assert first <= second and (first < second or pair[0] == pytest.approx(pair[1], abs=1e-9))


@settings(max_examples=200, deadline=None)
@given(st.floats(12, 32), st.floats(90, 99.5), lightness, lightness)
def test_most_of_a_difference_is_kept(dark: float, light: float, one: float, other: float) -> None:
    """Half of it and more between any two colours that paint reaches; with 'keep contrast' between any dark ones."""
    reach = Reach(dark, light)
    inside = np.clip([one, other], dark, light)
    assert abs(np.diff(bent(inside, reach))[0]) >= 0.5 * abs(np.diff(inside)[0]) - 1e-9
    low = np.clip([one, other], 0, light)
    assert abs(np.diff(bent(low, reach, "keep contrast"))[0]) >= 0.5 * abs(np.diff(low)[0]) - 1e-9


@given(st.floats(0, 70), lightness, lightness)
def test_a_box_without_a_dark_paint_swaps_no_colours(dark: float, one: float, other: float) -> None:
    """Contrast kept where there is no room for half of every difference: still rising, and within what the box lays."""
    low, high = bent(np.array(sorted((one, other))), Reach(dark, 97.0), "keep contrast")
    assert dark <= low <= high <= 97.0 and (low < high or one == pytest.approx(other, abs=1e-9))


def test_black_and_white_of_a_drawing_are_the_plain_paints() -> None:
    box = BOXES[0]
    mixes, _ = find_mixes([(100, 0, 0), (0, 0, 0), lab_from_hex("#5b303b")], box, MixSettings(cache=False))
    assert [i.paint for m in mixes[:2] for i in m.recipe] == ["titanium-white", "bone-black"]
    black, maroon = mixes[1], mixes[2]
    assert black.delta_e < 2.5 and black.delta_e_drawn > 10, "paint is never as black as a screen"
    assert maroon.delta_e_drawn == pytest.approx(maroon.delta_e, abs=0.5) and maroon.delta_e_drawn < 4
    reach = reach_of(box, MixSettings(cache=False))
    assert reach.dark <= black.aim[0] <= black.lab[0] + 0.5


def test_dark_colours_are_kept_apart_where_that_is_asked() -> None:
    """A black boot beside a near-black coat: one pot where dark colours are hit, two with contrast kept."""
    dark = [lab_from_hex(c) for c in ("#000000", "#2a2a2c")]
    wish = MixSettings(cache=False)
    exact = aims(dark, BOXES[0], wish)
    kept = aims(dark, BOXES[0], MixSettings(cache=False, dark="keep contrast"))
    assert float(delta_e(*exact)) < 2 < 4 < float(delta_e(*kept))
    with pytest.raises(InputError, match="exact"):
        MixSettings(dark="exakt")


def test_the_knee_in_numbers() -> None:
    """By hand: 0.9 above the darkest at its own lightness, as drawn 0.9 further on."""
    reach = Reach(23.0, 97.0)
    np.testing.assert_allclose(bent([0, 23, 24.8, 50, 95.2, 97, 100], reach), [23, 23.9, 24.8, 50, 95.2, 96.1, 97])
    np.testing.assert_allclose(bent([0, 23, 46, 50], reach, "keep contrast"), [23, 34.5, 46, 50])


@pytest.mark.parametrize("own", [("PY43",), ("burnt-sienna", "raw-sienna")])
def test_a_box_without_light_and_dark_aims_as_drawn(own: tuple[str, ...]) -> None:
    """One paint; two that lie 17 of L* apart, less than 20."""
    box = load_box(own=own)
    drawn = [(0.0, 0.0, 0.0), (100.0, 0.0, 0.0)]
    np.testing.assert_array_equal(aims(drawn, box, MixSettings(cache=False)), drawn)
