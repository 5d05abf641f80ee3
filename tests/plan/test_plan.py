"""The whole job on the shipped example: what a painter would expect of the plan, and what a changed job changes."""

import json
import re
import shutil
from pathlib import Path
from typing import Any

import pytest
from PIL import Image, ImageDraw
from pypdfium2 import PdfDocument

from finishplan.cli.main import run_command
from finishplan.cli.outputs import old_pages
from finishplan.cli.wishes import file_words
from finishplan.drawing.stored import NAME
from finishplan.job.job import Job
from finishplan.order.rules import TIE_L
from finishplan.plan.inputs import Sources

ROOT = Path(__file__).parents[2]
NEWT = ROOT / "examples" / "newt.png"
pytestmark = pytest.mark.usefixtures("short_search")

Data = dict[str, Any]


def planned(source: Path, out: Path, *options: str) -> Data:
    """The plan.json of one run of the command line."""
    assert run_command(["plan", str(source), "--out", str(out), "--quiet", *options]) == 0
    data: Data = json.loads((out / "plan.json").read_text())
    return data


def two_pieces(path: Path) -> Path:
    """A small drawing of two pieces of two colours each, with the job that names them lantern and base."""
    picture = Image.new("RGB", (300, 200), "white")
    pen = ImageDraw.Draw(picture)
    pen.ellipse((10, 20, 140, 180), fill="#e0a020")
    pen.ellipse((50, 70, 100, 130), fill="#206090")
    pen.rectangle((170, 60, 290, 180), fill="#508040")
    pen.rectangle((200, 90, 250, 150), fill="#c03030")
    picture.save(path)
    path.with_suffix(".toml").write_text("[parts.lantern]\nareas = [1, 2]\n[parts.base]\nareas = [3, 4]\n")
    return path


@pytest.fixture(scope="module")
def folder(short_search: None, tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("newt")
    planned(NEWT, out, "--castings", "12")
    return out


@pytest.fixture(scope="module")
def plan(folder: Path) -> Data:
    data: Data = json.loads((folder / "plan.json").read_text())
    return data


def area_of(plan: Data, name: str) -> Data:
    return next(a for a in plan["areas"] if a["name"] == name)


def recipe(mix: Data) -> Data:
    """A mix without its amounts, which follow the run."""
    parts = [{k: v for k, v in i.items() if k not in ("drops", "ml")} for i in mix["recipe"]]
    return {k: v for k, v in mix.items() if not k.startswith("ml_")} | {"recipe": parts}


def test_the_folder_is_complete(folder: Path) -> None:
    there = {p.name for p in folder.iterdir()}
    assert there - {NAME} == {"painting-order.pdf", "plan.json", "areas.png", "job.toml", "drawing.png"}


@pytest.mark.parametrize("command", [["plan", "--png"], ["areas"]])
def test_every_file_written_is_named(command: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Pages as pictures are many: their number is told."""
    source, out = two_pieces(tmp_path / "newt.png"), tmp_path / "out"
    assert run_command([command[0], str(source), "--out", str(out), *command[1:]]) == 0
    told = " ".join(capsys.readouterr().out.split()).split(f"Written into {out}: ")[1]
    named, pages = re.findall(r"\S+\.\w+\b", told), re.findall(r"(\d+) page pictures", told)
    there = {p.name for p in out.iterdir()} - {NAME}
    assert sorted(named) == sorted(n for n in there if not n.startswith("page-"))
    assert [int(n) for n in pages] == [n for n in [len(there) - len(named)] if n] and bool(pages) == (
        "--png" in command
    )


def test_four_parts_and_every_area_once(plan: Data) -> None:
    assert [p["name"] for p in plan["figure"]["parts"]] == ["head", "body", "lantern", "base"]
    ids = [i for p in plan["figure"]["parts"] for i in p["areas"]]
    assert sorted(ids) == [a["id"] for a in plan["areas"]] == list(range(1, len(ids) + 1))


def test_lighter_before_darker_at_every_edge_or_a_reason(plan: Data) -> None:
    """Common practice: a dark edge cuts cleanly over a light colour. By the mixes as they dry."""
    mixes = {m["id"]: m for m in plan["mixes"]}
    light = {a["id"]: mixes[a["mix"]]["lab"][0] for a in plan["areas"] if a["mix"]}
    as_the_rule = exceptions = 0
    for edge in plan["edges"]:
        assert edge["why"]
        if light[edge["first"]] < light[edge["second"]] - 3:
            exceptions += 1
            flags = {f for a in plan["areas"] if a["id"] in edge["areas"] for f in a["flags"]}
            assert edge["treat"] == "dot" or "recess" in flags, edge
        else:
            as_the_rule += 1
    assert as_the_rule > 5 * exceptions > 0


def test_the_inside_of_the_mouth_comes_first(plan: Data) -> None:
    """Common practice: a hollow is painted before what closes it off, though it is the darker here."""
    mouth = area_of(plan, "inside of the mouth")
    order = {i: p["no"] for p in plan["passes"] for i in p["areas"]}
    closing = [e for e in plan["edges"] if mouth["id"] in e["areas"]]
    assert closing and all(e["first"] == mouth["id"] for e in closing)
    for edge in closing:
        assert order[mouth["id"]] < order[edge["second"]]
    assert any(e["reversed_rule"] and "recess" in e["why"] for e in closing)


def test_glints_are_dotted_on_after_the_pupils(plan: Data) -> None:
    order = {i: p["no"] for p in plan["passes"] for i in p["areas"]}
    glints = [a for a in plan["areas"] if a["name"].startswith("glint")]
    assert len(glints) == 2
    for glint in glints:
        edge = next(e for e in plan["edges"] if glint["id"] in e["areas"])
        assert edge["treat"] == "dot" and edge["second"] == glint["id"]
        assert order[edge["first"]] < order[glint["id"]]


def test_colours_that_recur_share_a_mix(plan: Data) -> None:
    drawn: dict[str, set[str]] = {}
    for area in plan["areas"]:
        drawn.setdefault(area["target"], set()).add(area["mix"])
    assert all(len(mixes) == 1 for mixes in drawn.values())
    names = [a["name"] for a in plan["areas"]]
    for alike in (["scarf", "scarf end"], ["left boot", "right boot"], [n for n in names if n.startswith("spot")]):
        assert len(alike) > 1 and len({area_of(plan, n)["mix"] for n in alike}) == 1


def test_one_mix_is_opened_once_unless_a_rule_forbids(plan: Data) -> None:
    assert plan["order"]["proven"] and len(plan["passes"]) == plan["order"]["passes_at_least"]


def test_mixes_are_lettered_as_they_are_opened(plan: Data) -> None:
    opened = list(dict.fromkeys(p["mix"] for p in plan["passes"]))
    assert [m["id"] for m in plan["mixes"]] == opened == sorted(opened)
    lightness = {m["id"]: m["lab"][0] for m in plan["mixes"]}
    assert lightness[opened[0]] > max(lightness.values()) - TIE_L, "less apart, broad before fine"
    assert lightness[opened[-1]] == min(lightness.values())
    names = {a["id"]: a["mix"] for a in plan["areas"]}
    assert all(c["mix"] == names[c["area"]] for c in plan["coats"])


def test_a_colour_of_specks_is_mixed_in_few_drops_and_it_is_said(plan: Data) -> None:
    """The newt's tongue, a third of a cm2."""
    tongue = area_of(plan, "tongue")
    mix = next(m for m in plan["mixes"] if m["id"] == tongue["mix"])
    (note,) = [n for n in plan["notes"] if "mixed simply" in n]
    assert f"{mix['id']} {mix['name']}" in note and tongue["cm2"] < 0.5
    assert all("paint" in i for i in mix["recipe"]) and sum(i["parts"] for i in mix["recipe"]) < 10
    assert mix["delta_e"] <= 3 and f"{mix['delta_e']:.1f} off" in note


def test_running_the_written_job_gives_the_same_plan(folder: Path, tmp_path: Path) -> None:
    again = planned(folder / "job.toml", tmp_path)
    assert (tmp_path / "plan.json").read_bytes() == (folder / "plan.json").read_bytes(), again["figure"]
    assert (tmp_path / "painting-order.pdf").read_bytes() == (folder / "painting-order.pdf").read_bytes()
    assert (tmp_path / "areas.png").read_bytes() == (folder / "areas.png").read_bytes()


def test_a_changed_key_changes_what_hangs_on_it_and_nothing_else(folder: Path, plan: Data, tmp_path: Path) -> None:
    job = (folder / "job.toml").read_text()
    changed = f"{job}\n[room]  # a warm evening\ntemperature_c = 27\n"
    own = tmp_path / "job.toml"
    own.write_text(changed)
    (tmp_path / "drawing.png").write_bytes((folder / "drawing.png").read_bytes())
    warm = planned(own, tmp_path)
    assert own.read_text() == changed, "an edited job file stays"
    assert warm["dry"][1]["touch_dry_min"] < plan["dry"][1]["touch_dry_min"]
    for key in ("figure", "areas", "edges", "coats"):
        assert warm[key] == plan[key], key
    assert [(p["mix"], p["work"]) for p in warm["passes"]] == [(p["mix"], p["work"]) for p in plan["passes"]]
    assert warm["primer"]["name"] == plan["primer"]["name"]
    assert warm["primer"]["minutes"] <= plan["primer"]["minutes"], "what dries sooner opens mixes less often"
    assert [recipe(m) for m in warm["mixes"]] == [recipe(m) for m in plan["mixes"]]


def test_the_same_command_uses_the_edited_job_and_fresh_puts_it_aside(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    source, tmp_path = two_pieces(tmp_path / "newt.png"), tmp_path / "out"
    planned(source, tmp_path)
    own = (tmp_path / "job.toml").read_text() + "\n[run]\ncastings = 4  # mine\n"
    (tmp_path / "job.toml").write_text(own)
    assert planned(source, tmp_path)["run"]["castings"] == 4
    assert (tmp_path / "job.toml").read_text() == own
    assert "job.toml is used as you edited it" in capsys.readouterr().err
    assert planned(source, tmp_path, "--fresh")["run"]["castings"] == 1
    assert (tmp_path / "job-old.toml").read_text() == own
    assert "castings = 4" not in (tmp_path / "job.toml").read_text()


def test_an_unedited_job_file_is_renewed(tmp_path: Path) -> None:
    source, tmp_path = two_pieces(tmp_path / "newt.png"), tmp_path / "out"
    planned(source, tmp_path)
    planned(source, tmp_path, "--castings", "7")
    assert "castings = 7" in (tmp_path / "job.toml").read_text()
    assert not (tmp_path / "job-new.toml").exists()


def test_quiet_says_nothing_and_json_only_json(
    folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    planned(two_pieces(tmp_path / "newt.png"), tmp_path / "a")
    assert capsys.readouterr().out == ""
    assert run_command(["plan", str(NEWT), "--out", str(tmp_path / "b"), "--json", "--castings", "12"]) == 0
    assert capsys.readouterr().out == (folder / "plan.json").read_text()


def test_the_terminal_is_plain_ascii_when_it_is_no_terminal(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run_command(["plan", str(two_pieces(tmp_path / "newt.png")), "--out", str(tmp_path / "out")]) == 0
    out = capsys.readouterr().out
    assert out.isascii() and "\x1b" not in out
    for word in ("2 parts, 4 areas", "Primer: ", "pass  mix", "1 casting painted in", "painting-order.pdf"):
        assert word in out


def test_what_the_maker_put_into_the_folder_stays(tmp_path: Path) -> None:
    """A changed drawing takes the place of our copy of it, not of a file that the maker laid there by that name."""
    source, tmp_path = two_pieces(tmp_path / "newt.png"), tmp_path / "out"
    planned(source, tmp_path)
    with Image.open(source) as picture:
        picture.crop((0, 0, 155, 200)).save(source)
    assert len(planned(source, tmp_path)["areas"]) == 2
    assert (tmp_path / "drawing.png").read_bytes() == source.read_bytes()
    own = source.read_bytes() + b"mine"
    (tmp_path / "drawing.png").write_bytes(own)
    with Image.open(source) as picture:
        picture.crop((0, 0, 154, 199)).save(source)
    planned(source, tmp_path)
    assert (tmp_path / "drawing.png").read_bytes() == own
    assert 'drawing = "drawing-2.png"' in (tmp_path / "job.toml").read_text()


def test_only_pages_of_an_earlier_plan_are_taken_away(tmp_path: Path) -> None:
    """Not the maker's pictures, whatever they are called; also one that was a page of ours, where it is now read."""
    source, tmp_path = two_pieces(tmp_path / "newt.png"), tmp_path / "out"
    planned(source, tmp_path, "--png")
    pages = sorted(tmp_path.glob("page-*.png"))
    own = [tmp_path / f"page-{name}.png" for name in ("sketch", "1", "77", "100")]
    for path in own:
        shutil.copy(source, path)
    again = tmp_path / "page-98.png"
    shutil.copy(pages[0], again)
    assert again not in old_pages(tmp_path, "page", Sources(Job(), again))
    planned(source, tmp_path, "--png")
    assert set(tmp_path.glob("page-*.png")) == {*pages, *own}


def test_some_sheets_only_leave_the_full_ones_as_they_are(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A maker prints the lantern alone, later the run alone: PDFs and pages of their own, and the whole plan's data."""
    source, tmp_path = two_pieces(tmp_path / "newt.png"), tmp_path / "out"
    planned(source, tmp_path, "--png")
    full = {path: path.read_bytes() for path in tmp_path.iterdir()}
    made = {
        "part-lantern": ("--part", "lantern", "--png"),
        "sheets-palette-run": ("--sheets", "run,palette"),
        "part-base-sheets-parts": ("--part", "base", "--sheets", "parts"),
    }
    for name, options in made.items():
        planned(source, tmp_path, *options)
        pages = len(PdfDocument(str(tmp_path / f"painting-order-{name}.pdf")))
        assert 0 < pages < len(PdfDocument(str(tmp_path / "painting-order.pdf")))
        assert len(list(tmp_path.glob(f"page-{name}-*.png"))) == (pages if "--png" in options else 0)
    assert {path: path.read_bytes() for path in full} == full
    assert capsys.readouterr().err == ""
    said = "Of an earlier plan, not of this one: painting-order-part-base-sheets-parts.pdf, "
    said += "painting-order-sheets-palette-run.pdf and painting-order.pdf with its pages. Plan again"
    for _ in range(2):  # as long as they lie there
        planned(source, tmp_path, "--part", "lantern", "--castings", "2")
        assert said in capsys.readouterr().err


def test_parts_of_any_name_have_files_of_their_own() -> None:
    names = ["Left arm/hand", "left arm-hand", "...", "Schöpfkelle", "頭", "part A", "x" * 80, "Scho\u0308pfkelle", "a"]
    words = file_words(names)
    assert words[:6] == ["left-arm-hand", "left-arm-hand-2", "3", "schöpfkelle", "頭", "a"]
    assert len(set(words)) == len(names) and all(len(f"{w}.pdf".encode()) < 100 for w in words)


def test_films_are_one_thickness_for_optics_drying_and_amounts(tmp_path: Path) -> None:
    """A thicker coat hides in fewer coats, dries longer and takes more paint; a thick brand of paint likewise."""
    source = two_pieces(tmp_path / "newt.png")
    job, plans = source.with_suffix(".toml").read_text(), {}
    for name, um in {"thin": 15, "thick": 40}.items():
        (tmp_path / f"{name}.toml").write_text(f'figure.drawing = "newt.png"\nmethod.coat_um = {um}\n{job}')
        plans[name] = planned(tmp_path / f"{name}.toml", tmp_path / name, "--detail", "wall")
    thin, thick = plans["thin"], plans["thick"]
    assert thick["dry"][1]["recoat_min"] > thin["dry"][1]["recoat_min"]
    assert sum(c["coats"] for c in thick["coats"]) < sum(c["coats"] for c in thin["coats"])
    for one in thick["passes"]:
        assert one["wet_um"] == thick["dry"][1]["wet_um"] and one["recoat_min"] == thick["dry"][1]["recoat_min"]


def test_a_skipped_priming_is_neither_scheduled_nor_bought(tmp_path: Path) -> None:
    job = two_pieces(tmp_path / "newt.png").with_suffix(".toml").read_text()
    (tmp_path / "bare.toml").write_text(f'figure.drawing = "newt.png"\n{job}[steps.prime]\nskip = true\n')
    plan = planned(tmp_path / "bare.toml", tmp_path / "out")
    assert not [t for t in plan["run"]["tasks"] if t["kind"] == "prime"]
    assert not [q for q in plan["quantities"] if q["what"] == "primer"]
    assert plan["primer"]["name"] == "bare casting" and {c["ground"] for c in plan["coats"]} >= {"bare casting"}
    printed = "".join(
        page.get_textpage().get_text_range() for page in PdfDocument(str(tmp_path / "out/painting-order.pdf"))
    )
    assert "Prime the whole part" not in printed


def test_the_reading_alone_keeps_the_parts_of_the_job(tmp_path: Path) -> None:
    assert run_command(["areas", str(NEWT), "--out", str(tmp_path), "--quiet"]) == 0
    job = (tmp_path / "job.toml").read_text()
    assert "[parts.head]" in job and "height_mm = 38" in job and "neck socket" in job


def test_what_is_our_own_rule_says_so(plan: Data) -> None:
    source = {a["name"]: a["source"] for a in plan["assumptions"]}
    assert source["a film hides when it is within"] == "just-visible step"
    assert source["or within, where it lies even"] == "our rule"
    assert source["a coat is thinner and thicker in places by"] == "our assumption"
