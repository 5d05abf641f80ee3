"""What the stages need of the job, one object a stage: nothing else that the maker says changes their results."""

from dataclasses import replace

from finishplan.basics.errors import InputError, nearest
from finishplan.drying.kinds import paint_kind, paint_kinds
from finishplan.drying.model import DryTimes
from finishplan.drying.times import dry_times
from finishplan.job.job import Job, PaintsJob
from finishplan.job.settings import Method, StepChange, StepSettings
from finishplan.order.settings import OrderSettings
from finishplan.paint.settings import MixSettings

USUAL_PAINT = "acrylic"


def method_of(job: Job) -> Method:
    """The method with its films in numbers. Raises InputError for a coating of an unknown kind, or that will not do."""
    kinds = {"paints.kind": job.paints.kind or USUAL_PAINT, "method.primer_kind": job.method.primer_kind}
    for key, kind in (kinds | {"method.varnish_kind": job.method.varnish_kind}).items():
        fits = _kinds_for(key)
        if kind not in fits:
            raise InputError(f"'{kind}' will not do here", where=f"{job.file}: {key}", cure=nearest(kind, fits))
    return replace(
        job.method,
        coat_um=brush_coat_um(job),
        spray_um=job.method.spray_um or paint_kind("airbrush").dry_um,
    )


def brush_coat_um(job: Job) -> float:
    """Dry film of one brushed coat, um: as the maker set it, else that of the kind of paint. Raises InputError."""
    return job.method.coat_um or paint_kind(job.paints.kind or USUAL_PAINT).dry_um


def steps_of(job: Job) -> StepSettings:
    """The steps with no coats of what is left out."""
    # A step left out is a coat not laid: order, run and amounts ask only for the coats.
    left_out = {key for key, change in job.steps.changes.items() if change.skip}
    return replace(
        job.steps,
        primer_coats=0 if "prime" in left_out else job.steps.primer_coats,
        varnish_coats=0 if "varnish" in left_out else job.steps.varnish_coats,
    )


def _kinds_for(key: str) -> list[str]:
    """The rows of kinds.toml that will do for a key of the job."""
    use = key.split(".")[1].removesuffix("_kind")
    # `paints.kind` is what is brushed; the airbrush has its own row, taken by the method.
    if use == "kind":
        return [k for k, row in paint_kinds().items() if row.use == "paint" and not row.sprayed]
    return [k for k, row in paint_kinds().items() if row.use == use]


def coats_dry(job: Job) -> tuple[DryTimes, ...]:
    """Drying of one coat of the primer, of the brushed paint and of the varnish."""
    # The hair dryer is for coats of paint; primer and varnish are left to dry by themselves.
    primer = dry_times(job.method.primer_kind, None, job.room, dryer=False)
    if job.method.primer_wait_min is not None:
        primer = replace(primer, over_min=job.method.primer_wait_min)
    return (
        primer,
        dry_times(job.paints.kind or USUAL_PAINT, method_of(job).coat_um, job.room, own=job.paints.dry),
        dry_times(job.method.varnish_kind, None, job.room, dryer=False),
    )


def sprayed_dry(job: Job) -> DryTimes:
    """Drying of one sprayed coat: thinner and leaner in water than a brushed one."""
    return dry_times("airbrush", method_of(job).spray_um, job.room, own=job.paints.dry)


def mix_settings(job: Job, cache: bool = True) -> MixSettings:
    """How the mixes are searched. cache: keep the box's computed recipes on disk."""
    paints = job.paints
    return MixSettings(
        max_paints=paints.max_paints,
        max_parts=paints.max_parts,
        # An older job has `merge` alone; a `within` of another value than the usual one outranks it.
        within=paints.within if paints.merge is None or paints.within != PaintsJob.within else paints.merge,
        drop_ml=paints.drop_ml,
        finish=job.figure.finish,
        dark=paints.dark,
        castings=job.run.castings,
        cache=cache,
    )


def order_settings(job: Job) -> OrderSettings:
    """How the passes are ordered."""
    return OrderSettings(
        method=method_of(job),
        labour=job.labour.paced,
        castings=job.run.castings,
        finish=job.figure.finish,
        primer_coats=steps_of(job).primer_coats,
        # So many painter's minutes go by while one coat dries; 0: another mix is never taken up meanwhile.
        wait_min=0.0 if job.run.fewest_changes else _wait_min(job) * job.run.painters,
        sticks=not job.steps.changes.get("hold", StepChange()).skip,
    )


def _wait_min(job: Job) -> float:
    """From one coat to the next, under the hair dryer where there is one."""
    paint = coats_dry(job)[1]
    if job.room.dryer and paint.dryer_hand_min is not None:
        # Not the paint's own minute under it: a go has its length, whatever dries sooner.
        return job.room.dryer_min + job.room.dryer_rest_min
    return paint.recoat_min
