"""What drying, steps and quantities rest on, each number with its source, ready to be printed with the plan."""

from collections.abc import Sequence

from finishplan.basics.assumption import YOURS, Assumption
from finishplan.basics.text_files import shipped_toml
from finishplan.basics.words import duration
from finishplan.drying import times as drying
from finishplan.drying.kinds import PaintKind, paint_kind
from finishplan.drying.model import DryTimes
from finishplan.job.settings import OwnTiming, Resin, StepSettings
from finishplan.paint.measuring import MOST_DROPS
from finishplan.run.films import LINE_MM

COMMON = "common practice"


def bench_assumptions(
    dry: Sequence[DryTimes],
    steps: StepSettings | None = None,
    resin: Resin | None = None,
    own: OwnTiming | None = None,
) -> tuple[Assumption, ...]:
    """Rows for the coatings in use, the drying model, the steps and the resin. dry: primer, paint, varnish; own: the
    maker's timing of the paint. Raises InputError for an unknown kind."""
    steps = steps or StepSettings()
    rows = [_coating(d, paint_kind(d.kind)) for d in dry]
    # Solvents dry by the times on their labels, scaled: the model of water has no part in it.
    if any(paint_kind(d.kind).medium == "water" for d in dry):
        rows += _model()
    if own is not None:
        day = f"your own timing of a thin coat at {own.temperature_c:g} °C and {own.humidity_pct:g} %"
        rows.append(Assumption(day, f"{own.touch_min:g}", "min", YOURS))
    rows += [
        Assumption("coats of primer, of varnish", f"{steps.primer_coats}, {steps.varnish_coats}", "", COMMON),
        Assumption("air speed of a spray at the piece", f"{steps.spray_m_s:g}", "m/s", COMMON),
        Assumption("a pot is weighed beyond", f"{MOST_DROPS}", "drops", COMMON),
        Assumption("width of a line drawn along an edge", f"{LINE_MM:g}", "mm", COMMON),
        *_steps(steps),
    ]
    return (*rows, *(_resin(resin) if resin is not None else ()))


def _coating(dry: DryTimes, kind: PaintKind) -> Assumption:
    """One row a coating, its figures in one line."""
    named = {
        "wet and dry film": f"{dry.wet_um:.0f} and {dry.dry_um:g} µm",
        "volume solids": f"{100 * kind.volume_solids:g} %",
        "density": f"{kind.density:g} g/ml",
        # Only kinds of solvent have these in their row; of water they are computed.
        "touch dry and recoat at 20 °C": f"{kind.touch_min:g} and {kind.recoat_min:g} min" if kind.touch_min else "",
        "lost in the air of the spray": f"{100 * kind.flight_loss:g} % of the water" if kind.flight_loss else "",
        "poured for what a brush needs": f"{kind.overspray:g} ×" if kind.sprayed else "",
        "brushed over after": f"{dry.brushed_over_min:.0f} min" if dry.over_min else "",
        "hard at 20 °C": f"{kind.cured_h:g} h",
    }
    said = {name: value for name, value in named.items() if value}
    return Assumption(
        f"{kind.name}: {', '.join(said)}", "; ".join(said.values()), "", f"{kind.source}; labels: {kind.label}"
    )


def _model() -> tuple[Assumption, ...]:
    heat, rise, speed = drying.CASTING_KJ_M2_K, drying.DRYER_RISE_C, drying.DRYER_AIR_M_S
    packed, touch = f"{100 * drying.PACKED:g}", f"{100 * drying.TOUCH_WATER:g}"
    pool = "ASHRAE HVAC Applications, natatoriums (from memory)"
    return (
        Assumption("evaporation w Y", "(p_w - p_a)(0.089 + 0.0782 V)", "kW/m²", pool),
        Assumption("solids when the constant rate ends", packed, "% by volume", "random close packing of spheres"),
        Assumption("water between the particles left at touch dry", touch, "%", "convention"),
        Assumption(
            "diffusion of water in the film", f"{drying.DIFFUSION_M2_S:g}", "m²/s", "order of magnitude, from memory"
        ),
        Assumption("heat stored in the casting", f"{heat:.1f}", "kJ/(m² K)", "solid resin limb of 10 mm"),
        Assumption("hair dryer: warmer than the room, air speed", f"{rise:g} °C, {speed:g} m/s", "", COMMON),
    )


def _steps(steps: StepSettings) -> list[Assumption]:
    """The minutes of each step as data/steps.toml has them, and what the job file changed."""
    units = {
        "setup": "a run",
        "each": "a casting",
        "piece": "a piece",
        "face": "a glue face",
        "joint": "a joint",
        "cm2": "a cm²",
    }
    rows = []
    for key, row in shipped_toml("bench/data/steps.toml").items():
        given = [f"{row[unit]:g} min {text}" for unit, text in units.items() if unit in row]
        wait = [f"{duration(row['wait_min'], up=True)} of waiting"] if "wait_min" in row else []
        if given or wait:
            rows.append(Assumption(f"step {key}", ", ".join(given + wait), "", COMMON))
    # The usual row stays above: beside it one sees what was changed.
    for key, change in steps.changes.items():
        given = [] if change.minutes is None else [f"{change.minutes:g} min"]
        wait = [] if change.wait_min is None else [f"{duration(change.wait_min, up=True)} of waiting"]
        if text := "left out" if change.skip else ", ".join(given + wait):
            rows.append(Assumption(f"step {key}", text, "", YOURS))
    return rows


def _resin(resin: Resin) -> tuple[Assumption, ...]:
    first, later = 100 * resin.first_margin, 100 * resin.margin
    return (
        Assumption("resin of one casting, of its vents and sprues", f"{resin.part_g:g}, {resin.waste_g:g}", "g", YOURS),
        Assumption("resin part A to part B", f"{resin.ratio[0]:g} : {resin.ratio[1]:g}", "by mass", COMMON),
        Assumption("excess of the first shot, of later ones", f"{first:g}, {later:g}", "%", COMMON),
        Assumption("pulls from one mould", f"{resin.mould_life}", "", COMMON),
        Assumption("silicone hardener", f"{resin.hardener_pct:g}", "% by mass", COMMON),
    )
