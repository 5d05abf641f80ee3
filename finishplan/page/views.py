"""What the page is sent of each stage: fragments of plan.json, and the areas' borders beside the reading."""

from typing import Any

from finishplan.drawing.export import drawing_json
from finishplan.drawing.model import Drawing
from finishplan.paint.model import Box
from finishplan.paint.report import box_json
from finishplan.plan.plan import Painting, Plan
from finishplan.plan.plan_json import painting_json, plan_json, rounded
from finishplan.scheme.model import Scheme

STAGES = ("reading", "painting", "run", "plan")
"""In the order in which they are computed and published; 'run' is the quick one, 'plan' the searched whole."""


def reading_view(drawing: Drawing, paths: dict[int, str], scheme: Scheme) -> dict[str, Any]:
    """The drawing as read: areas with border, name, part, size; edges; hints."""
    data = drawing_json(drawing, scheme.mm_per_px)
    known = {a.id: a for a in scheme.areas}
    data["areas"] = [
        {**area, "path": paths.get(area["id"], ""), **_said(known[area["id"]])}
        for area in data["areas"]
        if area["id"] in known
    ]
    data["parts"] = [{"name": p.name, "areas": list(p.areas)} for p in scheme.parts]
    return {key: rounded(data[key]) for key in ("size", "kind", "mm_per_px", "areas", "edges", "parts", "notes")}


def _said(area: Any) -> dict[str, Any]:
    """What the maker's job adds to a drawn area."""
    return {
        "name": area.name,
        "part": area.part,
        "target": area.hex,
        "flags": sorted(area.flags),
        "cm2": area.cm2,
        "narrow_mm": area.narrow_mm,
        "wide_mm": area.wide_mm,
    }


def painting_view(painting: Painting) -> dict[str, Any]:
    """Mixes, passes, coats and edges."""
    keys = ("figure", "primer", "areas", "edges", "coats", "mixes", "passes", "order", "dry", "warnings")
    whole = painting_json(painting)
    return {key: whole[key] for key in keys}


def run_view(plan: Plan, *, searched: bool) -> dict[str, Any]:
    """The run with what it takes. searched: not the quick one."""
    whole = plan_json(plan)
    return {key: whole[key] for key in ("run", "quantities", "mixes", "wells", "notes", "warnings")} | {
        "searched": searched
    }


def paints_view(box: Box) -> dict[str, Any]:
    """Every paint of the table and which of them are owned, with the maker's own bottles."""
    owned = {p.id for p in box.paints}
    whole = Box(box.table, box.table.paints, box.white, box.black)
    return {
        "table": box.table.name,
        "paints": [{**row, "owned": row["id"] in owned} for row in box_json(whole)],
        "own": [row for row in box_json(box) if row["id"] not in {p.id for p in box.table.paints}],
        "notes": list(box.notes),
    }
