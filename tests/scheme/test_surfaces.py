"""Surfaces of parts: bodies of known surface, meshes, and what is refused."""

import math
import sys
from pathlib import Path

import numpy as np
import pytest
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st

from finishplan.basics.errors import InputError
from finishplan.scheme.surfaces import (
    MESH_TYPES,
    PartSize,
    cauchy_cm2,
    isoperimetric_cm2,
    mesh_surface_cm2,
    mesh_warning,
    part_surface,
)


def mean_silhouette(mesh, views=400):
    """Mean shadow of a convex mesh over directions spread evenly on the sphere (Fibonacci lattice)."""
    k = np.arange(views) + 0.5
    z, turn = 1 - 2 * k / views, np.pi * (1 + 5**0.5) * k
    directions = np.stack([np.cos(turn) * np.sqrt(1 - z**2), np.sin(turn) * np.sqrt(1 - z**2), z], axis=1)
    facing = np.abs(mesh.face_normals @ directions.T)
    return float((mesh.area_faces @ facing).mean() / 2)


def test_sphere():
    """A ball of radius 2 cm: silhouette pi r^2, surface 4 pi r^2."""
    surface, source = part_surface(PartSize(math.pi * 4))
    assert surface == pytest.approx(4 * math.pi * 4)
    assert "Cauchy" in source


def test_cube():
    """A unit cube's mean shadow is 3/2 of a face (Cauchy), its surface six faces."""
    assert part_surface(PartSize(1.5))[0] == pytest.approx(6.0)
    assert mean_silhouette(trimesh.creation.box()) == pytest.approx(1.5, rel=5e-3)


@pytest.mark.parametrize(
    "mesh",
    [
        trimesh.creation.icosphere(3),
        trimesh.creation.cylinder(1, 5),
        trimesh.creation.cone(2, 3),
        trimesh.creation.box((1, 4, 9)),
    ],
    ids=["ball", "cylinder", "cone", "slab"],
)
def test_cauchy_holds_for_convex_bodies(mesh):
    assert cauchy_cm2(mean_silhouette(mesh)) == pytest.approx(mesh.area, rel=0.01)


def test_form_factor_multiplies_the_drawing_only():
    assert part_surface(PartSize(10, 1.3))[0] == pytest.approx(52)
    assert part_surface(PartSize(10, 1.3, given_cm2=70)) == (70, "given in cm²")
    assert part_surface(PartSize(10, 1.3, mesh_cm2=61))[0] == 61
    assert part_surface(PartSize(10, 1.3, given_cm2=70, mesh_cm2=61))[0] == 70


def test_a_mesh_in_another_unit_is_questioned():
    """An inch taken for a millimetre makes the surface 645 times too small."""
    assert "millimetres?" in part_surface(PartSize(10, mesh_cm2=40 / 25.4**2))[1]
    assert part_surface(PartSize(10, mesh_cm2=61))[1] == "from the mesh"


def test_how_far_a_mesh_may_be_from_its_drawing():
    """Our rules: three times what the outline gives is a rugged form, five times is asked about; a feathery casting has
    forty of its outlines, sixty are no casting's."""
    assert (
        part_surface(PartSize(10, mesh_cm2=3 * 40))[1]
        == part_surface(PartSize(10, mesh_cm2=40 / 3))[1]
        == "from the mesh"
    )
    assert "millimetres?" in part_surface(PartSize(10, mesh_cm2=5 * 40))[1]
    assert "millimetres?" in part_surface(PartSize(10, mesh_cm2=40 / 5))[1]
    assert not mesh_warning(40 * 10, 10, "x") and mesh_warning(60 * 10, 10, "x")


@pytest.mark.parametrize(("unit_mm", "said"), [(1, ""), (1000, "less"), (25.4, "less"), (10, "less"), (0.1, "more")])
def test_a_ball_exported_in_another_unit_is_warned_of(unit_mm, said, tmp_path):
    """A ball of radius 20 mm has an outline of 4 pi cm2 (geometry); its mesh in metres, inches, centimetres and
    tenths of a millimetre is read as if in millimetres."""
    (tmp_path / "a.stl").write_bytes(trimesh.creation.icosphere(3, 20 / unit_mm).export(file_type="stl"))
    warning = mesh_warning(mesh_surface_cm2(tmp_path / "a.stl"), 4 * math.pi, "my.toml: parts.ball.mesh")
    assert bool(warning) == bool(said) and said in warning
    if said:
        assert warning.startswith("my.toml: parts.ball.mesh: ") and "millimetres" in warning and "12.6 cm²" in warning


def test_isoperimetric_constant():
    assert isoperimetric_cm2(1.0) == pytest.approx(4.836, abs=5e-4)
    assert isoperimetric_cm2(4 / 3 * math.pi * 27) == pytest.approx(4 * math.pi * 9)


def test_mass_is_a_floor_and_says_so():
    """110 g at 1.1 g/cm3 are 100 cm3: at least 104.2 cm2."""
    surface, source = part_surface(PartSize(10, mass_g=110), density=1.1)
    assert surface == pytest.approx(4.836 * 100 ** (2 / 3), rel=1e-3)
    assert "110 g" in source and "40.0 cm²" in source
    assert part_surface(PartSize(50, mass_g=110), density=1.1)[0] == pytest.approx(200)


def test_no_casting_has_less_surface_than_a_sphere_of_its_mass():
    """50 g at 1.1 g/cm3 are 45.5 cm3: at least 61.6 cm2. A mesh of a tenth of that is in another unit."""
    with pytest.raises(InputError, match=r"61\.6 cm²") as error:
        part_surface(PartSize(10, given_cm2=5, mass_g=50), where="[parts.head]")
    assert "[parts.head]" in str(error.value) and "surface_cm2 = 5" in str(error.value)
    with pytest.raises(InputError, match="millimetres") as error:
        part_surface(PartSize(10, mesh_cm2=6, mass_g=50), where="[parts.head]")
    assert "[parts.head]" in str(error.value)
    assert part_surface(PartSize(10, given_cm2=62, mass_g=50)) == (62, "given in cm²")
    assert part_surface(PartSize(10, given_cm2=62, mesh_cm2=6, mass_g=50))[0] == 62


@settings(max_examples=50)
@given(st.floats(0.1, 1e3), st.floats(0.2, 5), st.floats(0.1, 1e3), st.floats(1.01, 10))
def test_more_of_anything_is_never_less_surface(silhouette, factor, mass, more):
    plain = part_surface(PartSize(silhouette, factor, mass_g=mass))[0]
    assert part_surface(PartSize(silhouette * more, factor, mass_g=mass))[0] >= plain
    assert part_surface(PartSize(silhouette, factor * more, mass_g=mass))[0] >= plain
    assert part_surface(PartSize(silhouette, factor, mass_g=mass * more))[0] >= plain


@pytest.mark.parametrize("name", ["silhouette_cm2", "factor", "given_cm2", "mesh_cm2", "mass_g", "density"])
@pytest.mark.parametrize("value", [0.0, -1.0, math.nan, math.inf])
def test_sizes_that_no_part_has_are_refused(name, value):
    with pytest.raises(InputError, match="is not a size"):
        size = {"silhouette_cm2": 10.0} | ({} if name == "density" else {name: value})
        part_surface(PartSize(**size), **({"density": value} if name == "density" else {}))


@pytest.mark.parametrize("kind", MESH_TYPES)
def test_mesh_files_of_a_ball_and_a_cube(kind, tmp_path):
    """Millimetres: a cube of 20 mm has 24 cm2; a fine ball of radius 20 mm 16 pi cm2."""
    for mesh, cm2, within in (
        (trimesh.creation.box((20, 20, 20)), 24.0, 1e-6),
        (trimesh.creation.icosphere(4, 20), 16 * math.pi, 2e-3),
    ):
        path = tmp_path / f"mesh.{kind.upper()}"
        path.write_bytes(data if isinstance(data := mesh.export(file_type=kind), bytes) else data.encode())
        assert mesh_surface_cm2(path) == pytest.approx(cm2, rel=within)


BROKEN = {
    "empty.stl": b"",
    "hollow.stl": b"solid x\nendsolid x\n",
    "cut.stl": trimesh.creation.box().export(file_type="stl")[:200],
    "zeros.stl": b"\0" * 90,
    "words.obj": b"hello",
    "nan.obj": b"v 0 0 nan\nv 1 0 0\nv 0 1 0\nf 1 2 3\n",
    "missing.obj": b"v 0 0 0\nv 1 0 0\nf 1 2 9\n",
    "head.ply": b"ply\n",
    "huge.obj": b"v 0 0 0\nv 1e9 0 0\nv 0 1e9 0\nf 1 2 3\n",
    "picture.png": b"\x89PNG",
}


@pytest.mark.filterwarnings("ignore::RuntimeWarning")
@pytest.mark.parametrize("name", BROKEN)
def test_broken_meshes_are_refused_in_one_line(name, tmp_path):
    path = tmp_path / name
    path.write_bytes(BROKEN[name])
    with pytest.raises(InputError) as caught:
        mesh_surface_cm2(path)
    assert str(path) in str(caught.value) and caught.value.cure


@settings(max_examples=80, deadline=None)
@pytest.mark.filterwarnings("ignore::RuntimeWarning")
@given(st.sampled_from(MESH_TYPES), st.binary(max_size=400), st.integers(0, 400))
def test_damaged_meshes_never_raise_anything_else(tmp_path_factory, kind, noise, at):
    whole = trimesh.creation.box((20, 20, 20)).export(file_type=kind)
    data = whole if isinstance(whole, bytes) else whole.encode()
    path = tmp_path_factory.mktemp("mesh") / f"a.{kind}"
    path.write_bytes(data[:at] + noise + data[at + len(noise) :])
    try:
        assert mesh_surface_cm2(path) > 0
    except InputError as error:
        assert error.cure


def test_an_obj_opens_no_other_file(tmp_path):
    other = tmp_path / "secret.mtl"
    other.write_text("newmtl a\n")
    path = tmp_path / "a.obj"
    path.write_text(f"mtllib {other}\nusemtl a\nv 0 0 0\nv 100 0 0\nv 0 100 0\nf 1 2 3\n")
    opened = []
    sys.addaudithook(lambda event, args: opened.append(str(args[0])) if event == "open" else None)
    assert mesh_surface_cm2(path) == pytest.approx(50)
    assert str(path) in opened and str(other) not in opened


def test_absent_file_and_absent_library(tmp_path, monkeypatch):
    with pytest.raises(InputError, match="cannot read"):
        mesh_surface_cm2(tmp_path / "none.stl")
    with pytest.raises(InputError, match="cannot read"):
        (tmp_path / "folder.stl").mkdir()
        mesh_surface_cm2(tmp_path / "folder.stl")
    monkeypatch.setitem(sys.modules, "trimesh", None)
    with pytest.raises(InputError, match=r"finishplan\[mesh\]"):
        mesh_surface_cm2(Path("any.stl"))
