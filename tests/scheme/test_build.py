"""The scheme built from a drawing and its job: what the maker left open is settled and said."""

from pathlib import Path

import pytest
from PIL import Image, ImageDraw

from finishplan.drawing import read_drawing
from finishplan.drawing.model import Drawing
from finishplan.job.read import parse_job
from finishplan.plan.planner import make_plan
from finishplan.scheme.build import build_scheme, mesh_warnings
from finishplan.scheme.model import Scheme


@pytest.fixture(scope="module")
def face(tmp_path_factory: pytest.TempPathFactory) -> Drawing:
    """A green face with a mouth in it, a tongue that touches both, and beside it a red ball by itself."""
    picture = Image.new("RGB", (400, 240), "#ffffff")
    pen = ImageDraw.Draw(picture)
    pen.ellipse((20, 20, 220, 220), fill="#60a040")
    pen.rectangle((80, 90, 160, 130), fill="#703040")
    pen.rectangle((90, 130, 150, 180), fill="#f0a0a8")
    pen.ellipse((260, 80, 360, 180), fill="#c83020")
    path: Path = tmp_path_factory.mktemp("face") / "face.png"
    picture.save(path)
    return read_drawing(path)


def area_of(drawing: Drawing, hex: str) -> int:
    return next(a.id for a in drawing.areas if drawing.palette[a.colour].hex == hex)


def flagged(drawing: Drawing, id: int, more: str = "") -> Scheme:
    return build_scheme(drawing, parse_job(f'[areas.{id}]\nflags = ["blend"]\n{more}'))


def test_a_figure_without_a_name_takes_its_drawings_without_the_ending(face: Drawing) -> None:
    assert build_scheme(face, parse_job("")).name == "face"
    assert build_scheme(face, parse_job('[figure]\nname = "a.b"')).name == "a.b"


def test_what_a_shade_was_taken_to_lie_on_is_said(face: Drawing) -> None:
    skin, mouth, tongue, ball = (area_of(face, c) for c in ("#60a040", "#703040", "#f0a0a8", "#c83020"))
    scheme = flagged(face, tongue)
    base = next(a.blend_into for a in scheme.areas if a.id == tongue)
    other = {skin: mouth, mouth: skin}[base or 0]
    asks = f"Area {tongue} is shaded into {base}; for another, write blend_into = {other} under [areas.{tongue}]."
    assert asks in scheme.notes
    assert len(flagged(face, tongue, f"blend_into = {other}").notes) == 1
    assert f"Area {ball} is flagged blend and not shaded: it touches no other area of its part." in (
        flagged(face, ball).notes
    )
    untold = f"Area {skin} is flagged blend and not shaded, as it is not told into what: write blend_into = "
    assert any(note.startswith(untold) for note in flagged(face, skin).notes)


def test_the_plan_warns_of_a_mesh_in_another_unit(face: Drawing) -> None:
    """A ball 33 mm across has 34 cm2 (pi d^2), in metres a millionth of it."""
    job = parse_job('[parts."part B"]\nmesh = "ball.stl"')
    for cm2, count in ((34.0, 0), (34e-6, 1)):
        plan = make_plan(face, job, meshes={"part B": cm2}, cache=False)
        said = [w for w in plan.warnings if "parts.part B.mesh" in w]
        assert len(said) == count and all("millimetres" in w and w.startswith(job.file) for w in said)
    told = parse_job('[parts."part B"]\nsurface_cm2 = 34\nmesh = "ball.stl"')
    assert mesh_warnings(build_scheme(face, told, {"part B": 34e-6}), told, {"part B": 34e-6}) == ()
