"""What the terminal says of a plan: coats as on the sheets, amounts that are never nothing, areas by name."""

import re
from dataclasses import replace

import pytest
from conftest import EXAMPLES
from icalendar import Calendar
from read_back import pages
from sheet_plans import Size, make_plan

from finishplan.basics.words import listed
from finishplan.cli.calendar import run_ics
from finishplan.cli.tables import _pass_coats, coats_told, recipe_text, show_plan, show_run
from finishplan.order.model import AreaCoats, PassWork
from finishplan.plan.plan import Plan
from finishplan.sheets.book import pdf_bytes
from finishplan.sheets.chart import panels
from finishplan.sheets.swatches import all_mixes, taken_by
from finishplan.sheets.words import clock, ml


@pytest.mark.parametrize(
    "work, said",
    [
        ([(3, 0), (2, 0)], "3"),
        ([(4, 1), (3, 0)], "3 + 1 at the line"),
        ([(4, 0), (4, 1)], "4, 3 + 1 at the line"),
        ([(5, 2), (4, 1), (2, 0)], "3 + 2 at the line, 3 + 1 at the line"),
    ],
)
def test_coats_at_the_line_are_told_as_on_the_sheets(work: list[tuple[int, int]], said: str) -> None:
    """(coats, those of them along the line) of each area."""
    plan = make_plan(size=Size(2, 6, 3, 1))
    coats = tuple(AreaCoats(i, "A", n, (), edge_coats=line) for i, (n, line) in enumerate(work, 1))
    order = replace(plan.order, coats=coats)
    laid = replace(plan.order.passes[0], work=tuple(PassWork(i, "part 1", n, 1.0) for i, (n, _) in enumerate(work, 1)))
    assert _pass_coats(order, laid) == said


@pytest.mark.parametrize(
    "work, said",
    [
        ([("undercoat", 1, 1, 0), ("undercoat", 2, 1, 0), ("colour", 48, 4, 0)], "1 undercoat, 4 on 48"),
        ([("undercoat", 1, 2, 0), ("colour", 3, 4, 1), ("dot", 4, 2, 0)], "2 undercoat, 3 + 1 at the line on 3 4"),
        ([("undercoat", 1, 2, 0), ("undercoat", 2, 1, 0)], "2"),
        ([("undercoat", 1, 1, 0), *(("colour", i, 3, 0) for i in range(2, 9))], "1 undercoat, 3 on the others"),
    ],
)
def test_an_undercoat_is_counted_apart(work: list[tuple[str, int, int, int]], said: str) -> None:
    assert coats_told(work) == said


def test_the_sheets_name_the_areas_a_mix_undercoats(plan: Plan) -> None:
    """On the palette and on the mix's card, beside those it colours."""
    first = plan.order.passes[0]
    work = (*first.work, *(replace(w, area=i, kind="undercoat") for w, i in zip(first.work, (18, 20), strict=False)))
    both = replace(plan, order=replace(plan.order, passes=(replace(first, work=work), *plan.order.passes[1:])))
    found = pages(pdf_bytes(both, sheets=("mixes",)))
    own, under = taken_by(all_mixes(both)[first.mix], both)
    assert own and set(under) >= {18}
    said = f"undercoat on {listed(under)}"
    assert f"{', '.join(map(str, own))}; {said}" in found[0].words
    assert any(said in p.words for p in found[1:])


def test_the_run_tells_every_recipe_and_no_amount_of_nothing(newt: Plan, capsys: pytest.CaptureFixture[str]) -> None:
    show_run(newt)
    said = capsys.readouterr().out
    assert not re.search(r"(?<![\d.])0(\.0+)? ml", said)
    rows = {line for line in said.splitlines() if line.startswith("mix ")}
    mixes = {m.id: m for m in (*newt.mixes, *newt.order.extra_mixes)}
    for q in (q for q in newt.quantities if q.what == "mix"):
        mix = mixes[q.id]
        row = next(r for r in rows if f"{mix.hex} {mix.name} " in r)
        assert recipe_text(mix) in row and ml(q.ml_per_casting) in row and ml(q.ml_run) in row


def test_terminal_sheets_and_calendar_end_a_session_in_the_same_minute(
    newt: Plan, capsys: pytest.CaptureFixture[str]
) -> None:
    """RFC 5545 names the minute in DTEND; icalendar reads it."""
    calendar = Calendar.from_ical(run_ics(newt.run, "2026-05-01T19:00", "Newt"))
    ends = [f"{e.decoded('dtend'):%H:%M}" for e in calendar.walk("VEVENT")]
    show_run(newt)
    table = re.findall(r"^\d+ +(?:day \d+, )?19:00 +(\d\d:\d\d)$", capsys.readouterr().out, re.MULTILINE)
    assert len(ends) > 5 and table == ends and ends[-1] < "22:00"
    printed = {p.session.no: clock(p.end, p.session) for p in panels(newt)}
    assert [f"{end:0>5}" for end in printed.values()] == ends


def test_a_run_in_one_stretch_says_so(newt: Plan, capsys: pytest.CaptureFixture[str]) -> None:
    note = "One stretch of work: set session_min in [run] to cut it into sessions that suit you."
    show_run(replace(newt, notes=(*newt.notes, note)))
    said = capsys.readouterr().out
    assert f"- {note}" in said and not any(f"- {n}" in said for n in newt.notes)


def test_colours_out_of_reach_and_merged_ones_name_their_areas(capsys: pytest.CaptureFixture[str]) -> None:
    """Where the box has white, ochre and black only."""
    from finishplan import load_job, make_plan, read_drawing

    job = load_job(EXAMPLES / "newt.toml")
    job = replace(job, paints=replace(job.paints, own=("PW6", "PY43", "PBk9")), run=replace(job.run, search_s=0.0))
    plan = make_plan(read_drawing(EXAMPLES / "newt.png"), job, cache=False)
    missed = [w for w in plan.warnings if w.startswith("No mix of your paints reaches")]
    assert len(missed) == 1
    merged = [n for n in plan.notes if "also serves" in n]
    assert missed and merged
    show_plan(plan, [])
    said = capsys.readouterr().out
    for text in (*missed, *merged):
        for hex, areas in re.findall(r"(#[0-9a-f]{6}) \(([^)]*)\)", text):
            first = re.match(r"(\d+) (.*?)(?:,| and |$)", areas)
            assert first and plan.scheme.area(int(first[1])).hex == hex, text
        assert re.search(r"#[0-9a-f]{6} \(\d+ ", text)
    assert all(n in said for n in merged)


def test_a_pass_of_two_mixes_names_both(blended: Plan, capsys: pytest.CaptureFixture[str]) -> None:
    show_plan(blended, [])
    said = capsys.readouterr().out
    names = {m.id: m.name for m in blended.mixes}
    two = [p for p in blended.order.passes if p.also_open]
    assert two
    for p in two:
        assert " + ".join(f"{id} {names[id]}" for id in (p.mix, *p.also_open)) in said
