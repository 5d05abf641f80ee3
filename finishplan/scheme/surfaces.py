"""How much surface a part has: from its drawing, from the maker, from a mesh, with the casting's mass as a floor."""

import math
from dataclasses import dataclass
from pathlib import Path

from finishplan.basics.errors import InputError
from finishplan.job.settings import RESIN_G_PER_CM3

LARGEST_MESH = 300_000_000
"""Bytes; a million triangles of STL take 50 million."""
UNLIKE_DRAWING = 4.0
"""Times the drawing's surface, or a part of it, beyond which a mesh is probably in another unit."""
MOST_SILHOUETTES = 50.0
"""Times its drawn outline: no casting has so much surface. A closed body has more than two of its outlines."""
MESH_TYPES = ("stl", "obj", "ply", "off")


def cauchy_cm2(silhouette_cm2: float, factor: float = 1.0) -> float:
    """Surface of a part from its drawn outline: 4 x silhouette x form factor.

    Cauchy: the mean silhouette of a convex body over all directions is a quarter of its surface. A hollow or frilled
    form has more (factor > 1), a plaque painted on one side less.
    """
    return 4.0 * silhouette_cm2 * factor


def isoperimetric_cm2(volume_cm3: float) -> float:
    """Least surface a volume can have, that of a sphere: (36 pi)^(1/3) V^(2/3), about 4.836 V^(2/3)."""
    return float((36 * math.pi) ** (1 / 3) * volume_cm3 ** (2 / 3))


@dataclass(frozen=True)
class PartSize:
    """What is known of a part's size. silhouette_cm2: its drawn outline; factor: of its form; given_cm2, mesh_cm2: its
    surface as the maker told it, as a mesh has it; mass_g: of its casting."""

    silhouette_cm2: float
    factor: float = 1.0
    given_cm2: float | None = None
    mesh_cm2: float | None = None
    mass_g: float | None = None


def part_surface(size: PartSize, density: float = RESIN_G_PER_CM3, where: str = "parts") -> tuple[float, str]:
    """Painted surface of one part in cm2, and the words that say where it comes from.

    Given cm2, else the mesh's, else Cauchy's theorem; never less than a sphere of the casting's mass, which hollow
    castings exceed. density: g/cm3. where: what the part is called in the job file. Raises InputError for numbers that
    no part has, and for cm2 or a mesh below that sphere.
    """
    _check_numbers(size, density, where)
    floor = 0.0 if size.mass_g is None else isoperimetric_cm2(size.mass_g / density)
    _check_floor(floor, size, where)
    if size.given_cm2 is not None:
        return size.given_cm2, "given in cm²"
    drawn = cauchy_cm2(size.silhouette_cm2, size.factor)
    if size.mesh_cm2 is not None:
        # A mesh unlike the drawing is taken all the same, and the doubt said: the drawing may be the one that is wrong.
        surface, source = size.mesh_cm2, "from the mesh"
        if not 1 / UNLIKE_DRAWING < size.mesh_cm2 / drawn < UNLIKE_DRAWING:
            source += f" (the drawing gives {drawn:.1f} cm²: are both in millimetres?)"
    else:
        surface = drawn
        source = f"4 × drawn outline of {size.silhouette_cm2:.1f} cm² × form factor {size.factor:g} (Cauchy)"
    # Surfaces that were told are refused below it; a drawing that shows too little of the part is raised to it.
    if floor > surface:
        least = f"least surface of {size.mass_g:g} g at {density:g} g/cm³ (a sphere)"
        return floor, f"{least}; {source} gave {surface:.1f} cm²"
    return surface, source


def _check_numbers(size: PartSize, density: float, where: str) -> None:
    sizes = {
        "silhouette": size.silhouette_cm2,
        "surface_factor": size.factor,
        "surface_cm2": size.given_cm2,
        "mesh": size.mesh_cm2,
        "mass_g": size.mass_g,
        "density": density,
    }
    for name, value in sizes.items():
        if value is not None and not (math.isfinite(value) and value > 0):
            raise InputError(f"{name} = {value:g} is not a size", where=where, cure="give a number above 0")


def mesh_warning(mesh_cm2: float, silhouette_cm2: float, where: str) -> str:
    """What is wrong with a mesh of that surface for a part of that drawn outline, '' if nothing. where: the key that
    names it."""
    if silhouette_cm2 <= mesh_cm2 <= MOST_SILHOUETTES * silhouette_cm2:
        return ""
    than = "less than" if mesh_cm2 < silhouette_cm2 else f"more than {MOST_SILHOUETTES:g} times"
    return (
        f"{where}: the mesh has {mesh_cm2:.3g} cm² of surface, {than} the drawn outline's {silhouette_cm2:.3g} cm²: "
        "a mesh is read in millimetres, so export it in these, or set the figure's height_mm."
    )


def _check_floor(floor: float, size: PartSize, where: str) -> None:
    """Raises InputError for a surface, given or of a mesh, below the least that the mass can have."""
    least = f"{size.mass_g or 0:g} g of resin have at least {math.ceil(floor * 10) / 10:g} cm² (a sphere)"
    given_cm2, mesh_cm2 = size.given_cm2, size.mesh_cm2
    if given_cm2 is not None and given_cm2 < floor:
        cure = "give the whole surface of one casting in cm², or leave mass_g out"
        raise InputError(f"surface_cm2 = {given_cm2:g} is too small: {least}", where=where, cure=cure)
    if given_cm2 is None and mesh_cm2 is not None and mesh_cm2 < floor:
        cure = "export the mesh in millimetres, or weigh one casting of this part alone"
        raise InputError(f"the mesh has {mesh_cm2:.3g} cm², but {least}", where=where, cure=cure)


def mesh_surface_cm2(path: Path) -> float:
    """Surface in cm2 of a mesh file (STL, OBJ, PLY, OFF), which is read in mm.

    Raises InputError when the mesh extra is not installed, or the file is absent, too large, broken or empty.
    """
    where, kind = str(path), path.suffix.lower().lstrip(".")
    if kind not in MESH_TYPES:
        raise InputError(f"'{path.suffix}' is no mesh that can be read", where=where, cure="export it as STL or OBJ")
    try:
        import trimesh
    except ImportError as error:
        cure = "run: pip install 'finishplan[mesh]', or give surface_cm2 instead"
        raise InputError("reading a mesh needs an optional library", where=where, cure=cure) from error
    try:
        if path.stat().st_size > LARGEST_MESH:
            cure = "simplify it, or give surface_cm2 instead"
            raise InputError(f"larger than {LARGEST_MESH // 1_000_000} MB", where=where, cure=cure)
        with path.open("rb") as file:
            # Unprocessed: joining corners takes time and changes no surface.
            mesh = trimesh.load_mesh(file, file_type=kind, process=False, **_no_materials(kind))
        area = float(mesh.area) / 100
    # Ours, said above: not to be taken for a broken file below.
    except InputError:
        raise
    except OSError as error:
        cure = "check the path and its permissions"
        raise InputError(f"cannot read: {error.strerror or error}", where=where, cure=cure) from error
    except Exception as error:  # a broken file makes the mesh library raise nearly anything
        raise InputError("is not a whole mesh", where=where, cure="export it again as STL or OBJ") from error
    if not (math.isfinite(area) and 0 < area < 1e6):
        cure = "export a closed surface in millimetres"
        raise InputError(f"its surface is {area:g} cm²: no casting has that", where=where, cure=cure)
    return area


def _no_materials(kind: str) -> dict[str, bool]:
    """An OBJ may name further files; none of them is opened."""
    return {"skip_materials": True} if kind == "obj" else {}
