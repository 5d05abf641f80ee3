"""Each stage alone, as a script of its own would call it: the figures are those of the whole plan."""

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from finishplan import make_plan
from finishplan.basics.errors import InputError
from finishplan.paint.settings import MixSettings
from finishplan.plan import stages
from finishplan.plan.assumptions import plan_notes

ROOT = Path(__file__).parents[2]

SCRIPT = """
from pathlib import Path

import finishplan as fp

job = fp.load_job(Path("examples/newt.toml"))
drawing = fp.read_drawing(Path("examples/newt.png"), height_mm=job.figure.height_mm)
box = fp.load_box(None, ["titanium-white", "yellow-ochre", "pyrrole-red", "ultramarine-blue", "carbon-black"], None)

scheme = fp.build_scheme(drawing, job)
coat = fp.coats_dry(job)[1]  # primer, paint, varnish
mixes = fp.choose_mixes(scheme, box, fp.mix_settings(job, cache=False), coat.wet_um)
scheme = fp.with_names(scheme, mixes)
order = fp.order_passes(scheme, mixes, box, fp.order_settings(job))
painting = fp.plan_painting(fp.Materials(drawing, box), scheme, mixes, order, job)
print(f"{len(painting.mixes)} mixes, {len(painting.order.passes)} passes, {len(painting.steps)} steps")

run = fp.plan_run(painting)
amounts = fp.plan_amounts(painting, run, job)
print(f"{run.painter_min:.0f} minutes of work, {sum(a.ml_run for a in amounts if a.what == 'mix'):.1f} ml of mixes")
plan = fp.whole_plan(painting, run, amounts)
"""


@pytest.fixture(scope="module")
def made() -> dict[str, Any]:
    names: dict[str, Any] = {"__name__": "script"}
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(ROOT)
        exec(compile(SCRIPT, "script", "exec"), names)
    return names


def test_the_whole_plan_is_its_stages(made: dict[str, Any]) -> None:
    whole = made["fp"].plan_json_text(make_plan(made["drawing"], made["job"], made["box"], cache=False))
    assert made["fp"].plan_json_text(made["plan"]) == whole


@pytest.mark.parametrize(("minutes", "told"), [(280.0, False), (320.0, True)])
def test_five_hours_in_one_stretch_are_told(made: dict[str, Any], minutes: float, told: bool) -> None:
    """Our rule: so long at a bench asks for a break."""
    notes = plan_notes(made["painting"], replace(made["run"], makespan_min=minutes, sessions=()))
    assert any("One stretch of work" in note for note in notes) == told


def test_a_colour_is_mixed_for_two_coats_and_one_to_mend(made: dict[str, Any], monkeypatch: pytest.MonkeyPatch) -> None:
    """Until its coats are known (our rule): 10 cm2 in films of 50 um take 0.15 ml."""
    asked: list[float] = []

    def stop(_: object, _box: object, _settings: object, wishes: Any) -> None:
        asked.extend(wishes.needs)
        raise InputError("enough")

    monkeypatch.setattr(stages, "choose", stop)
    areas = tuple(replace(a, cm2=10.0) for a in made["scheme"].areas)
    with pytest.raises(InputError, match="enough"):
        made["fp"].choose_mixes(replace(made["scheme"], areas=areas), made["box"], MixSettings(), 50.0)
    assert asked and asked == pytest.approx([0.15] * len(asked))


def test_every_name_offered_is_there(made: dict[str, Any]) -> None:
    fp = made["fp"]
    assert [name for name in fp.__all__ if getattr(fp, name, None) is None] == []
    with pytest.raises(AttributeError, match="no_such_stage"):
        _ = fp.no_such_stage
