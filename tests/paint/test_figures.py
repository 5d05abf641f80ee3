"""Figures of measuring, opacity and estimates, each just below and just above, and against the table's own paints."""

from dataclasses import replace

import numpy as np
import pytest
from small_schemes import mix, part_of

from finishplan.colour.film import opaque, saunderson
from finishplan.colour.hiding import Films
from finishplan.colour.light import hex_from_lab, lab
from finishplan.paint import trust
from finishplan.paint.box import load_box, make_box
from finishplan.paint.estimate import Bottle, estimate_paint
from finishplan.paint.measured import constants
from finishplan.paint.measuring import Measured, pot_note, small_unit
from finishplan.paint.report import opacity_class, paint_facts, spreading_m2_per_litre
from finishplan.paint.settings import MixSettings
from finishplan.paint.shelf import make_shelf
from finishplan.paint.table import load_table
from finishplan.paint.trust import expect_within

SIX = mix("A", part_of("white", 5), part_of("red", 1))


def test_less_than_three_drops_are_tips_or_brush_loads() -> None:
    """Three drops of 0.05 ml (our rule); a toothpick's tip holds about 0.01 ml, a small round some 0.03 (common
    practice): six parts of a tip are 0.06 ml."""
    assert small_unit(SIX, 0.151)[0] == "drops" and small_unit(SIX, 0.149)[0] != "drops"
    tip, load = small_unit(SIX, 0.058), small_unit(SIX, 0.062)
    assert tip[0] == "toothpick tips" and load[0] == "brush loads"
    assert 0.007 <= tip[1] <= 0.015 and 0.02 <= load[1] <= 0.045


def test_a_pot_of_more_than_a_hundred_and_twenty_drops_is_weighed() -> None:
    """Six millilitres: nobody counts on (common practice)."""
    assert pot_note([Measured(19, 114, 5.7)], 0.06) == "" and "weigh it" in pot_note([Measured(21, 126, 6.3)], 0.06)


@pytest.mark.parametrize(
    ("contrast", "name"),
    [
        *((0.91, "opaque"), (0.89, "semi-opaque"), (0.71, "semi-opaque"), (0.69, "semi-transparent")),
        *((0.51, "semi-transparent"), (0.49, "transparent"), (0.2, "transparent")),
    ],
)
def test_classes_of_opacity(contrast: float, name: str) -> None:
    """Four classes as labels print them (common practice); borders by contrast ratio of two coats (our choice)."""
    assert opacity_class(contrast) == name


def test_what_is_told_of_a_paint() -> None:
    """Phthalo blue is the strong paint of every box and glazes; its tint is one part in ten of white (common
    practice), a clear middle blue. Cobalt blue, weak and clear, never hides black in twenty coats."""
    table = load_table(None)
    facts = {f.paint.id: f for f in paint_facts(make_box(table, table.paints))}
    phthalo, cobalt = facts["phthalo-blue-green-shade"], facts["cobalt-blue"]
    assert phthalo.strength is not None and cobalt.strength is not None and phthalo.strength > 5 * cobalt.strength
    assert phthalo.tint is not None and int(phthalo.tint[5:], 16) - int(phthalo.tint[1:3], 16) > 100
    white, paint = facts["titanium-white"].paint, facts["arylide-yellow"].paint
    tinted = opaque(0.1 * paint.K + 0.9 * white.K, 0.1 * paint.S + 0.9 * white.S)
    assert facts["arylide-yellow"].tint == hex_from_lab(lab(saunderson(tinted, table.k1, table.k2)))
    yellow = Films(paint.K[None], paint.S[None], opaque(paint.K, paint.S)[None], table.k1, table.k2)
    assert facts["arylide-yellow"].contrast == pytest.approx(float(yellow.contrast(0.040)[0])), "two coats of 20 um"
    assert 10 < (facts["arylide-yellow"].coats_over_black or 0) <= 20, "hopeless alone, but told"
    assert spreading_m2_per_litre(0.038) == pytest.approx(10), "38 % of a litre in a film of 38 um (ISO 23811)"


def test_a_bottle_known_by_its_colour_is_no_blacker_and_no_whiter_than_paint() -> None:
    """K/S of the blackest paints of the table are 30 to 51, of its whitest at their best 0.0005 to 0.0015."""
    table = load_table(None)
    darkest = sorted(float((p.K / p.S).max()) for p in table.paints)
    lightest = sorted(float((p.K / p.S).min()) for p in table.paints)
    black, white = (estimate_paint(table, Bottle(c, opacity="opaque")) for c in ("#000000", "#ffffff"))
    assert darkest[-3] < float((black[0] / black[1]).max()) < darkest[-1]
    assert lightest[4] < float((white[0] / white[1]).min()) < lightest[7]


def test_a_photographed_tube_is_trusted_about_twice_as_far(monkeypatch: pytest.MonkeyPatch) -> None:
    """What the card leaves open of a tube's spread, 0.45 by simulated photographs (tests/benchmarks/bench_photo.py):
    a tint of it, hand and model left out, is expected half as far off as that of any tube."""
    monkeypatch.setattr(trust, "MODEL_DELTA_E", 1e-9)
    box = load_box(own=("titanium-white", "pyrrole-red"))
    red = next(p for p in box.paints if p.id == "pyrrole-red")
    seen = make_box(box.table, tuple(replace(p, swatch_off=1.0) if p is red else p for p in box.paints))
    recipe = np.array([0, 1]), np.array([9.0, 1.0])
    off, left = (expect_within(make_shelf(b, MixSettings()), *recipe, hand=0.0) for b in (box, seen))
    assert 0.35 <= left / off <= 0.6


def test_an_instruments_noise_hardly_moves_what_it_measures() -> None:
    """A good hand instrument is uncertain by 0.0005 (common practice): taken up and down from band to band, on masstone
    and tint of pyrrole red, where S is open at the blue end, it moves S by some six percent."""
    table = load_table(None)
    red, white = (next(p for p in table.paints if p.id == id) for id in ("pyrrole-red", "titanium-white"))
    noise = np.where(np.arange(31) % 2, 0.0005, -0.0005)
    mass, tint = (
        saunderson(opaque(c * red.K + (1 - c) * white.K, c * red.S + (1 - c) * white.S), table.k1, table.k2)
        for c in (1.0, 0.2)
    )
    _, S = constants(mass + noise, tint - noise, 0.2, white, (table.k1, table.k2))
    assert np.sqrt(np.mean(np.log(S / red.S) ** 2)) < 0.066
