"""What the terminal says of a reading, and what it tells first of a plan."""

from dataclasses import replace

import numpy as np
import pytest
from small_plans import Size, make_drawing, make_plan

from finishplan.cli.tables import show_drawing
from finishplan.cli.terminal import table
from finishplan.drawing.model import Hint
from finishplan.job.job import Job
from finishplan.plan.assumptions import plan_notes


@pytest.mark.parametrize(
    ("count", "told"),
    [
        (1, "- 1 area (1): may be a hollow: take it with --accept recesses"),
        (2, "- 2 areas (1 2): may be hollows: take them with --accept recesses"),
    ],
)
def test_one_area_is_offered_in_the_singular(count: int, told: str, capsys: pytest.CaptureFixture[str]) -> None:
    drawing, _ = make_drawing(np.random.default_rng(1), Size(1, 6, 3, 1))
    hint = (Hint("recess", "enclosed"),)
    areas = tuple(replace(a, hints=hint if a.id <= count else ()) for a in drawing.areas)
    show_drawing(replace(drawing, areas=areas), Job(), [])
    assert told in capsys.readouterr().out


def test_brackets_in_a_name_are_text(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    """Rich would take them for marks of style: names of figures head the columns of a family's mixes."""
    monkeypatch.setattr("finishplan.cli.terminal.plain", lambda: False)
    table(["mix", "Newt [red]", "Moth [/]"], [["A", "[b]", ""]], "[u]")
    out = capsys.readouterr().out
    assert all(name in out for name in ("Newt [red]", "Moth [/]", "[b]", "[u]"))


def test_a_guessed_size_is_the_first_of_the_notes() -> None:
    plan = make_plan(size=Size(1, 6, 3, 1))
    guessed = replace(plan, scheme=replace(plan.scheme, guessed="Sizes are guessed."))
    assert plan_notes(guessed, plan.run) == ("Sizes are guessed.", *plan_notes(plan, plan.run))
