"""What must not be breathed: every pigment of the table, on the sheets that the maker reads.

The constitutions are Colour Index International's, as quoted on labels and in data sheets (from memory).
"""

import json
import re
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageDraw
from read_back import pages
from small_plans import Size
from small_plans import make_plan as sheet_plan

from finishplan.bench.safety import plan_cautions
from finishplan.cli.main import run_command
from finishplan.job.settings import Labour, Method
from finishplan.order.order import paint_order
from finishplan.order.settings import OrderSettings
from finishplan.paint.box import load_box
from finishplan.paint.hazards import METALS, hazards_of, metals_of, pigment_facts
from finishplan.paint.mixing import letters
from finishplan.paint.model import Box, Ingredient, Mix, Paint
from finishplan.plan.part_passes import part_passes
from finishplan.plan.plan import Plan
from finishplan.plan.wells import wells
from finishplan.run.build import Painted
from finishplan.sheets.book import pdf_bytes

FACTS = pigment_facts()
BY_WORD = FACTS["metal_words"] | FACTS["name_words"]
ASKED = """
PR104 PR108 PR113 PO20 PO21 PO23 PO45 PY31 PY32 PY33 PY34 PY35 PY36 PY37 PY40 PY41 PY46 PY53 PY157 PY164 PY184 PG17
PG18 PG19 PG26 PG50 PB28 PB35 PB36 PB72 PB74 PV14 PV16 PV49 PBr7 PBr24 PBk26 PBk27 PBk28 PW1 PR106 PG21
"""
BATCH = 12
ASKED_FOR = ["--quiet", "--no-cache", "--sheets", "parts,cards,reasons,cautions"]


def bottles() -> dict[str, tuple[str, str]]:
    """Name of a bottle -> its Colour Index name ('' where it has none) and the metals that it is taken to hold."""
    rows = {f"tube {ci.lower()}": (ci, row["metals"]) for ci, row in FACTS["metals"].items()}
    rows |= {f"tone of {word}": ("", [metal]) for word, (metal, _) in BY_WORD.items()}
    return {name: (ci, metals) for name, (ci, metals) in rows.items()} | {
        "lantern glow": ("", []),
        "odd": ("PR999", []),
    }


def sprayed_plan(rows: dict[str, tuple[str, str]]) -> Plan:
    """Broad areas, each of one bottle alone, for a maker with an airbrush; order and cautions as a plan has them."""
    table = load_box().table
    at, red = np.linspace(0, 1, len(rows)), next(p for p in table.paints if p.id == "pyrrole-red")
    paints = tuple(
        replace(red, id=f"p{k}", name=name, ci=ci, hazards=hazards_of(ci, name), K=red.K * (1 + at[k]))
        for k, (name, (ci, _)) in enumerate(rows.items())
    )
    box = Box(table, paints, None, None)
    mixes = tuple(alone(letters(k), p) for k, p in enumerate(paints))
    plan = sheet_plan(0, Size(parts=1, areas=len(rows), mixes=len(rows), castings=1, painters=1, sessions=False))
    areas = tuple(replace(a, cm2=400.0, wide_mm=60.0, flags=frozenset()) for a in plan.scheme.areas)
    scheme = replace(plan.scheme, areas=areas, edges=())
    of = {a.id: k for k, a in enumerate(areas)}
    method = Method(tool="airbrush", undercoat=False)
    order = paint_order(scheme, mixes, of, box, OrderSettings(method, Labour(spray_per_cm2_min=0.005)))
    said = plan_cautions(Painted(scheme, order, mixes, ()), box)
    whole = replace(
        plan, scheme=scheme, box=box, mixes=mixes, mix_of=tuple(of.items()), order=order, cautions=said, method=method
    )
    return replace(whole, part_passes=part_passes(scheme, order, ()), wells=wells(whole, whole.run, whole.quantities))


def alone(id: str, paint: Paint) -> Mix:
    lab = (40.0, 50.0, 30.0)
    recipe = (Ingredient(paint.id, paint.name, paint.ci, 1),)
    return Mix(id, f"mix {id}", lab, "#a03030", lab, recipe, lab, "#a03030", 0, 0, True, 3.0, paint.K, paint.S)


@pytest.fixture(scope="module")
def printed() -> Iterator[list[tuple[dict[str, tuple[str, str]], Plan, list[str]]]]:
    rows = [*bottles().items()]
    found = []
    for some in (dict(rows[k : k + BATCH]) for k in range(0, len(rows), BATCH)):
        plan = sprayed_plan(some)
        found.append((some, plan, [p.words for p in pages(pdf_bytes(plan, sheets=("cards",)))]))
    return found


def test_the_table_holds_what_was_asked_for() -> None:
    assert set(re.findall(r"\S+", ASKED)) <= FACTS["metals"].keys()
    for row in FACTS["metals"].values():
        assert set(row["metals"]) <= set(METALS) and row["what"]
        assert row["caution"] in FACTS["cautions"] and row["source"] in FACTS["sources"]
        assert "do not spray" in FACTS["cautions"][row["caution"]]
    assert {metal for metal, _ in BY_WORD.values()} <= set(METALS)


def test_every_pigment_is_cautioned_on_its_card_and_brushed(printed) -> None:  # type: ignore[no-untyped-def]
    """By the text of the printed card, and by tool and reason of the pass that lays it."""
    for rows, plan, texts in printed:
        tools = {p.mix: (p.tool, " ".join(p.why)) for p in plan.order.passes}
        said = " ".join(plan.cautions)
        cards = [c for c in " ".join(texts).split("dab here")[1:] if "Caution:" in c]
        for mix, (name, (ci, metals)) in zip(plan.mixes, rows.items(), strict=True):
            card = next(c for c in cards if re.search(rf"\b{name} ", c.partition("Caution:")[0]))
            card = card.partition("Caution:")[2][:260].lower()
            tool, why = tools[mix.id]
            assert tool == "brush" and "brushed, not sprayed: holds" in why
            for metal in metals:
                assert metal in card and metal in why, (name, card, why)
            if not ci or ci == "PR999":
                assert "pigment unknown" in card and f"an unknown pigment ({name})" in why and name in said
            assert "do not spray" in card
        assert "Passes that would spray" not in said


def test_a_paint_without_metals_is_sprayed() -> None:
    rows = {"pyrrole": ("PR254", []), "mars": ("PR101, PBk11", []), "blue": ("PB15:3", []), "ochre": ("PY43", [])}
    plan = sprayed_plan(rows)
    assert {p.tool for p in plan.order.passes} == {"airbrush"}
    assert hazards_of("PR254", "pyrrole red") == ()


@pytest.mark.parametrize(
    ("ci", "name", "metals"),
    [
        ("PR104", "fiery red", {"lead", "chromium"}),
        ("", "cadmium red deep", {"cadmium"}),
        ("PR254", "cadmium red", {"cadmium"}),
        ("PR254", "cadmium-free red", set()),
        ("PR254", "cadmium red hue", set()),
        ("PB15:3, PW6", "cerulean blue hue", set()),
        ("PB15:3/PW6", "cerulean blue", set()),
        ("PB36:1", "cerulean blue", {"cobalt", "chromium"}),
        ("pw 6; py 53", "naples yellow", {"nickel", "antimony"}),
        ("", "NAPLES YELLOW", {"lead"}),
        ("", "misleading green", set()),
        ("PR48:4", "bright red", {"manganese"}),
        ("PR48:2", "bright red", set()),
    ],
)
def test_what_a_bottle_is_taken_to_hold(ci: str, name: str, metals: set[str]) -> None:
    hazards = hazards_of(ci, name)
    paint = replace(load_box().paints[0], name=name, ci=ci, hazards=hazards)
    assert set(metals_of(paint)) == metals
    assert any("pigment unknown" in h for h in hazards) == (not ci)


def test_two_bottles_from_the_drawing_to_the_sheet(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Lead chromate by its Colour Index name, and a cadmium red by its label alone: brushed and named on the sheets."""
    picture = Image.new("RGB", (300, 300), "#ffffff")
    ImageDraw.Draw(picture).rectangle((30, 30, 270, 150), fill="#c8502a")
    ImageDraw.Draw(picture).rectangle((30, 150, 270, 270), fill="#a01c22")
    picture.save(tmp_path / "a.png")
    bottles = [("signal orange", 'ci = "PR104"\ncolour = "#c8502a"'), ("cadmium red deep", 'colour = "#a01c22"')]
    box = "".join(f'[[paint]]\nname = "{name}"\n{rest}\n' for name, rest in bottles)
    (tmp_path / "box.toml").write_text('own = ["PW6", "PBk9"]\n' + box)
    job = '[figure]\ndrawing = "a.png"\nheight_mm = 250\n[paints]\nfile = "box.toml"\n[method]\ntool = "airbrush"\n'
    job += "[labour]\nspray_per_cm2_min = 0.005\n"
    (tmp_path / "a.toml").write_text(job)
    out = tmp_path / "out"
    assert run_command(["plan", str(tmp_path / "a.toml"), "--out", str(out), *ASKED_FOR]) == 0
    capsys.readouterr()
    said = " ".join(p.words for file in out.glob("*.pdf") for p in pages(file.read_bytes()))
    plan = json.loads((out / "plan.json").read_text())
    assert {p["tool"] for p in plan["passes"]} == {"brush"}
    why = re.findall(r"[Bb]rushed, not sprayed: holds [^.]*", said)
    assert len(why) >= 4, "each pass says so on the part's page and among the reasons"
    assert all(
        what in " ".join(why) for what in ("cadmium", "chromium", "lead", "an unknown pigment (cadmium red deep)")
    )
    assert "Lead and chromium, poisonous: do not spray" in said and "Pigment unknown" in said
    assert "signal orange): do not spray it" in said
    assert "Nobody said which pigments are in cadmium red deep: brush only" in said
