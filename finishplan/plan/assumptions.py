"""What the plan rests on: every setting and constant with its value, unit and source, and the notes on the way."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import fields

from finishplan.basics.assumption import YOURS, Assumption
from finishplan.basics.words import listed
from finishplan.colour.hiding import CLOSE, HIDDEN, UNEVEN
from finishplan.colour.light import hex_from_lab
from finishplan.drying.model import DryTimes
from finishplan.job.job import Job
from finishplan.job.settings import Labour, Room, RunSettings
from finishplan.order.area_names import LISTED, label
from finishplan.order.items import painted_areas
from finishplan.paint.finding import taken_notes
from finishplan.paint.hazards import historical_warning
from finishplan.paint.model import Box, Mix
from finishplan.paint.settings import DROP_ML, FAR_MEMBER
from finishplan.paint.swatch import measured_notes
from finishplan.plan.bench_assumptions import bench_assumptions
from finishplan.plan.colour_assumptions import colour_assumptions, drying_assumptions
from finishplan.plan.plan import Painting
from finishplan.plan.settings import mix_settings
from finishplan.plan.sharing_words import unproven
from finishplan.run.model import Run
from finishplan.scheme.model import Scheme

COMMON = "common practice"
LONG_STRETCH_MIN = 300.0
MOST_MISSED = 6
"""Colours out of reach that are named in a warning; more are counted."""

LABOUR = {
    "mix_min": ("mixing a pot, to begin with", "min"),
    "mix_paint_min": ("mixing, for each paint", "min"),
    "mix_premix_min": ("mixing, for each pre-mixed paint", "min"),
    "turn_min": ("turning to another mix: rinse, dry, load", "min"),
    "handle_min": ("taking up and putting down a piece", "min"),
    "line_10mm_min": ("cutting an edge, the coat that makes the line", "min per 10 mm"),
    "edge_10mm_min": ("keeping to an edge, the coats before it", "min per 10 mm"),
    "per_dot_min": ("setting a dot", "min"),
    "stroke_mm_s": ("the fastest stroke of a broad brush", "mm/s"),
    "spray_per_cm2_min": ("airbrush", "min per cm²"),
    "mask_min": ("masking before spraying", "min"),
    "setup_min": ("setting up and clearing away, a session", "min"),
    "pace": ("your own minutes over these", "times"),
}
ROOM = {
    "temperature_c": ("air temperature", "°C"),
    "humidity_pct": ("relative humidity", "%"),
    "air_speed_m_s": ("air speed over the work", "m/s"),
    "dryer_min": ("hair dryer, one go over one or two castings", "min"),
    "dryer_castings": ("castings in its stream", ""),
    "dryer_rest_min": ("rest after the hair dryer", "min"),
}
RUN = {
    "loss": ("paint mixed for each ml that stays on it", "ml"),
    "brush_ml": ("paint lost to the brush at each turn", "ml"),
    "least_drops": ("least pot", "drops"),
    "wells": ("pots on the palette at once", ""),
    "slack_min": ("a session may run over", "min"),
}
STEERING = "Accot and Zhai, CHI 1997: time = b length / width; b from memory"


def assumptions(job: Job, scheme: Scheme, box: Box, dry: Sequence[DryTimes]) -> tuple[Assumption, ...]:
    """Every number the plan rests on. A value that the maker changed says so."""
    table = box.table
    rows = [
        Assumption(
            "dry film of one thin coat",
            f"{dry[1].dry_um:g}",
            "µm",
            _source(job.method.coat_um is None),
            "method.coat_um",
        ),
        Assumption("a film hides when it is within", f"{HIDDEN:g}", "CIEDE2000", "just-visible step"),
        Assumption("or within, where it lies even", f"{CLOSE:g}", "CIEDE2000", "our rule"),
        Assumption("a coat is thinner and thicker in places by", f"{100 * UNEVEN:g}", "%", "our assumption"),
        *_opacity(box),
        Assumption("surface reflection k1, k2", f"{table.k1:g}, {table.k2:g}", "", "; ".join(table.sources)),
        *(
            Assumption(
                f"painted surface of {p.name}", f"{p.surface_cm2:.1f}", "cm²", p.surface_source, "parts.surface_cm2"
            )
            for p in scheme.parts
        ),
        Assumption(
            "one drop", f"{job.paints.drop_ml:g}", "ml", _source(job.paints.drop_ml == DROP_ML), "paints.drop_ml"
        ),
    ]
    default = {Room: Room(), RunSettings: RunSettings(), Labour: Labour()}
    for section, given, names in (("room", job.room, ROOM), ("run", job.run, RUN), ("labour", job.labour, LABOUR)):
        for f in fields(given):
            if f.name in names:
                value = getattr(given, f.name)
                name, unit = names[f.name]
                usual = STEERING if "10mm" in f.name else COMMON
                source = _source(value == getattr(default[type(given)], f.name), usual)
                # Against the default, not by whether it was written: a maker may write what is usual.
                rows.append(Assumption(name, f"{value:g}", unit, source, f"{section}.{f.name}"))
    # By itself: with none set, how long depends on the palette.
    rows.append(_pots(job.run))
    rows += [*colour_assumptions(mix_settings(job)), *drying_assumptions(dry[1])]
    return (*rows, *bench_assumptions(dry, job.steps, job.resin, job.paints.dry))


FOREMOST = (
    "room.temperature_c",
    "room.humidity_pct",
    "method.coat_um",
    "run.pot_life_min",
    "run.loss",
    "labour.turn_min",
    "labour.setup_min",
    "labour.line_10mm_min",
    "parts.surface_cm2",
    "paints.drop_ml",
)
"""Keys of what moves a plan most and a maker can measure."""


def foremost(rows: Sequence[Assumption], most: int) -> tuple[Assumption, ...]:
    """The assumptions a maker should look at first: what they set themselves, what moves the plan most, then others."""
    rank = {key: k for k, key in enumerate(FOREMOST)}
    # Sorting keeps the order of rows that rank alike.
    return tuple(sorted(rows, key=lambda row: (not row.own, rank.get(row.key, len(rank))))[:most])


def _pots(run: RunSettings) -> Assumption:
    """How long a pot stays workable."""
    kept = {"wet": "on a lidded wet palette", "dish": "in an open dish"}[run.palette]
    return Assumption(
        f"a pot stays workable {kept}",
        f"{run.pot_life / 60:g}",
        "h",
        _source(run.pot_life_min is None),
        "run.pot_life_min",
    )


def plan_notes(painting: Painting, run: Run) -> tuple[str, ...]:
    """What the maker should know of how the plan came about: reading, scale, merged colours, few drops."""
    scheme = painting.scheme
    notes = [
        *([scheme.guessed] if scheme.guessed else []),
        *painting.drawing.notes,
        *scheme.notes,
        *taken_notes(painting.box.paints),
        *measured_notes(painting.box.paints),
    ]
    # Colours go by the areas drawn in them, since a maker knows the hood and no '#d9a23a'.
    mix_of, own = dict(painting.mix_of), _areas_by_colour(scheme)
    asked = {painting.mixes[mix_of[a.id]].id for a in scheme.areas if a.mix and a.id in mix_of}
    for mix in painting.mixes:
        if mix.merged_hex:
            within = painting.mix_settings.within
            # The reason that weighs most is said: the maker's wish, then the reach of the paints, then the tolerance.
            why = f"one pot does for colours within {within:g} of it (CIEDE2000), and for those too close to be "
            why += "measured apart by hand"
            if not mix.reachable:
                why = "they are out of reach of your paints, and this pot is as near as any"
            why = "as you asked" if mix.id in asked else why
            off = dict(zip(mix.merged_hex, mix.merged_off, strict=True))
            others = " and ".join(f"{_drawn(own, hex)}, {off[hex]:.1f} off" for hex in mix.merged_hex)
            notes.append(f"Mix {mix.id} ({mix.name}) also serves {others}: {why}.")
        if mix.from_book:
            notes.append(f"Mix {mix.id} is {mix.from_book}, from your mix book, {mix.delta_e:.1f} off (CIEDE2000).")
        if mix.estimate:
            notes.append(f"Mix {mix.id} ({mix.name}) uses a bottle without measurements: try it on a scrap first.")
    notes += run_notes(run)
    if told := unproven(len(painting.mixes), painting.least_mixes):
        notes.append(told)
    return (*notes, *painting.order.notes, *_few_drops_notes(painting.mixes))


def run_notes(run: Run) -> tuple[str, ...]:
    """Of those notes, what is of the run alone."""
    if run.makespan_min <= LONG_STRETCH_MIN or len(run.sessions) > 1:
        return ()
    return ("One stretch of work: set session_min in [run] to cut it into evenings that suit you.",)


def _few_drops_notes(mixes: Sequence[Mix]) -> tuple[str, ...]:
    few = listed(
        f"{m.id} {m.name}, {m.delta_e:.1f} off where {m.best_delta_e:.1f} could be had" for m in mixes if m.few_drops
    )
    return (f"Little is needed of these, so they are mixed simply, not as near as can be: {few}.",) if few else ()


def drawn_as(scheme: Scheme, mixes: Iterable[Mix]) -> dict[str, str]:
    """Each drawn colour that is mixed, with the areas drawn in it: '#d9a23a' -> '#d9a23a (1 hood and 31 coat)'."""
    own = _areas_by_colour(scheme)
    served = (hex for m in mixes for hex in (m.drawn_hex, *m.merged_hex))
    return {hex: _drawn(own, hex, 2) for hex in served if hex in own}


def drawn_on(scheme: Scheme) -> dict[str, str]:
    """The areas drawn in each colour: '#d9a23a' -> '1 hood and 31 coat'."""
    return {hex: listed(areas, LISTED) for hex, areas in _areas_by_colour(scheme).items()}


def _areas_by_colour(scheme: Scheme) -> dict[str, list[str]]:
    """What the areas of each drawn colour are called."""
    own: dict[str, list[str]] = {}
    for area in painted_areas(scheme):
        own.setdefault(hex_from_lab(area.target), []).append(label(area))
    return own


def _drawn(own: Mapping[str, Sequence[str]], hex: str, most: int = LISTED) -> str:
    return f"{hex} ({listed(own[hex], most)})" if hex in own else hex


def plan_warnings(
    mixes: Sequence[Mix],
    box: Box,
    additions: str,
    asked: Mapping[str, str] | None = None,
    undercoats: Sequence[Mix] = (),
) -> tuple[str, ...]:
    """A table for study only, with what is poisonous in the mixes; the colours that no mix of the box reaches, in one
    line, and what would help. additions: what would for all, '' if nothing; asked: hex of a colour -> how the maker
    wrote or drew it; undercoats: mixes that no drawn colour asks for."""
    asked = asked or {}
    # What can hurt comes before what only looks wrong.
    study = (*historical_warning((*mixes, *undercoats), box), *_far_members(mixes, asked))
    # By colour, not by mix: a pot may serve some colours well and miss others that no pot would reach.
    missed = sorted(((one, m) for m in mixes for one in m.missed), key=lambda pair: -pair[0].delta_e)
    if not missed:
        return study
    rows = [(asked.get(one.hex, one.hex), f"{one.delta_e:.1f}", m) for one, m in missed]
    if len(missed) == 1:
        ((colour, far, mix),) = rows
        helps = f"; {mix.add_name} would bring it within 2." if mix.add_paint else "."
        line = f"No mix of your paints reaches {colour}; nearest: {mix.name}, colour error {far} (CIEDE2000){helps}"
        return (*study, line, additions) if additions and mix.reachable else (*study, line)
    colours = [f"{colour}, {far} from {mix.name}" for colour, far, mix in rows[:MOST_MISSED]]
    more = f"; and {len(missed) - MOST_MISSED} more" if len(missed) > MOST_MISSED else ""
    of = f"{len(missed)} of {len(asked) or sum(1 + len(m.merged_hex) for m in mixes)} colours"
    line = (
        f"No mix of your paints reaches {of}, the farthest first (colour error, CIEDE2000): {'; '.join(colours)}{more}."
    )
    return (*study, line, additions) if additions else (*study, line)


def _far_members(mixes: Sequence[Mix], asked: Mapping[str, str]) -> tuple[str, ...]:
    """Colours that share a mix though it lies far from them, in one line."""
    members = ((off, hex, m) for m in mixes for hex, off in zip(m.merged_hex, m.merged_off, strict=True))
    # Those out of reach have a warning of their own: no grouping is to blame.
    out = {one.hex for m in mixes for one in m.missed}
    far = sorted((row for row in members if row[0] > FAR_MEMBER and row[1] not in out), key=lambda row: -row[0])
    told = [f"{asked.get(hex, hex)} by {m.id} {m.name}, {off:.1f} off" for off, hex, m in far]
    say = "These areas are painted with a mix of another colour, as you grouped them (colour error, CIEDE2000)"
    return (f"{say}: {listed(told, MOST_MISSED)}.",) if told else ()


def _opacity(box: Box) -> list[Assumption]:
    """How opaque the paints are, by the scattering of one of them."""
    if (scale := box.table.scale) is None:
        return []
    name = next((p.name for p in (*box.table.paints, *box.paints) if p.id == scale.of), scale.of)
    range = f"; believable {scale.low:g}-{scale.high:g}" if scale.low < scale.high else ""
    return [Assumption(f"opacity: S of {name}", f"{scale.per_mm:.0f}", "per mm of dry film", scale.source + range)]


def _source(default: bool, usual: str = COMMON) -> str:
    return usual if default else YOURS
