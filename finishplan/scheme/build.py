"""Builds the scheme: the drawing's areas, edges and pieces with what the job says of them, in millimetres."""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from pathlib import Path

from finishplan.basics.errors import InputError, NoSuchArea, nearest
from finishplan.colour.light import lab_from_hex
from finishplan.colour.names import colour_name
from finishplan.drawing.model import USUAL_HEIGHT_MM, Area, Drawing
from finishplan.job.job import AreaJob, EdgeJob, Job, PartJob
from finishplan.job.parts import grouped, parts_of_areas
from finishplan.scheme.model import Scheme, SchemeArea, SchemeEdge, SchemePart, label
from finishplan.scheme.reread import present
from finishplan.scheme.scale import scales
from finishplan.scheme.surfaces import mesh_warning, part_surface


def build_scheme(drawing: Drawing, job: Job, meshes: Mapping[str, float] | None = None) -> Scheme:
    """The scheme of one casting. meshes: surface in cm2 of the parts whose job names a mesh.

    Raises InputError when the job names an area, an edge or a part that the drawing has not.
    """
    _check_mixes(job)
    job, left_out = present(job, drawing)
    _check_names(drawing, job)
    part_of = parts_of_areas(drawing, job)
    scale, pixels = scales(drawing, job, part_of), _pixels(drawing)
    parts = tuple(
        _part(name, ids, drawing, job, scale.of(name), pixels, meshes or {}) for name, ids in grouped(part_of).items()
    )
    surface = {p.name: p.surface_cm2 for p in parts}
    total = {p.name: sum(pixels[i] for i in p.areas) for p in parts}
    areas = tuple(
        _area(a, drawing, job, part, scale.of(part), surface[part] * pixels[a.id] / total[part])
        for a in drawing.areas
        for part in (part_of[a.id],)
    )
    edges = tuple(
        SchemeEdge(
            e.areas,
            e.length_px * scale.of(part_of[e.areas[0]]),
            e.straightness,
            e.soft,
            job.edges.get(e.areas, EdgeJob()).treat,
            job.edges.get(e.areas, EdgeJob()).first,
        )
        for e in drawing.edges
        if part_of[e.areas[0]] == part_of[e.areas[1]]
    )
    name = job.figure.name or Path(drawing.source).stem
    return Scheme(
        name,
        job.figure.height_mm or USUAL_HEIGHT_MM,
        scale.mm_per_px,
        parts,
        areas,
        edges,
        (scale.note, *_blend_notes(areas, edges, job)),
        (*scale.warnings, *left_out),
        scale.guessed,
        tuple((name, mix.proven) for name, mix in job.mixes.items() if mix.proven and mix.areas),
    )


def mesh_warnings(scheme: Scheme, job: Job, meshes: Mapping[str, float]) -> tuple[str, ...]:
    """Meshes, surface in cm2 by part, that are the part's surface and cannot be in millimetres, with the cure."""
    used = [p for p in scheme.parts if p.name in meshes and job.parts.get(p.name, PartJob()).surface_cm2 is None]
    said = (mesh_warning(meshes[p.name], p.silhouette_cm2, f"{job.file}: parts.{p.name}.mesh") for p in used)
    return tuple(filter(None, said))


def _blend_notes(areas: Iterable[SchemeArea], edges: Iterable[SchemeEdge], job: Job) -> Iterator[str]:
    """What areas flagged blend are shaded into where the maker did not say it and more than one is possible, or none
    was found."""
    by_id = {a.id: a for a in areas}
    for area in by_id.values():
        said = job.areas.get(area.id, AreaJob())
        if "blend" not in said.flags or said.blend_into is not None:
            continue
        beside = sorted(n for e in edges if area.id in e.areas for n in e.areas if n != area.id)
        others = [n for n in beside if n != area.blend_into]
        cure = f"write blend_into = {' or '.join(map(str, others))} under [areas.{area.id}]"
        if not beside:
            yield f"Area {label(area)} is flagged blend and not shaded: it touches no other area of its part."
        elif area.blend_into not in beside:
            yield f"Area {label(area)} is flagged blend and not shaded, as it is not told into what: {cure}."
        elif others:
            yield f"Area {label(area)} is shaded into {label(by_id[area.blend_into])}; for another, {cure}."


def named(scheme: Scheme, mix_names: Mapping[int, str]) -> Scheme:
    """The scheme with a name for every area: the maker's, else that of the mix that meets its colour (by area id), else
    its drawn colour's."""
    areas = (replace(a, name=a.name or mix_names.get(a.id) or colour_name(a.target)) for a in scheme.areas)
    return replace(scheme, areas=tuple(areas))


def _pixels(drawing: Drawing) -> dict[int, float]:
    return {a.id: max(a.pixels, 1.0) for a in drawing.areas}


def _check_names(drawing: Drawing, job: Job) -> None:
    ids = {a.id for a in drawing.areas}
    here = f"{len(ids)} areas, 1 to {max(ids)}"
    named: list[tuple[str, Iterable[int]]] = [
        *((f"parts.{name}.areas", part.areas or ()) for name, part in job.parts.items()),
        *((f"mixes.{name}.areas", mix.areas) for name, mix in job.mixes.items()),
        *((f"areas.{id}", (id,)) for id in job.areas),
        *((f"areas.{id}.blend_into", (a.blend_into,)) for id, a in job.areas.items() if a.blend_into is not None),
    ]
    for where, wanted in named:
        for id in wanted:
            if id not in ids:
                raise NoSuchArea(
                    f"area {id} does not exist",
                    where=f"{job.file}: {where}",
                    cure=f"the drawing has {here}: see the numbered drawing",
                )
    touching = {e.areas for e in drawing.edges}
    told = [(f'edges."{a}-{b}"', a, b) for a, b in job.edges]
    told += [(f"areas.{i}.blend_into", i, a.blend_into) for i, a in job.areas.items() if a.blend_into is not None]
    for where, a, b in told:
        if (min(a, b), max(a, b)) not in touching:
            raise NoSuchArea(
                f"areas {a} and {b} do not touch",
                where=f"{job.file}: {where}",
                cure="name two areas that share an edge: see the numbered drawing",
            )
    _check_edges(job)
    _check_parts(drawing, job)
    part_of = parts_of_areas(drawing, job)
    for where, a, b in told:
        if part_of[a] != part_of[b]:
            raise InputError(
                f"areas {a} and {b} are on different parts, painted apart",
                where=f"{job.file}: {where}",
                cure="leave it out, or put both areas on one part",
            )


def _check_mixes(job: Job) -> None:
    """A mix is named so that areas share it; one that a single area names is a slip."""
    names = Counter(area.mix for area in job.areas.values() if area.mix)
    names -= Counter({name: 1 for name in names if name in job.mixes and names[name] == 1})
    shared = tuple(name for name, count in names.items() if count > 1)
    for id, area in job.areas.items():
        if names[area.mix] == 1:
            close = nearest(area.mix, shared) if shared else "take it out"
            raise InputError(
                f"only this area names the mix '{area.mix}', and a name is there to be shared",
                where=f"{job.file}: areas.{id}.mix",
                cure=f"give the same name to another area, or {close}",
            )


def _check_edges(job: Job) -> None:
    """A dot is set on whatever it touches: its edges have no other treatment."""
    for (a, b), edge in job.edges.items():
        dots = [i for i in (a, b) if "dot" in job.areas.get(i, AreaJob()).flags]
        if dots and edge.treat not in (None, "dot"):
            raise InputError(
                f"area {dots[0]} is flagged dot, so its edge cannot be '{edge.treat}'",
                where=f'{job.file}: edges."{a}-{b}".treat',
                cure="take out the flag or the treatment",
            )


def _check_parts(drawing: Drawing, job: Job) -> None:
    pieces = dict.fromkeys((*(p.name for p in drawing.parts), *job.parts))
    for id, area in job.areas.items():
        if area.part and area.part not in pieces:
            raise InputError(
                f"part '{area.part}' does not exist",
                where=f"{job.file}: areas.{id}.part",
                cure="give a new part its own [parts.NAME], or " + nearest(area.part, tuple(pieces)),
            )
    known = tuple(dict.fromkeys(parts_of_areas(drawing, job).values()))
    for name, part in job.parts.items():
        if name not in known:
            raise InputError(
                f"part '{name}' has no areas",
                where=f"{job.file}: parts.{name}",
                cure="give it areas = [...], or " + nearest(name, known),
            )
        for other in part.after:
            if other not in known:
                raise InputError(
                    f"part '{other}' does not exist",
                    where=f"{job.file}: parts.{name}.after",
                    cure=nearest(other, known),
                )


def _part(
    name: str,
    ids: tuple[int, ...],
    drawing: Drawing,
    whole: Job,
    scale: float,
    pixels: Mapping[int, float],
    meshes: Mapping[str, float],
) -> SchemePart:
    job = whole.parts.get(name, PartJob())
    silhouette = sum(pixels[i] for i in ids) * scale**2 / 100
    surface, source = part_surface(
        silhouette,
        job.surface_factor,
        given_cm2=job.surface_cm2,
        mesh_cm2=meshes.get(name),
        mass_g=job.mass_g,
        density=whole.steps.density,
        where=f"{whole.file}: parts.{name}",
    )
    boxes = [a.bbox for a in drawing.areas if a.id in ids]
    return SchemePart(
        name,
        ids,
        silhouette,
        surface * job.copies,
        source,
        job.glue_faces,
        job.after,
        job.copies,
        (max(b[3] for b in boxes) - min(b[1] for b in boxes)) * scale,
        (max(b[2] for b in boxes) - min(b[0] for b in boxes)) * scale,
    )


def _shaded(area: Area, said: AreaJob, job: Job) -> bool:
    """Whether the maker says that it is shaded into another, or wants every shade that the reading found painted."""
    found = job.figure.shading == "own mix" and not said.flags and any(h.flag == "blend" for h in area.hints)
    return said.blend_into is not None or found


def _area(area: Area, drawing: Drawing, job: Job, part: str, scale: float, cm2: float) -> SchemeArea:
    said = job.areas.get(area.id, AreaJob())
    colour = drawing.palette[area.colour]
    target = lab_from_hex(said.target) if said.target else colour.lab
    built = SchemeArea(
        area.id,
        part,
        said.name,
        target,
        said.target or colour.hex,
        area.share,
        cm2,
        area.narrow_px * scale,
        area.wide_px * scale,
        frozenset(said.flags) | ({"blend"} if _shaded(area, said, job) else frozenset()),
        said.mix or None,
        area.enclosed_by,
        extent_mm=max(area.bbox[2] - area.bbox[0], area.bbox[3] - area.bbox[1]) * scale,
    )
    if "blend" not in built.flags:
        return built
    base = next((h.other for h in area.hints if h.flag == "blend"), area.enclosed_by)
    return replace(built, blend_into=said.blend_into or base)
