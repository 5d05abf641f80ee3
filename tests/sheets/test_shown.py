"""What the terminal says of a plan: coats as on the sheets, amounts that are never nothing, areas by name."""

import re
from dataclasses import replace

import pytest
from conftest import EXAMPLES
from icalendar import Calendar
from read_back import pages

from finishplan.basics.words import listed
from finishplan.cli.summary import show_plan
from finishplan.cli.tables import coats_told, recipe_text, show_run
from finishplan.plan.plan import Plan
from finishplan.plan.wells import wells
from finishplan.run.calendar import run_ics
from finishplan.sheets.book import pdf_bytes
from finishplan.sheets.task_rows import sessions_of, tasks_in
from finishplan.sheets.words import ml, session_end


@pytest.mark.parametrize(
    "work, said",
    [
        ([(3, 0), (2, 0)], "3"),
        ([(4, 1), (3, 0)], "3, 1 more along the edge"),
        ([(4, 0), (4, 1)], "4 or 3, 1 more along the edge"),
        ([(5, 2), (4, 1), (2, 0)], "3, 2 more along the edge or 3, 1 more along the edge"),
    ],
)
def test_coats_along_the_edge_are_told_apart(work: list[tuple[int, int]], said: str) -> None:
    """(coats, those of them along the edge) of each area."""
    assert coats_told(("colour", i, n, line) for i, (n, line) in enumerate(work, 1)) == said


@pytest.mark.parametrize(
    "work, said",
    [
        ([("undercoat", 1, 1, 0), ("undercoat", 2, 1, 0), ("colour", 48, 4, 0)], "1 undercoat, 4 on 48"),
        (
            [("undercoat", 1, 2, 0), ("colour", 3, 4, 1), ("dot", 4, 2, 0)],
            "2 undercoat, 3, 1 more along the edge on 3 4",
        ),
        ([("undercoat", 1, 2, 0), ("undercoat", 2, 1, 0)], "2"),
        ([("undercoat", 1, 1, 0), *(("colour", i, 3, 0) for i in range(2, 9))], "1 undercoat, 3 on the others"),
    ],
)
def test_an_undercoat_is_counted_apart(work: list[tuple[str, int, int, int]], said: str) -> None:
    assert coats_told(work) == said


def test_the_cards_name_the_areas_a_mix_undercoats(plan: Plan) -> None:
    """Beside those it colours."""
    first = plan.order.passes[0]
    work = (*first.work, *(replace(w, area=i, kind="undercoat") for w, i in zip(first.work, (18, 20), strict=False)))
    both = replace(plan, order=replace(plan.order, passes=(replace(first, work=work), *plan.order.passes[1:])))
    both = replace(both, wells=wells(both, both.run, both.quantities))
    well = next(w for w in both.wells if w.mix == first.mix)
    assert well.areas and set(well.undercoats) >= {18}
    text = " ".join(p.words for p in pages(pdf_bytes(both, sheets=("cards",))))
    assert f"areas {listed(well.areas)} · undercoat on {listed(well.undercoats)}" in text


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
    table = re.findall(r"^\d+ +(?:day \d+, )?19:00 +(\d\d:\d\d)\b", capsys.readouterr().out, re.MULTILINE)
    assert len(ends) > 3 and table == ends and len(set(ends)) > 1
    printed = [session_end(max(t.end_min for t in tasks_in(newt, s)), s) for s in sessions_of(newt)]
    assert printed == ends


def test_a_run_in_one_stretch_says_so(newt: Plan, capsys: pytest.CaptureFixture[str]) -> None:
    note = "One stretch of work: set session_min in [run] to cut it into evenings that suit you."
    show_run(replace(newt, notes=(*newt.notes, note), run_notes=(note,)))
    said = capsys.readouterr().out
    assert f"- {note}" in said and not any(f"- {n}" in said for n in newt.notes)


def test_colours_out_of_reach_and_merged_ones_name_their_areas() -> None:
    """Where the box has white, ochre and black only."""
    from finishplan import load_job, make_plan, read_drawing

    job = load_job(EXAMPLES / "newt.toml")
    job = replace(job, paints=replace(job.paints, own=("PW6", "PY43", "PBk9")), run=replace(job.run, search_s=0.0))
    plan = make_plan(read_drawing(EXAMPLES / "newt.png"), job, cache=False)
    missed = [w for w in plan.warnings if w.startswith("No mix of your paints reaches")]
    assert len(missed) == 1
    merged = [n for n in plan.notes if "also serves" in n]
    assert missed and merged
    for text in (*missed, *merged):
        for hex, areas in re.findall(r"(#[0-9a-f]{6}) \(([^)]*)\)", text):
            first = re.match(r"(\d+) (.*?)(?:,| and |$)", areas)
            assert first and plan.scheme.area(int(first[1])).hex == hex, text
        assert re.search(r"#[0-9a-f]{6} \(\d+ ", text)


def test_the_summary_of_the_newt_is_one_screen(newt: Plan, capsys: pytest.CaptureFixture[str]) -> None:
    """Forty lines, every pass among them; the reasons only where they are asked for."""
    show_plan(newt, [EXAMPLES / "plan.json"])
    said = capsys.readouterr().out
    assert len(said.splitlines()) <= 40
    mixes = {m.id: m.name for m in (*newt.mixes, *newt.order.extra_mixes)}
    for p in newt.order.passes:
        assert re.search(rf"^{p.no} .*{mixes[p.mix]}.* {' '.join(map(str, sorted(p.areas)))} ", said, re.MULTILINE)
    why = newt.order.passes[0].why[0]
    show_plan(newt, [], why=True)
    assert why[1:] not in said and why[1:] in capsys.readouterr().out
