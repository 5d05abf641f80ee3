"""The swatch card, its reading and the correction of a pot, as a maker types them."""

import json
from pathlib import Path

import numpy as np
import pytest
import simulated as sim
from judged import BOX, IDS
from PIL import Image
from pypdf import PdfReader
from typer.testing import CliRunner, Result

from finishplan.cli.commands import app
from finishplan.job.read import parse_job
from finishplan.paint.box import load_box
from finishplan.photo.dab_page import Dab, dab_pages

EXAMPLES = Path(__file__).parents[2] / "examples"
SIZE = {"size": (1200, 1600), "px_per_mm": 5.0}


def run(*said: object) -> Result:
    return CliRunner().invoke(app, [str(word) for word in said])


def test_the_card_is_printed_and_its_layout_told(tmp_path: Path) -> None:
    for paper in ("a4", "letter", "a5"):
        file = tmp_path / f"{paper}.pdf"
        found = run("swatches", "--paper", paper, "--out", file, "--json")
        pages = json.loads(found.stdout)
        printed = PdfReader(file)
        width, height = (float(v) / 72 * 25.4 for v in printed.pages[0].mediabox[2:])
        assert pages[0]["size_mm"] == pytest.approx([width, height], abs=0.1)
        assert {f["paint"] for p in pages for f in p["fields"]} == {*IDS, ""}
        words = " ".join(" ".join(page.extract_text().split()) for page in printed.pages)
        assert "leave bare" in words and "no flash" in words and "phthalo blue (green shade)" in words


def test_the_shipped_card_gives_the_shipped_box_which_is_used(tmp_path: Path) -> None:
    """examples/photograph_swatches.py makes both anew."""
    out = tmp_path / "own.toml"
    found = run("swatches", "read", EXAMPLES / "swatch-card.jpg", "--out", out, "--json")
    tubes = json.loads(found.stdout)["tubes"]
    assert [t["paint"] for t in tubes] == [*IDS] and all(len(t["K"]) == len(t["S"]) == 31 for t in tubes)
    mine, shipped = (load_box(None, None, file).paints for file in (out, EXAMPLES / "measured-paints.toml"))
    assert all(
        np.allclose(getattr(a, which), getattr(b, which), rtol=0.02)
        for a, b in zip(mine, shipped, strict=True)
        for which in "KS"
    )
    assert Image.open(out.with_suffix(".png")).width > 800
    told = json.loads(run("box", "--paints", out, "--json").stdout)
    assert all("swatch card" in p["source"] and p["measured_within"] > 0 for p in told)


def test_a_pot_is_corrected_and_kept(tmp_path: Path) -> None:
    drawing = np.full((300, 300, 3), 255, np.uint8)
    drawing[20:280, 40:150], drawing[20:280, 150:260] = (150, 70, 50), (90, 110, 70)
    Image.fromarray(drawing).save(tmp_path / "newt.png")
    job = tmp_path / "newt.toml"
    job.write_text('version = 2\n[figure]\ndrawing = "newt.png"\nheight_mm = 60\n')
    assert run("swatches", "--mixes", job, "--out", tmp_path / "dabs.pdf").exit_code == 0
    rng = np.random.default_rng(3)
    page = dab_pages(BOX, [Dab("A", ""), Dab("B", "")])[0]
    mine = sim.tubes(IDS, rng)
    grey = mine.mixed(np.array([[4.0 if id == "titanium-white" else float(id == "burnt-umber") for id in IDS]]))[0]
    Image.fromarray(sim.photo_of(page, mine, rng, dabs={"A": grey}, **SIZE)).save(tmp_path / "dab.png")
    found = run("correct", job, "A", tmp_path / "dab.png", "--poured", "titanium white 16, burnt umber 4", "--json")
    said = json.loads(found.stdout)
    assert said["worth_it"] and said["add"] and said["after"] < said["before"]
    (kept,) = parse_job(job.read_text()).mixes.values()
    assert kept.came_out and kept.aim and kept.add and kept.corrected == 0 and len(kept.areas) == 1
    assert dict(kept.poured)["titanium-white"] == 16
    again = json.loads(run("correct", job, "A", tmp_path / "dab.png", "--json").stdout)
    assert again["corrected"] == 1 and sum(again["poured"].values()) > 20
    left = json.loads(run("correct", job, "A", tmp_path / "dab.png", "--left", "--json").stdout)
    assert left["aim_lab"] == pytest.approx(said["aim_lab"], abs=0.06)
    assert run("plan", job, "--out", tmp_path / "plan", "--quiet").exit_code == 0
    (last,) = [
        w["last_pot"] for w in json.loads((tmp_path / "plan" / "plan.json").read_text())["wells"] if w["last_pot"]
    ]
    assert last.startswith("last pot: ") and " drops of titanium white" in last and "from the aim" in last
    assert "no mix is called" in str(run("correct", job, "Z", tmp_path / "dab.png").exception)
