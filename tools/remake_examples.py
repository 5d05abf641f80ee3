"""Remakes what the project shows: the newt's PDF, five of its pages as pictures, the moth as read, the README's tables.

python tools/remake_examples.py          (after any change of what a plan computes or a sheet prints)
"""

import re
import shutil
import tempfile
from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

import pypdfium2 as pdfium
from PIL import Image

from finishplan import find_sources, make_plan, read_sources
from finishplan.cli.main import run_command
from finishplan.cli.tables import coats_told
from finishplan.plan.plan_json import plan_json

ROOT = Path(__file__).parents[1]
PRINTED = 12
"""Castings of the printed example."""
COMPARED = (1, 4, 12, 30)
"""Castings of the README's table of runs."""
PAGES = {
    "wall": "Wall sheet",
    "part-head": "Part: head",
    "palette": "Palette",
    "evening": "The run",
    "amounts": "Amounts",
}
"""Picture -> the section, by the beginning of its bookmark, of which it is the first page."""
WIDEST = (1000, 1000)
"""Pixels of the picture of a reading."""

Data = dict[str, Any]


def newt_plan(castings: int) -> Data:
    """plan.json of the newt for so many castings, painted in the evenings of its job file."""
    sources = find_sources(ROOT / "examples" / "newt.toml")
    drawing, box, meshes = read_sources(sources)
    job = replace(sources.job, run=replace(sources.job.run, castings=castings))
    return plan_json(make_plan(drawing, job, box, meshes=meshes))


def order_table(plan: Data) -> str:
    """The painting order as a table: pass, mix, areas, coats, and the two weightiest reasons."""
    mixes = {m["id"]: m["name"] for m in plan["mixes"]}
    names = {a["id"]: re.sub(r" \d+$", "", a["name"]) for a in plan["areas"]}
    rows = ["| pass | mix | areas | coats | why |", "| --- | --- | --- | --- | --- |"]
    for one in plan["passes"]:
        areas = [
            ("" if kind == "colour" else f"{kind}: ") + ", ".join(dict.fromkeys(names[i] for i in sorted(ids)))
            for kind in ("undercoat", "colour", "blend", "dot", "recut")
            if (ids := [w["area"] for w in one["work"] if w["kind"] == kind])
        ]
        why = sorted(
            (w for w in one["why"] if not w.startswith("one mix on")),
            key=lambda w: not re.search("recess|undercoat|dots? added|opened", w),
        )
        mix = f"{one['mix']} {mixes[one['mix']]}"
        rows.append(f"| {one['no']} | {mix} | {'; '.join(areas)} | {_coats(plan, one)} | {'; '.join(why[:2])} |")
    return "\n".join(rows)


def _coats(plan: Data, one: Data) -> str:
    """As the terminal says it."""
    along = {c["area"]: c["edge_coats"] for c in plan["coats"]}
    line = {w["area"]: 0 if w["kind"] in ("undercoat", "recut") else along[w["area"]] for w in one["work"]}
    return coats_told((w["kind"], w["area"], w["coats"], line[w["area"]]) for w in one["work"])


def runs_table(plans: Mapping[int, Data]) -> str:
    """Runs of a few numbers of castings side by side."""

    def amount(plan: Data, what: str, key: str) -> float:
        return float(sum(q[key] for q in plan["quantities"] if q["what"] == what))

    figures: dict[str, Callable[[int, Data], str]] = {
        "evenings": lambda n, p: str(len(p["run"]["sessions"])),
        "no plan takes fewer than": lambda n, p: str(p["run"]["sessions_bound"]),
        "at the bench in all": lambda n, p: _hours(p["run"]["attendance_min"]),
        "no plan takes less than": lambda n, p: _hours(p["run"]["attendance_bound_min"]),
        "at work, a casting": lambda n, p: f"{p['run']['painter_min'] / n:.0f} min",
        "nobody paints": lambda n, p: _hours(p["run"]["waiting_min"]),
        "pots mixed": lambda n, p: str(p["run"]["pots_mixed"]),
        "turns to a mix": lambda n, p: str(p["run"]["mix_changes"]),
        "mixed paint": lambda n, p: f"{amount(p, 'mix', 'ml_run'):.0f} ml",
        "what one casting takes": lambda n, p: f"{amount(p, 'mix', 'ml_per_casting'):.1f} ml",
        "primer": lambda n, p: f"{amount(p, 'primer', 'ml_run'):.0f} ml",
    }
    first, *others = COMPARED
    head = f"| | {first} casting | " + " | ".join(map(str, others)) + " |"
    rows = (f"| {name} | " + " | ".join(tell(n, plans[n]) for n in COMPARED) + " |" for name, tell in figures.items())
    return "\n".join((head, "| --- | " + " | ".join("---" for _ in COMPARED) + " |", *rows))


def with_tables(readme: str, plans: Mapping[int, Data]) -> str:
    """The README with both tables put between their marks."""
    for mark, table in (("newt order", order_table(plans[PRINTED])), ("runs", runs_table(plans))):
        start, end = f"<!-- {mark} -->", f"<!-- end of {mark} -->"
        before, _, rest = readme.partition(start)
        readme = f"{before}{start}\n{table}\n{end}{rest.partition(end)[2]}"
    return readme


def page_texts(pdf: Path) -> list[str]:
    """The text of each page."""
    document = pdfium.PdfDocument(str(pdf))
    return [page.get_textpage().get_text_range() for page in document]


def main() -> None:
    """Print the newt, copy the PDF and its pictures into examples/, and put the tables into the README."""
    examples = ROOT / "examples"
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder) / "out"
        options = ["--castings", str(PRINTED), "--out", str(out), "--quiet"]
        if run_command(["plan", str(examples / "newt.png"), *options]):
            raise SystemExit("the newt could not be planned")
        shutil.copy(out / "painting-order.pdf", examples / "newt-painting-order.pdf")
        _family(Path(folder) / "family", examples)
    _pictures(examples / "newt-painting-order.pdf", examples / "sheets")
    _reading(examples / "moth.png", examples / "sheets" / "moth-areas.png")
    readme = ROOT / "README.md"
    plans = {n: newt_plan(n) for n in (*COMPARED, PRINTED)}
    readme.write_text(with_tables(readme.read_text(encoding="utf-8"), plans), encoding="utf-8")


def _family(out: Path, examples: Path) -> None:
    """The first page of the newt and its companion planned together, as a small picture."""
    jobs = [str(examples / name) for name in ("newt.toml", "moth.toml")]
    if run_command(["plan", *jobs, "--castings", "6,4", "--sheets", "wall", "--out", str(out), "--quiet"]):
        raise SystemExit("newt and moth could not be planned together")
    page = pdfium.PdfDocument(str(out / "family.pdf"))[0].render(scale=1.2).to_pil().convert("RGB")
    page.save(examples / "sheets" / "family.png", optimize=True)


def _pictures(pdf: Path, folder: Path) -> None:
    folder.mkdir(exist_ok=True)
    document = pdfium.PdfDocument(str(pdf))
    starts = [(mark.get_title(), mark.get_dest().get_index()) for mark in document.get_toc()]
    for name, section in PAGES.items():
        first = next(page for title, page in starts if title.startswith(section))
        picture = document[first].render(scale=100 / 72).to_pil().convert("RGB")
        picture.save(folder / f"{name}.png", optimize=True)  # a palette would bend the colours of small swatches


def _reading(drawing: Path, picture: Path) -> None:
    """The drawing with its areas numbered, as large as a page."""
    with tempfile.TemporaryDirectory() as folder:
        if run_command(["areas", str(drawing), "--out", folder, "--quiet"]):
            raise SystemExit(f"{drawing.name} could not be read")
        with Image.open(Path(folder) / "areas.png") as numbered:
            numbered.thumbnail(WIDEST)
            numbered.save(picture, optimize=True)


def _hours(minutes: float) -> str:
    return f"{minutes / 60:.1f} h" if minutes >= 90 else f"{minutes:.0f} min"


if __name__ == "__main__":
    main()
