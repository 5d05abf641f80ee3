"""Figures planned together: their mixes, their letters, their one run."""

from dataclasses import replace
from pathlib import Path

import pypdfium2 as pdfium
import pytest
from PIL import Image, ImageDraw
from run_checker import violations

from finishplan import InputError, Job, Materials, Planner, load_box, read_drawing
from finishplan.cli.main import run_command
from finishplan.cli.options import castings_of
from finishplan.plan.family import family_mixes, family_problem, family_run, shopping
from finishplan.plan.stages import plan_run
from finishplan.run.schedule import schedule

BOX = load_box(own=("PW6", "PY43", "burnt-sienna", "PB29", "PBk9"))
COLOURS = (("#c08a3e", "#506a94"), ("#c38c43", "#7a4a34"))
"""An ochre in common, drawn 1 apart."""


def drawn(folder: Path, number: int) -> Path:
    picture = Image.new("RGB", (220, 200), "white")
    pen = ImageDraw.Draw(picture)
    pen.ellipse((20, 20, 200, 180), fill=COLOURS[number][0])
    pen.rectangle((80, 70, 140, 130), fill=COLOURS[number][1])
    path = folder / f"figure-{number}.png"
    picture.save(path)
    return path


@pytest.fixture(scope="module")
def figures(tmp_path_factory: pytest.TempPathFactory) -> list[tuple[Planner, Job]]:
    folder, found = tmp_path_factory.mktemp("family"), []
    for number in (0, 1):
        job = Job()
        figure = replace(job.figure, name=("Newt", "Moth")[number], height_mm=50.0)
        job = replace(job, figure=figure, run=replace(job.run, castings=2 - number, search_s=0.0))
        found.append((Planner(Materials(read_drawing(drawn(folder, number)), BOX), cache=False), job))
    return found


def test_figures_share_mixes_letters_and_one_run(figures: list[tuple[Planner, Job]]) -> None:
    """The ochre is one mix under one letter; every letter means one recipe; the judge finds nothing amiss in the run;
    it takes fewer pots and turns than the runs apart, and no longer at the bench."""
    family = family_mixes(figures)
    paintings = [planner.painting(job) for planner, job in figures]
    assert len(family.mixes) == family.least == 3
    named = [{m.id: m.recipe for m in p.mixes} for p in paintings]
    (common,) = named[0].keys() & named[1].keys()
    assert named[0][common] == named[1][common]
    lightness = [m.lab[0] for m in family.mixes]
    assert lightness == sorted(lightness, reverse=True) and [m.id for m in family.mixes] == ["A", "B", "C"]
    for painting, share in zip(paintings, family.of, strict=True):
        assert painting.mix_of == share.mix_of and len(painting.mix_of) == 2
    problem = family_problem(paintings)
    run = family_run(paintings)
    assert violations(problem, run) == [] and run.castings == 3
    laid = sum(turn.ml for turn in run.turns)
    own = [plan_run(p) for p in paintings]
    assert laid == pytest.approx(sum(t.ml for r in own for t in r.turns))
    drop_ml = paintings[0].mix_settings.drop_ml
    assert len(run.pots) == run.pots_mixed and all(pot.drops * drop_ml >= pot.ml > 0 for pot in run.pots)
    apart = [schedule(family_problem([p])) for p in paintings]
    assert run.pots_mixed < sum(r.pots_mixed for r in apart)
    assert run.mix_changes <= sum(r.mix_changes for r in apart)
    assert run.makespan_min < sum(r.makespan_min for r in apart)


def test_the_judge_finds_nothing_amiss_in_a_run_of_six_and_four(figures: list[tuple[Planner, Job]]) -> None:
    """In evenings of 75 min, pots that last four hours: no more pots than apart, and less time at the bench."""
    changes = {"session_min": 75.0, "search_s": 0.05, "pot_life_min": 240.0}
    jobs = [
        (p, replace(j, run=replace(j.run, castings=n, **changes))) for (p, j), n in zip(figures, (6, 4), strict=True)
    ]
    family_mixes(jobs)
    paintings = [planner.painting(job) for planner, job in jobs]
    problem, apart = family_problem(paintings), [schedule(family_problem([p])) for p in paintings]
    run = schedule(problem)
    assert violations(problem, run) == [] and run.castings == 10 and len(run.sessions) > 1
    assert run.pots_mixed <= sum(r.pots_mixed for r in apart)
    assert run.attendance_min < sum(r.attendance_min for r in apart)
    for planner, _ in figures:
        planner.share = None


def test_one_shopping_list(figures: list[tuple[Planner, Job]]) -> None:
    family_mixes(figures)
    lists = [planner.plan(job).quantities for planner, job in figures]
    bought = {(q.what, q.id): q.ml_run for q in shopping(lists)}
    for what, id in bought:
        apart = sum(q.ml_run for each in lists for q in each if (q.what, q.id) == (what, id))
        assert bought[what, id] == pytest.approx(apart)
    assert any(what == "paint" for what, _ in bought)


def test_castings_are_told_once_or_for_each_figure() -> None:
    assert castings_of(None, 2) == [None, None]
    assert castings_of([6], 2) == [6, 6] and castings_of([6, 4], 2) == [6, 4]
    with pytest.raises(InputError, match="--castings: 3 numbers for 2 figures"):
        castings_of([1, 2, 3], 2)


def test_two_recipes_of_one_name_are_refused(figures: list[tuple[Planner, Job]]) -> None:
    from finishplan.job.job import MixJob

    told = []
    for (planner, job), drops in zip(figures, (1, 2), strict=True):
        mix = MixJob(areas=(1,), recipe=(("PY43", drops), ("PW6", 1)))
        told.append((planner, replace(job, mixes={"coat": mix})))
    with pytest.raises(InputError, match="different recipes to 'coat'"):
        family_mixes(told)
    for planner, _ in figures:
        planner.share = None


def test_the_area_that_leads_a_mix_is_told_in_the_job(figures: list[tuple[Planner, Job]]) -> None:
    """Alone and in the family: the small square's colour is mixed, and how far the body is from it is told."""
    from finishplan.job.job import AreaJob, MixJob

    planner, job = figures[0]
    areas = {1: AreaJob(mix="coat"), 2: AreaJob(mix="coat")}
    planner.share, (body, square) = None, COLOURS[0]
    told = replace(job, areas=areas, mixes={"coat": MixJob(areas=(1, 2), leads=2)})
    painting = planner.painting(told)
    (mix,) = painting.mixes
    assert (mix.drawn_hex, mix.merged_hex) == (square, (body,))
    warned = next(w for w in painting.warnings if "as you grouped them" in w)
    assert mix.merged_off[0] > 5 and f"{mix.merged_off[0]:.1f} off" in warned
    shared = family_mixes([(planner, told), figures[1]]).mixes
    assert any(m.name == "coat" and m.drawn_hex == square for m in shared)
    for one, _ in figures:
        one.share = None


def test_the_command_writes_a_folder_for_each(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    one, other = str(drawn(tmp_path, 0)), str(drawn(tmp_path, 1))
    out = tmp_path / "out"
    assert run_command(["plan", one, other, "--castings", "2,1", "--out", str(out), "--height-mm", "40"]) == 0
    said = capsys.readouterr().out
    assert "1 mix for both" in said and "Together: 3 castings" in said
    assert {p.name for p in out.iterdir()} == {"family.json", "family.pdf", "run.csv", "figure-0", "figure-1"}
    text = [page.get_textpage().get_text_range() for page in pdfium.PdfDocument(out / "family.pdf")]
    assert all(name in text[0] for name in ("figure-0", "figure-1")) and "figure-1, pass 1, coat 1" in "".join(text)
    assert "titanium white" in text[-1]
    assert {p.name for p in (out / "figure-0").iterdir()} >= {"plan.json", "painting-order.pdf", "job.toml"}
    job = out / "figure-1" / "job.toml"
    job.write_text(job.read_text("utf-8") + "\n[run]\nsession_min = 77\nsearch_s = 0\n", "utf-8")
    again = ["plan", one, other, "--out", str(out), "--sheets", "wall"]
    assert run_command(again) == 0
    assert "figure-1/job.toml is used as you edited it" in capsys.readouterr().err and "= 77" in job.read_text("utf-8")
    assert run_command([*again, "--fresh"]) == 0
    assert "= 77" not in job.read_text("utf-8") and len(list(job.parent.glob("job*.toml"))) == 2
