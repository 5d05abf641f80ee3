"""plan.json: the whole plan as plain data. Minutes from the start of the run, mm, cm2, ml, CIE Lab D65 2 degrees."""

import json
from dataclasses import asdict, is_dataclass
from typing import Any

from finishplan.order.model import Pass
from finishplan.paint.mixing import recipe_json
from finishplan.paint.model import Mix
from finishplan.paint.settings import DROP_ML
from finishplan.plan.plan import PLAN_VERSION, Plan
from finishplan.scheme.model import SchemeArea


def plan_json(plan: Plan) -> dict[str, Any]:
    """The plan in the documented shape, figures rounded to what they can carry."""
    order, run = plan.order, plan.run
    mix_of = dict(plan.mix_of)
    data = {
        "version": PLAN_VERSION,
        "figure": {
            "name": plan.scheme.name,
            "date": plan.date,
            "height_mm": plan.scheme.height_mm,
            "mm_per_px": plan.scheme.mm_per_px,
            "finish": plan.finish,
            "drawing": {"kind": plan.drawing.kind, "ink": plan.drawing.ink, "paper": plan.drawing.paper},
            "parts": [asdict(p) for p in plan.scheme.parts],
        },
        "primer": asdict(order.primer),
        "areas": [_area(a, plan, mix_of.get(a.id)) for a in plan.scheme.areas],
        "edges": [asdict(e) for e in order.edges],
        "coats": [asdict(c) for c in order.coats],
        "mixes": [_mix(m, plan) for m in (*plan.mixes, *order.extra_mixes)],
        "passes": [_pass(p) for p in order.passes],
        "order": {"passes_at_least": order.bound, "proven": order.proven, "notes": order.notes},
        "dry": [asdict(d) for d in plan.dry],
        "steps": [asdict(s) for s in plan.steps],
        "run": asdict(run),
        "quantities": [asdict(q) for q in plan.quantities],
        "assumptions": [asdict(a) for a in plan.assumptions],
        "cautions": plan.cautions,
        "notes": plan.notes,
        "warnings": plan.warnings,
    }
    rounded: dict[str, Any] = _rounded(data)
    return rounded


def plan_json_text(plan: Plan) -> str:
    """plan_json as text, one stable spelling."""
    return json.dumps(plan_json(plan), indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def _area(area: SchemeArea, plan: Plan, mix: int | None) -> dict[str, Any]:
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
    used = next((q for q in plan.quantities if q.what == "mix" and q.id == mix.id), None)
    per_casting, run = (used.ml_per_casting, used.ml_run) if used else (0.0, 0.0)
    return {**recipe_json(mix, run or DROP_ML, plan.box), "ml_per_casting": per_casting, "ml_run": run}


def _pass(one: Pass) -> dict[str, Any]:
    return {**asdict(one), "areas": one.areas}


def _rounded(value: Any) -> Any:
    if isinstance(value, float):
        return round(value, 4) if abs(value) >= 1 else round(float(f"{value:.4g}"), 9)
    if isinstance(value, dict):
        return {k: _rounded(v) for k, v in value.items()}
    if isinstance(value, list | tuple | frozenset):
        return [_rounded(v) for v in (sorted(value) if isinstance(value, frozenset) else value)]
    if is_dataclass(value) and not isinstance(value, type):
        return _rounded(asdict(value))
    return value
