"""The cautions every plan carries. They defer to data sheets, local rules and licensed laboratories."""

from collections.abc import Sequence
from functools import cache

from finishplan.basics.text_files import shipped_toml
from finishplan.drying.kinds import paint_kind
from finishplan.job.settings import Room
from finishplan.paint.hazards import is_unknown, kept_from_spray, metals_in, metals_of, paints_used
from finishplan.paint.model import Box
from finishplan.run.build import Painted


@cache
def caution_texts() -> dict[str, dict[str, str]]:
    """Caution key -> {'when', 'short', 'text'}, in the order printed."""
    return shipped_toml("bench/data/cautions.toml")


def caution(key: str) -> str:
    """The short form of one caution, for the step it belongs to."""
    return caution_texts()[key]["short"]


def plan_cautions(figure: Painted, box: Box, room: Room | None = None, *, resin: bool = True) -> tuple[str, ...]:
    """Cautions for one plan. figure: its `dry` are the coatings used. resin: whether the maker casts (False: castings
    are bought). Raises InputError for an unknown kind of coating."""
    order, kinds = figure.order, [paint_kind(d.kind) for d in figure.dry]
    used = (*figure.mixes, *order.extra_mixes)
    held = paints_used(used, box)
    marked, unknown = [p.name for p in held if metals_of(p)], [p.name for p in held if is_unknown(p)]
    risky = {m.id for m in used if kept_from_spray([m], box)}
    sprayed = [p for p in order.passes if p.tool == "airbrush"]
    # The order keeps these from the airbrush already; were a pass to spray one all the same, it is named.
    passes = [str(p.no) for p in sprayed if risky & {p.mix, *p.also_open}]
    facts = {
        "always": True,
        "resin": resin,
        "pieces": sum(p.copies for p in figure.scheme.parts) > 1,
        "sprayed": bool(sprayed) or any(k.sprayed for k in kinds),
        "aerosol": any(k.can for k in kinds),
        "solvent": any(k.medium == "solvent" for k in kinds),
        "dryer": room is not None and room.dryer,
        "metals": bool(marked),
        "unknown": bool(unknown),
        "sprayed-metals": bool(passes),
    }
    metals = metals_in(used, box)
    words = {
        "metals": ", ".join(metals),
        "held": ", ".join((*metals, *(["unknown pigments"] if unknown else []))),
        "paints": ", ".join(marked),
        "unknown": ", ".join(unknown),
        "passes": ", ".join(passes),
    }
    chosen = [row["text"] for row in caution_texts().values() if facts[row["when"]]]
    return tuple(text.format(**words) for text in chosen) + box.table.cautions


def short_cautions(cautions: Sequence[str]) -> tuple[str, ...]:
    """The same cautions as short as a step carries them, each once; those that have no short form as they are."""
    by_text = {row["text"]: row.get("short", row["text"]) for row in caution_texts().values()}
    # A text with names filled in is no row's own text any more, and stays whole.
    return tuple(dict.fromkeys(by_text.get(text, text) for text in cautions))
