"""The cautions every plan carries. They defer to data sheets, local rules and licensed laboratories."""

from collections.abc import Sequence
from functools import cache

from finishplan.basics.text_files import shipped_toml
from finishplan.drying.kinds import paint_kind
from finishplan.drying.model import DryTimes
from finishplan.job.settings import Room
from finishplan.order.model import PaintingOrder
from finishplan.paint.hazards import is_unknown, kept_from_spray, metals_in, metals_of, paints_used
from finishplan.paint.model import Box, Mix


@cache
def caution_texts() -> dict[str, dict[str, str]]:
    """Caution key -> {'when', 'short', 'text'}, in the order printed."""
    return shipped_toml("bench/data/cautions.toml")


def caution(key: str) -> str:
    """The short form of one caution, for the step it belongs to."""
    return caution_texts()[key]["short"]


def plan_cautions(
    mixes: Sequence[Mix],
    box: Box,
    order: PaintingOrder,
    dry: Sequence[DryTimes],
    *,
    room: Room | None = None,
    pieces: int = 1,
    resin: bool = True,
) -> tuple[str, ...]:
    """Cautions for one plan. dry: the coatings used (primer, paint, varnish). pieces: of one casting.
    resin: whether the maker casts (False: castings are bought). Raises InputError for an unknown kind of coating."""
    kinds = [paint_kind(d.kind) for d in dry]
    airbrush = any(p.tool == "airbrush" for p in order.passes)
    used = (*mixes, *order.extra_mixes)
    marked = [p for p in paints_used(used, box) if metals_of(p)]
    unknown = [p.name for p in paints_used(used, box) if is_unknown(p)]
    risky = {m.id for m in used if kept_from_spray([m], box)}
    passes = [p.no for p in order.passes if p.tool == "airbrush" and risky & {p.mix, *p.also_open}]
    facts = {
        "always": True,
        "resin": resin,
        "pieces": pieces > 1,
        "sprayed": airbrush or any(k.sprayed for k in kinds),
        "aerosol": any("aerosol" in k.key for k in kinds),
        "solvent": any(k.medium == "solvent" for k in kinds),
        "dryer": room is not None and room.dryer,
        "metals": bool(marked),
        "unknown": bool(unknown),
        "sprayed-metals": bool(passes),
    }
    metals = ", ".join((*metals_in(used, box), *(["unknown pigments"] if unknown else [])))
    names = ", ".join(p.name for p in marked)
    chosen = [row["text"] for row in caution_texts().values() if facts[row["when"]]]
    words = {
        "metals": ", ".join(metals_in(used, box)),
        "held": metals,
        "paints": names,
        "unknown": ", ".join(unknown),
        "passes": ", ".join(map(str, passes)),
    }
    return tuple(text.format(**words) for text in chosen) + box.table.cautions


def short_cautions(cautions: Sequence[str]) -> tuple[str, ...]:
    """The same cautions as short as a step carries them, each once; those that have no short form as they are."""
    by_text = {row["text"]: row.get("short", row["text"]) for row in caution_texts().values()}
    return tuple(dict.fromkeys(by_text.get(text, text) for text in cautions))
