"""plan.json: the whole plan as plain data. Minutes from the start of the run, mm, cm2, ml, CIE Lab D65 2 degrees."""

import json
from dataclasses import fields, is_dataclass
from typing import Any

from finishplan.order.model import Pass
from finishplan.paint.mixing import recipe_json
from finishplan.paint.model import Mix
from finishplan.plan.plan import PLAN_VERSION, Painting, Plan
from finishplan.scheme.model import SchemeArea


def plan_json(plan: Plan) -> dict[str, Any]:
    """The plan in the documented shape, figures rounded to what they can carry."""
    found = painting_json(plan) | {
        "mixes": [_mix(m, plan) for m in (*plan.mixes, *plan.order.extra_mixes)],
        "run": rounded(plan.run),
        "quantities": rounded(plan.quantities),
        "wells": rounded(plan.wells),
        "notes": plan.notes,
    }
    # In one fixed order, as readers and comparisons of two plans rely on it.
    return {key: found[key] for key in KEYS}


KEYS = (
    "version", "figure", "primer", "areas", "edges", "coats", "mixes", "sharing", "passes", "order", "dry", "steps",
    "run", "quantities", "assumptions", "part_passes", "wells", "cautions", "notes", "warnings",
)  # fmt: skip
"""In this order."""


def painting_json(painting: Painting) -> dict[str, Any]:
    """What of it is known before the run: all but run, quantities and notes, the mixes without their amounts."""
    order, drawing, scheme = painting.order, painting.drawing, painting.scheme
    mix_of = dict(painting.mix_of)
    data: dict[str, Any] = rounded({
        "version": PLAN_VERSION,
        "figure": {
            "name": scheme.name,
            "date": painting.date,
            "height_mm": scheme.height_mm,
            "mm_per_px": scheme.mm_per_px,
            "finish": painting.finish,
            "drawing": {"kind": drawing.kind, "ink": drawing.ink, "paper": drawing.paper},
            "parts": scheme.parts,
        },
        "primer": order.primer,
        "areas": [_area(a, painting, mix_of.get(a.id)) for a in scheme.areas],
        "edges": order.edges,
        "coats": order.coats,
        "mixes": mixes_json(painting),
        "sharing": {
            "within": painting.mix_settings.within,
            "mixes_at_least": painting.least_mixes,
            "mixes_within": [{"within": limit, "mixes": pots} for limit, pots in painting.pots_within],
        },
        "passes": [_pass(p) for p in order.passes],
        "order": {
            "passes_at_least": order.bound,
            "proven": order.proven,
            "notes": order.notes,
            "wished": order.wished,
        },
        "dry": painting.dry,
        "steps": painting.steps,
        "assumptions": painting.assumptions,
        "part_passes": painting.part_passes,
        "cautions": painting.cautions,
        "warnings": painting.warnings,
    })  # fmt: skip
    return data


def mixes_json(painting: Painting) -> list[dict[str, Any]]:
    """The mixes as recipes of one drop a part."""
    every = (*painting.mixes, *painting.order.extra_mixes)
    drop_ml = painting.mix_settings.drop_ml
    return [rounded(recipe_json(m, drop_ml, painting.box, drop_ml)) for m in every]


def plan_json_text(plan: Plan) -> str:
    """plan_json as text, one stable spelling."""
    return json.dumps(plan_json(plan), indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def _area(area: SchemeArea, plan: Painting, mix: int | None) -> dict[str, Any]:
    return {
        "id": area.id,
        "part": area.part,
        "name": area.name,
        "target": area.hex,
        "lab": area.target,
        "share": area.share,
        "cm2": area.cm2,
        "mix": None if mix is None else plan.mixes[mix].id,
        "flags": sorted(area.flags),
        "min_width_mm": area.narrow_mm,
        "max_width_mm": area.wide_mm,
        "enclosed_by": area.enclosed_by,
    }


def _mix(mix: Mix, plan: Plan) -> dict[str, Any]:
    # Of a mix that a run needs nothing of, the recipe is of one drop a part.
    used = next((q for q in plan.quantities if q.what == "mix" and q.id == mix.id), None)
    per_casting, run = (used.ml_per_casting, used.ml_run) if used else (0.0, 0.0)
    drop_ml = plan.mix_settings.drop_ml
    amounts = {"ml_per_casting": per_casting, "ml_run": run}
    result: dict[str, Any] = rounded({**recipe_json(mix, run or drop_ml, plan.box, drop_ml), **amounts})
    return result


def _pass(one: Pass) -> dict[str, Any]:
    told = {f.name: getattr(one, f.name) for f in fields(one) if f.name not in ("masks", "holds")}
    return told | {"areas": one.areas, "mask": one.mask, "hold": one.hold}


def rounded(value: Any) -> Any:
    """Plain data, every figure to what it can carry."""
    if isinstance(value, float):
        # Four figures are more than any of them can carry.
        return round(value, 4) if abs(value) >= 1 else round(float(f"{value:.4g}"), 9)
    if isinstance(value, dict):
        return {k: rounded(v) for k, v in value.items()}
    if isinstance(value, list | tuple | frozenset):
        # A set has no order of its own, and the same plan gives the same bytes.
        return [rounded(v) for v in (sorted(value) if isinstance(value, frozenset) else value)]
    if is_dataclass(value):
        return {one.name: rounded(getattr(value, one.name)) for one in fields(value)}
    return value
