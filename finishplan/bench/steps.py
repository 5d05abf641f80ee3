"""From the mould to the box: every step of the finishing job, with its minutes, waits, reasons and cautions."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from finishplan.basics.errors import InputError, nearest
from finishplan.basics.text_files import shipped_toml
from finishplan.basics.words import counted, duration, listed
from finishplan.bench.holding import blown_over
from finishplan.bench.model import Step
from finishplan.bench.safety import caution
from finishplan.drying.kinds import paint_kind
from finishplan.drying.model import DryTimes
from finishplan.job.settings import Gloss, Labour, RunSettings, StepChange, StepSettings
from finishplan.order.area_names import line_told, whole_coats
from finishplan.order.minutes import COATING_BRUSH_MM, cover_per_cm2
from finishplan.order.model import PaintingOrder, Pass
from finishplan.run.build import Painted
from finishplan.scheme.model import Scheme


@dataclass(frozen=True)
class _Job:
    """All that the steps are made from."""

    figure: Painted
    settings: StepSettings
    labour: Labour
    run: RunSettings
    finish: Gloss

    @property
    def scheme(self) -> Scheme:
        return self.figure.scheme

    @property
    def order(self) -> PaintingOrder:
        return self.figure.order

    @property
    def primer(self) -> DryTimes:
        return self.figure.dry[0]

    @property
    def paint(self) -> DryTimes:
        return self.figure.dry[1]

    @property
    def varnish(self) -> DryTimes:
        return self.figure.dry[2]

    @property
    def pieces(self) -> int:
        return sum(p.copies for p in self.scheme.parts)

    @property
    def held(self) -> tuple[str, ...]:
        """The first glue face of each part: there the stick is."""
        return tuple(f"{p.name}: {p.glue_faces[0]}" for p in self.scheme.parts if p.glue_faces)

    @property
    def masks(self) -> tuple[str, ...]:
        """The other glue faces."""
        return tuple(f"{listed(p.glue_faces[1:])} ({p.name})" for p in self.scheme.parts if p.glue_faces[1:])

    @property
    def surface_cm2(self) -> float:
        return sum(p.surface_cm2 for p in self.scheme.parts)


def finishing_steps(
    figure: Painted,
    settings: StepSettings | None = None,
    *,
    labour: Labour | None = None,
    run: RunSettings | None = None,
    finish: Gloss = "satin",
) -> tuple[Step, ...]:
    """The steps of one casting in working order, numbered from 1.

    figure: its `dry` has the varnish too. Step.minutes are the painter's for one casting, with its share of what is set
    up once for the run; Step.wait_min is how long that casting must rest. Raises InputError when settings name no step.
    """
    job = _Job(figure, settings or StepSettings(), labour or Labour(), run or RunSettings(), finish)
    rows: dict[str, Any] = shipped_toml("bench/data/steps.toml")
    steps: list[Step] = []
    for key, row in rows.items():
        # The passes have no row: they stand before the first step that needs the piece painted.
        if key == "touch-up":
            steps += [_pass_step(job, one) for one in figure.order.passes]
        if _needed(job, row.get("needs")):
            steps.append(_step(job, key, row))
    # A job may change 'pass-3' too, so keys are judged once the passes are known.
    _check_keys(job, [*rows, *(f"pass-{p.no}" for p in figure.order.passes)])
    changed = [_changed(s, job.settings.changes.get(s.key, StepChange())) for s in steps]
    # Numbered last: what is skipped leaves no gap.
    return tuple(replace(s, no=no) for no, s in enumerate((s for s in changed if s is not None), 1))


def _needed(job: _Job, needs: str | None) -> bool:
    facts = {
        "pieces": job.pieces > 1,
        "masks": bool(job.masks),
        "primer": job.settings.primer_coats > 0,
        "varnish": job.settings.varnish_coats > 0,
    }
    return needs is None or facts[needs]


def _step(job: _Job, key: str, row: Mapping[str, Any]) -> Step:
    wordings = (("many", job.run.castings > 1), ("single", job.pieces == 1), ("text", True))
    text = next(row[name] for name, fits in wordings if fits and name in row)
    filled = _words(job)
    return Step(
        0,
        key,
        row["kind"],
        # Only the file's texts are filled in; what the maker wrote may hold braces.
        (text.format(**filled) + _more_text(job, key)).strip(),
        _minutes(job, row) + _modelled_minutes(job, key),
        row.get("wait_min", _modelled_wait(job, key)),
        row.get("why", "").format(**filled),
        tuple(caution(c) for c in (*row.get("cautions", ()), *_modelled_cautions(job, key))),
        name=row["name"],
    )


def _minutes(job: _Job, row: Mapping[str, Any]) -> float:
    counts = {
        "each": 1,
        "piece": job.pieces,
        # The first face of a part is where its stick is: tack covers it, no mask.
        "face": sum(p.copies * len(p.glue_faces[1:]) for p in job.scheme.parts),
        "joint": job.pieces - 1,
        "cm2": job.surface_cm2,
        "setup": 1 / job.run.castings,
    }
    return float(sum(row.get(unit, 0.0) * count for unit, count in counts.items()))


def _modelled_minutes(job: _Job, key: str) -> float:
    if key == "prime":
        return job.settings.primer_coats * _coating_min(job, job.primer) + job.labour.turn_min / job.run.castings
    if key == "varnish":
        return job.settings.varnish_coats * _coating_min(job, job.varnish)
    return 0.0


def _coating_min(job: _Job, dry: DryTimes) -> float:
    """One coat over everything: handling each piece, and its surface at the rate of spray or brush."""
    brushed = cover_per_cm2(job.labour, COATING_BRUSH_MM)
    rate = job.labour.spray_per_cm2_min if paint_kind(dry.kind).sprayed else brushed
    return job.labour.handle_min * job.pieces + rate * job.surface_cm2


def _modelled_wait(job: _Job, key: str) -> float:
    return {
        # Between its coats a primer waits for itself, after the last for another paint to be brushed over it.
        "prime": (job.settings.primer_coats - 1) * job.primer.recoat_min + job.primer.brushed_over_min,
        "touch-up": job.paint.handling_min,
        "join": job.paint.touch_dry_min,
        "harden": job.paint.cured_min,
        "varnish": job.settings.varnish_coats * job.varnish.recoat_min,
        "cure": job.varnish.cured_min,
    }.get(key, 0.0)


def _modelled_cautions(job: _Job, key: str) -> tuple[str, ...]:
    # Faults that the primer shows are primed again, with all that asks for.
    dry = {"prime": job.primer, "inspect": job.primer, "varnish": job.varnish}.get(key)
    if dry is None:
        return ()
    kind = paint_kind(dry.kind)
    keys = ("air", *(("spraying",) if kind.sprayed else ()), *(("aerosol",) if kind.can else ()))
    if kind.medium != "solvent":
        return keys
    # A can's own caution forbids flame and heater already; the solvent's would say it twice.
    return (*keys, "skin") if "aerosol" in keys else (*keys, "solvent", "skin")


def _words(job: _Job) -> dict[str, str]:
    return {
        "held": _held(job),
        "masks": listed(job.masks),
        "pieces": listed([p.name if p.copies == 1 else f"{p.copies} × {p.name}" for p in job.scheme.parts], 9),
        "primer": f"{job.order.primer.name} {paint_kind(job.primer.kind).name}",
        "primer_why": job.order.primer.why,
        "primer_coats": _coats(job.settings.primer_coats, job.primer),
        "how": _how(job.primer),
        "finish": job.finish,
        "varnish_coats": _coats(job.settings.varnish_coats, job.varnish),
        "varnish_how": _how(job.varnish),
    }


def _how(dry: DryTimes) -> str:
    return "in passes that start and end beside the piece" if paint_kind(dry.kind).sprayed else "brushed out thin"


def _coats(count: int, dry: DryTimes | None = None) -> str:
    """'one thin coat', '2 thin coats'; dry: with how long each waits for the one before."""
    apart = f" {duration(dry.recoat_min, up=True)} apart" if dry is not None else ""
    return "one thin coat" if count == 1 else counted(count, "thin coat") + apart


def _more_text(job: _Job, key: str) -> str:
    """What depends on the number of castings and on the pieces' size."""
    n, run = job.run.castings, job.run
    if key == "demould" and (run.first_ready_min or run.cadence_min):
        shots = math.ceil(n / run.per_shot)
        last = run.first_ready_min + (shots - 1) * run.cadence_min
        if n == 1:
            return f" The run has it ready {duration(last)} after the start."
        pulls = f"{shots} pulls" if shots > 1 else "one pull"
        return f" {n} castings come in {pulls}; the run has the last ready {duration(last)} after the start."
    if key == "hold":
        return _holding(job)
    if key == "prime" and n > 1 and not run.cadence_min:
        every = f" {'Both' if n == 2 else f'All {n}'} castings in one go."
        return every if _primed_at_once(job) else " As many at a time as the run sheet says."
    if key == "inspect":
        return " The run sheet has no time for this: begin the passes when it is done."
    return ""


def _primed_at_once(job: _Job) -> bool:
    """Whether rack and session have room for all castings, each painter priming a share of them."""
    run = job.run
    shares = math.ceil(run.castings / run.painters)
    work = job.settings.primer_coats * shares * _coating_min(job, job.primer) + job.labour.turn_min
    return (run.rack or run.castings) >= run.castings and work <= (run.session_min or math.inf)


def _held(job: _Job) -> str:
    """Where the sticks go: where no paint is wanted."""
    if job.held:
        faces = "; ".join(job.held)
        return f"where it will be glued ({faces}); cover that face with tack, in place of a mask"
    return "where it will be glued" if job.pieces > 1 else "under its base"


def _holding(job: _Job) -> str:
    n = job.run.castings
    numbers = f" Number the sticks 1 {'and' if n == 2 else 'to'} {n}." if n > 1 else ""
    tools = any(p.tool == "airbrush" for p in job.order.passes)
    # Only a spray blows over what merely stands.
    if not (tools or paint_kind(job.primer.kind).sprayed or paint_kind(job.varnish.kind).sprayed):
        return numbers
    light = [p.name for p in job.scheme.parts if blown_over(p, job.settings.spray_m_s, job.settings.density)]
    return numbers + (
        f" Light enough to be blown over by the spray, so tack down: {listed(light, 9)}." if light else ""
    )


def _pass_step(job: _Job, one: Pass) -> Step:
    mixes = " with ".join(_mix_name(job, id) for id in (one.mix, *one.also_open))
    coats = _coats(whole_coats(job.order, one.work)) + line_told(job.order, one.work)
    text = f"Pass {one.no}, {one.kind}: {mixes} on {_areas(job, one)}; {coats}, {one.brush or one.tool}."
    text += "".join(f" {line[:1].upper()}{line[1:]}." for line in one.mask)
    return Step(
        0,
        f"pass-{one.no}",
        "painting",
        text,
        one.minutes + job.labour.turn_min / job.run.castings,
        # A sprayed pass dries in the time of its own film.
        one.coats * (one.recoat_min or job.paint.recoat_min),
        "; ".join(one.why),
        (caution("spraying"),) if one.tool == "airbrush" else (),
    )


def _mix_name(job: _Job, id: str) -> str:
    name = next((m.name for m in (*job.figure.mixes, *job.order.extra_mixes) if m.id == id), "")
    return f"mix {id} ({name})" if name else f"mix {id}"


def _areas(job: _Job, one: Pass) -> str:
    """The pass's areas by name: '4, 6 and 9 mint green, 12 scarf'."""
    names = {a.id: a.name for a in job.scheme.areas}
    ids: dict[str, list[str]] = {}
    for id in one.areas:
        ids.setdefault(names.get(id, ""), []).append(str(id))
    groups = [f"{listed(some, 13)}{',' if len(some) > 13 else ''} {name}".strip() for name, some in ids.items()]
    more = f" and {len(groups) - 8} more" if len(groups) > 8 else ""
    return ", ".join(groups[:8]) + more


def _check_keys(job: _Job, known: list[str]) -> None:
    for key, change in job.settings.changes.items():
        at = f"steps.{key}"
        if key not in known:
            raise InputError(f"no step is called '{key}'", key=at, cure=nearest(key, known))
        for name, value in (("minutes", change.minutes), ("wait_min", change.wait_min)):
            if value is not None and not 0 <= value <= 1e6:
                raise InputError(f"{name} = {value:g} is no time", key=at, cure="give minutes, 0 or more")


def _changed(step: Step, change: StepChange) -> Step | None:
    if change.skip:
        return None
    return replace(
        step,
        text=step.text if change.text is None else change.text,
        own_text=change.text is not None,
        minutes=step.minutes if change.minutes is None else change.minutes,
        wait_min=step.wait_min if change.wait_min is None else change.wait_min,
    )
