"""Builds the scheme: the drawing's areas, edges and pieces with what the job says of them, in millimetres."""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from finishplan.basics.errors import InputError, NoSuchArea, nearest
from finishplan.colour.light import delta_e, lab_from_hex, parse_colour
from finishplan.colour.names import colour_name
from finishplan.drawing.model import USUAL_HEIGHT_MM, Area, Drawing, Edge
from finishplan.job.job import AreaJob, EdgeJob, Job, MixJob, PartJob
from finishplan.job.parts import grouped, parts_of_areas
from finishplan.scheme.model import LastPot, Scheme, SchemeArea, SchemeEdge, SchemePart, label
from finishplan.scheme.reread import present
from finishplan.scheme.scale import Scales, scales
from finishplan.scheme.surfaces import PartSize, mesh_warning, part_surface


def build_scheme(drawing: Drawing, job: Job, meshes: Mapping[str, float] | None = None) -> Scheme:
    """The scheme of one casting. meshes: surface in cm2 of the parts whose job names a mesh.

    Raises InputError when the job names an area, an edge or a part that the drawing has not.
    """
    _check_mixes(job)
    # Mixes are checked above, as the maker wrote them: one of which a redraw left a single area is no slip.
    job, left_out = present(job, drawing)
    _check_names(drawing, job)
    part_of = parts_of_areas(drawing, job)
    given = _Given(drawing, job, meshes or {}, part_of, scales(drawing, job, part_of))
    parts = tuple(given.part(name, ids) for name, ids in grouped(part_of).items())
    areas = tuple(
        given.area(a, cm2) for a, cm2 in zip(drawing.areas, _painted_cm2(drawing, part_of, parts), strict=True)
    )
    # Parts are painted apart and glued afterwards: no paint meets across their border.
    edges = tuple(given.edge(e) for e in drawing.edges if part_of[e.areas[0]] == part_of[e.areas[1]])
    scale, mixes = given.scale, job.mixes.items()
    return Scheme(
        name=job.figure.name or Path(drawing.source).stem,
        height_mm=job.figure.height_mm or USUAL_HEIGHT_MM,
        mm_per_px=scale.mm_per_px,
        parts=parts,
        areas=areas,
        edges=edges,
        notes=(scale.note, *_blend_notes(areas, edges, job)),
        warnings=(*scale.warnings, *left_out),
        guessed=scale.guessed,
        recipes=tuple((name, mix.proven) for name, mix in mixes if mix.proven and mix.areas),
        leads=tuple((name, mix.leads) for name, mix in mixes if mix.leads is not None),
        last_pots=tuple(_last_pot(name, mix) for name, mix in mixes if mix.poured and mix.came_out and mix.aim),
        height_told=scale.told,
    )


@dataclass(frozen=True, eq=False)
class _Given:
    """What a scheme is made from."""

    drawing: Drawing
    job: Job
    meshes: Mapping[str, float]
    part_of: Mapping[int, str]
    scale: Scales

    def part(self, name: str, ids: tuple[int, ...]) -> SchemePart:
        """A piece in millimetres."""
        said, scale = self.job.parts.get(name, PartJob()), self.scale.of(name)
        drawn = [a for a in self.drawing.areas if a.id in ids]
        silhouette = sum(map(_pixels, drawn)) * scale**2 / 100
        size = PartSize(silhouette, said.surface_factor, said.surface_cm2, self.meshes.get(name), said.mass_g)
        surface, source = part_surface(size, self.job.steps.density, f"{self.job.file}: parts.{name}")
        return SchemePart(
            name=name,
            areas=ids,
            silhouette_cm2=silhouette,
            # All copies are painted alike: the areas' shares of the part are shares of them all.
            surface_cm2=surface * said.copies,
            surface_source=source,
            glue_faces=said.glue_faces,
            after=said.after,
            copies=said.copies,
            height_mm=(max(a.bbox[3] for a in drawn) - min(a.bbox[1] for a in drawn)) * scale,
            width_mm=(max(a.bbox[2] for a in drawn) - min(a.bbox[0] for a in drawn)) * scale,
        )

    def area(self, area: Area, cm2: float) -> SchemeArea:
        """An area in millimetres. cm2: its painted surface."""
        said, part = self.job.areas.get(area.id, AreaJob()), self.part_of[area.id]
        colour, scale = self.drawing.palette[area.colour], self.scale.of(part)
        built = SchemeArea(
            id=area.id,
            part=part,
            name=said.name,
            target=lab_from_hex(said.target) if said.target else colour.lab,
            hex=said.target or colour.hex,
            share=area.share,
            cm2=cm2,
            narrow_mm=area.narrow_px * scale,
            wide_mm=area.wide_px * scale,
            flags=frozenset(said.flags) | ({"blend"} if self._is_shade(area, said) else frozenset()),
            mix=said.mix or None,
            enclosed_by=area.enclosed_by,
            extent_mm=max(area.bbox[2] - area.bbox[0], area.bbox[3] - area.bbox[1]) * scale,
            before=said.before,
        )
        if "blend" not in built.flags:
            return built
        # Without the maker's word: the area that the reading takes it for a shade of, else the one around it.
        base = next((h.other for h in area.hints if h.flag == "blend"), area.enclosed_by)
        return replace(built, blend_into=said.blend_into or base)

    def _is_shade(self, area: Area, said: AreaJob) -> bool:
        """Whether the maker says what it is shaded into, or wants every shade that the reading found painted."""
        found = not said.flags and any(h.flag == "blend" for h in area.hints)
        return said.blend_into is not None or (found and self.job.figure.shading == "own mix")

    def edge(self, edge: Edge) -> SchemeEdge:
        """An edge in millimetres, with the maker's wish."""
        said, scale = self.job.edges.get(edge.areas, EdgeJob()), self.scale.of(self.part_of[edge.areas[0]])
        return SchemeEdge(edge.areas, edge.length_px * scale, edge.straightness, edge.soft, said.treat, said.first)


def _pixels(area: Area) -> float:
    return max(area.pixels, 1.0)


def _painted_cm2(drawing: Drawing, part_of: Mapping[int, str], parts: Iterable[SchemePart]) -> list[float]:
    """Of each area its share of its part's surface, by its pixels."""
    total = dict.fromkeys(part_of.values(), 0.0)
    for a in drawing.areas:
        total[part_of[a.id]] += _pixels(a)
    surface = {p.name: p.surface_cm2 for p in parts}
    return [surface[part] * _pixels(a) / total[part] for a in drawing.areas for part in (part_of[a.id],)]


def _last_pot(name: str, mix: MixJob) -> LastPot:
    dab = parse_colour(mix.came_out)[0]
    off = float(delta_e(dab, parse_colour(mix.aim)[0]))
    return LastPot(name, mix.poured, dab, off, bool(mix.add))


def mesh_warnings(scheme: Scheme, job: Job, meshes: Mapping[str, float]) -> tuple[str, ...]:
    """Meshes, surface in cm2 by part, that are the part's surface and cannot be in millimetres, with the cure."""
    # Where the maker told the surface, the mesh is not used, whatever its unit.
    used = [p for p in scheme.parts if p.name in meshes and job.parts.get(p.name, PartJob()).surface_cm2 is None]
    said = (mesh_warning(meshes[p.name], p.silhouette_cm2, f"{job.file}: parts.{p.name}.mesh") for p in used)
    return tuple(filter(None, said))


def _blend_notes(areas: Iterable[SchemeArea], edges: Iterable[SchemeEdge], job: Job) -> Iterator[str]:
    """What areas flagged blend are shaded into where the maker did not say it and more than one is possible, or none
    was found."""
    by_id = {a.id: a for a in areas}
    for area in by_id.values():
        said = job.areas.get(area.id, AreaJob())
        # A shade that the reading alone found needs no note: it was never asked for.
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


def _check_names(drawing: Drawing, job: Job) -> None:
    ids = {a.id for a in drawing.areas}
    here = f"{len(ids)} areas, 1 to {max(ids)}"
    areas_of: list[tuple[str, Iterable[int]]] = [
        *((f"parts.{name}.areas", part.areas or ()) for name, part in job.parts.items()),
        *((f"mixes.{name}.areas", mix.areas) for name, mix in job.mixes.items()),
        *((f"areas.{id}", (id,)) for id in job.areas),
        *((f"areas.{id}.blend_into", (a.blend_into,)) for id, a in job.areas.items() if a.blend_into is not None),
        *((f"areas.{id}.before", a.before) for id, a in job.areas.items()),
    ]
    for where, wanted in areas_of:
        for id in wanted:
            if id not in ids:
                raise NoSuchArea(
                    f"area {id} does not exist",
                    where=f"{job.file}: {where}",
                    cure=f"the drawing has {here}: see the numbered drawing",
                )
    touching = {e.areas for e in drawing.edges}
    pairs = [(f'edges."{a}-{b}"', a, b) for a, b in job.edges]
    pairs += [(f"areas.{i}.blend_into", i, a.blend_into) for i, a in job.areas.items() if a.blend_into is not None]
    for where, a, b in pairs:
        if (min(a, b), max(a, b)) not in touching:
            raise NoSuchArea(
                f"areas {a} and {b} do not touch",
                where=f"{job.file}: {where}",
                cure="name two areas that share an edge: see the numbered drawing",
            )
    _check_edges(job)
    _check_parts(drawing, job)
    part_of = parts_of_areas(drawing, job)
    for where, a, b in pairs:
        if part_of[a] != part_of[b]:
            raise InputError(
                f"areas {a} and {b} are on different parts, painted apart",
                where=f"{job.file}: {where}",
                cure="leave it out, or put both areas on one part",
            )


def _check_mixes(job: Job) -> None:
    """A mix is named so that areas share it; one that a single area names is a slip."""
    names = Counter(area.mix for area in job.areas.values() if area.mix)
    # One area may join a mix that has a section, since others are named there.
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
    # A drawn piece all of whose areas were put on other parts is no part any more.
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
