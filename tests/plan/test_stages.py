"""Each stage alone, as a script of its own would call it: the figures are those of the whole plan."""

from pathlib import Path
from typing import Any

import pytest

from finishplan import make_plan

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


def test_every_name_offered_is_there(made: dict[str, Any]) -> None:
    fp = made["fp"]
    assert [name for name in fp.__all__ if getattr(fp, name, None) is None] == []
    with pytest.raises(AttributeError, match="no_such_stage"):
        _ = fp.no_such_stage
