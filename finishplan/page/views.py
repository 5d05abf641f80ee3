"""What the page is sent of each stage: fragments of plan.json, and the areas' borders beside the reading."""

from dataclasses import asdict
from functools import lru_cache
from typing import Any

from finishplan.basics.errors import InputError
from finishplan.basics.text_files import toml_of
from finishplan.drawing.export import drawing_json
from finishplan.drawing.model import Drawing
from finishplan.job.job import Job
from finishplan.job.names import Names
from finishplan.job.offers import offers
from finishplan.job.read import parse_job
from finishplan.page.reading import Looked
from finishplan.paint.model import Box
from finishplan.paint.report import OPACITY_LEGEND, box_json
from finishplan.plan.plan import Painting, Plan
from finishplan.plan.plan_json import painting_json, plan_json, rounded
from finishplan.scheme.model import Scheme, SchemeArea

STAGES = ("reading", "painting", "run", "plan")
"""In the order in which they are computed and published; 'run' is the quick one, 'plan' the searched whole."""


JOB_SECTIONS = (
    "figure", "parts", "areas", "mixes", "edges", "cuts", "paints", "method", "labour", "room", "run",
)  # fmt: skip
"""What the page is told of the job."""


def reading_view(looked: Looked, scheme: Scheme, job: Job) -> dict[str, Any]:
    """The drawing as read: areas with border, name, part, size; edges; what the reading offers and nobody answered;
    what changed since the drawing before."""
    drawing = looked.materials.drawing
    data = drawing_json(drawing, scheme.mm_per_px)
    known = {a.id: a for a in scheme.areas}
    wished = {e.areas: e for e in scheme.edges}
    data["areas"] = [
        {**area, "path": looked.paths.get(area["id"], ""), **_said(known[area["id"]])}
        for area in data["areas"]
        if area["id"] in known
    ]
    data["edges"] = [
        {**edge, "treat": wish.treat, "first": wish.first, "path": looked.edge_paths.get(wish.areas, "")}
        for edge in data["edges"]
        if (wish := wished.get(tuple(edge["areas"]))) is not None
    ]
    data["parts"] = [{"name": p.name, "areas": list(p.areas), "height_mm": p.height_mm} for p in scheme.parts]
    data |= {"name": scheme.name, "offers": offers(drawing, job), "gone": _left_out(drawing, job)}
    data["said"] = list(looked.said)
    data["notes"] = [*looked.said, *scheme.warnings, *([scheme.guessed] if scheme.guessed else []), *drawing.notes]
    keys = ("name", "size", "kind", "mm_per_px", "ink", "paper", "areas", "edges", "parts", "offers", "gone", "said")
    return {key: rounded(data[key]) for key in (*keys, "notes")}


def _left_out(drawing: Drawing, job: Job) -> list[dict[str, Any]]:
    """Areas that the maker's corrections took out of the figure, so that they can be taken back."""
    there = {a.id for a in drawing.areas}
    marks = {m.id: m for m in drawing.marks}
    said = (("swallow", "swallowed"), ("join", "joined"), ("paper", "not figure"), ("line", "drawn line"))
    return [
        {"id": id, "name": area.name, "hex": marks[id].hex, "key": key, "how": how, "into": getattr(area, key)}
        for id, area in job.areas.items()
        # A mark without an area was in the drawing and is no longer: some correction took it.
        if id in marks and id not in there
        for key, how in said
        if getattr(area, key)
    ]


def _said(area: SchemeArea) -> dict[str, Any]:
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


@lru_cache(maxsize=4)
def job_view(text: str) -> dict[str, Any]:
    """What the job says, every key with its default, areas by number; {} for a text that is no job. To be read, never
    changed."""
    try:
        job = parse_job(text)
    except InputError:
        return {}
    found = asdict(job)
    spelt = _edge_headers(text)
    # JSON has no pairs as keys; `header` is how an edit must call the edge to change its own lines.
    found["edges"] = {f"{a}-{b}": {**edge, "header": spelt[a, b]} for (a, b), edge in found["edges"].items()}
    return {key: found[key] for key in JOB_SECTIONS}


def _edge_headers(text: str) -> dict[tuple[int, int], str]:
    """How the job spells each edge: by numbers or by names."""
    data = toml_of(text, "job")
    names = Names(data.get("areas", {}), "job")
    return {names.edge(header): header for header in data.get("edges", {})}


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
    """Every paint of the table and which of them are owned, then the maker's own bottles."""
    owned = {p.id: p for p in box.paints}
    table = {p.id for p in box.table.paints}
    # A paint that is owned is shown as the box has it, with what is left of it; the rest as the table has them.
    whole = Box(box.table, tuple(owned.get(p.id, p) for p in box.table.paints), box.white, box.black)
    return {
        "table": box.table.name,
        "paints": [{**row, "owned": row["paint"] in owned} for row in box_json(whole)],
        "bottles": [row for row in box_json(box) if row["paint"] not in table],
        "legend": OPACITY_LEGEND,
    }
