"""A drawing of each kind makers have, small: a sample of what benchmarks/bench_sketches.py runs at length."""

from pathlib import Path

import numpy as np
import pytest
from benchmarks.sketches import vectors
from benchmarks.sketches.desk import third_photo
from benchmarks.sketches.draw import KINDS, Kit, sketch
from benchmarks.sketches.handmade import handmade
from benchmarks.sketches.score import score
from benchmarks.sketches.tabletop import second_photo, stored
from benchmarks.sketches.truth import Sketch

from finishplan.drawing import read_drawing

from .generator import difference

pytestmark = pytest.mark.filterwarnings("ignore:Conversion from CIE-LAB")
LONGER = 800
SEED = 507


@pytest.mark.parametrize("kind", KINDS)
def test_truth_of_a_sketch_is_what_is_drawn(kind: str) -> None:
    """Each region's colour is there, off the lines: exactly where it is flat, on the whole where it is shaded."""
    drawn = sketch(kind, SEED, 500)
    bare = ~drawn.inked
    for region in range(1, len(drawn.colours)):
        inside = bare & (drawn.regions == region)
        if inside.sum() > 400:
            middle = np.median(drawn.rgb[inside], axis=0)
            assert difference(middle[None], drawn.colours[region][None])[0, 0] < max(drawn.limit, 1)
    assert len(drawn.true_colours()) >= 5 and len(drawn.adjacencies()) >= 8


@pytest.mark.parametrize("kind", KINDS)
def test_sketches_are_read(kind: str, tmp_path: Path) -> None:
    drawn = sketch(kind, SEED, LONGER)
    drawn.picture.save(tmp_path / "a.png", compress_level=1)
    tally = score(drawn, read_drawing(tmp_path / "a.png"))
    assert tally.recall == 1 and tally.precision >= 0.88 and tally.extra <= 1 and tally.areas >= 0.95
    assert tally.pairs_found > 0.84 and tally.pairs_true > 0.88
    if kind in ("line art", "muted", "textured"):
        assert tally.extra == 0 and tally.pairs_found == tally.pairs_true == 1


@pytest.mark.parametrize("kind", vectors.KINDS)
def test_figures_of_another_style_are_read(kind: str, tmp_path: Path) -> None:
    drawn = vectors.sketch(kind, 503, 600)
    tally = score(drawn, read_drawing(vectors.save(drawn, tmp_path / "a")))
    assert tally.recall == tally.precision == tally.pairs_found == tally.pairs_true == 1
    assert tally.extra == 0 and tally.areas > 0.97


def by_hand(which: str, seed: int) -> Sketch:
    kit = Kit(np.random.default_rng([11, seed]), seed, 600)
    if which in ("second photo", "third photo"):
        return (second_photo if which == "second photo" else third_photo)(kit, seed)
    return handmade(kit)


@pytest.mark.parametrize(("which", "seed"), [("second hand", 6), ("second photo", 2), ("third photo", 2)])
def test_drawings_by_other_hands_are_read(which: str, seed: int, tmp_path: Path) -> None:
    drawn, path = by_hand(which, seed), tmp_path / "a.jpg"
    if drawn.to_photo is None:
        drawn.picture.save(path := tmp_path / "a.png", compress_level=1)
    else:
        path.write_bytes(stored(drawn))
    tally = score(drawn, read_drawing(path))
    assert tally.recall == tally.precision == 1 and tally.areas > 0.8, tally
