"""Every number that drying, steps and quantities use is printed with its source."""

from small_schemes import dry

from finishplan.drying.kinds import paint_kind
from finishplan.drying.times import DIFFUSION_M2_S, PACKED
from finishplan.job.settings import OwnTiming, Resin, StepChange, StepSettings
from finishplan.plan.bench_assumptions import bench_assumptions


def rows(**more):
    return {a.name: a for a in bench_assumptions(dry(), more.get("steps"), more.get("resin"))}


def test_every_coating_in_use_is_printed():
    found = rows()
    for times in dry():
        kind = paint_kind(times.kind)
        (row,) = [a for name, a in found.items() if name.startswith(f"{kind.name}: ")]
        for figure in (
            f"{times.wet_um:.0f} and {times.dry_um:g} µm",
            f"{100 * kind.volume_solids:g} %",
            f"{kind.cured_h:g} h",
        ):
            assert figure in row.value
        assert row.source == f"{kind.source}; labels: {kind.label}" and kind.label
        assert row.name.count(",") == row.value.count(";") + kind.name.count(",")
    assert found["solids when the constant rate ends"].value == f"{100 * PACKED:g}"
    assert float(found["diffusion of water in the film"].value) == DIFFUSION_M2_S
    assert all(a.source for a in found.values())


def test_the_model_is_printed_only_for_waterborne_coats():
    solvent = {a.name for a in bench_assumptions(dry("aerosol-primer", "varnish-solvent", "varnish-aerosol"))}
    assert "evaporation w Y" not in solvent
    assert any(name.startswith("solvent varnish: ") and "touch dry and recoat at 20 °C" in name for name in solvent)


def test_what_the_job_file_changes_is_said():
    changes = {"wash": StepChange(minutes=9), "hold": StepChange(skip=True), "pack": StepChange(text="Mine")}
    made = bench_assumptions(dry(), StepSettings(changes), Resin(120, 15), OwnTiming(12, 20, 45))
    own = {a.name: a.value for a in made if a.source == "as you set it"}
    assert own["step wash"] == "9 min" and own["step hold"] == "left out" and "step pack" not in own
    assert own["your own timing of a thin coat at 20 °C and 45 %"] == "12"
    assert own["resin of one casting, of its vents and sprues"] == "120, 15"
    assert "step wash" in rows() and "by mass" not in {a.unit for a in rows().values()}
