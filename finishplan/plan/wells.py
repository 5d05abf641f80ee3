"""Every mix as it is made and lies on the palette: wells in the order of use, pots, the colours its swatches show."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

import numpy as np

from finishplan.amounts.model import Quantity
from finishplan.basics.words import listed
from finishplan.colour.film import film, inverse_saunderson, opaque, saunderson, surface
from finishplan.colour.hiding import CHART_WHITE
from finishplan.colour.light import hex_from_lab, lab
from finishplan.order.coats import coat_mm
from finishplan.paint.hazards import kept_from_spray
from finishplan.paint.measuring import let_down, let_down_words, measured_pot, small_unit
from finishplan.paint.model import Ingredient, Mix, Paint
from finishplan.plan.part_passes import mixes_of
from finishplan.plan.plan import Painting
from finishplan.plan.well import PotMade, Well
from finishplan.run.model import Run

_UNKNOWN = "#ffffff"
"""Shown for a paint that the box has not."""


def wells(painting: Painting, run: Run, amounts: Sequence[Quantity]) -> tuple[Well, ...]:
    """All mixes, each in its well, by the pass that opens it first."""
    first: dict[str, int] = {}
    for laid in painting.order.passes:
        # A mix lies open from the pass that first needs it, as undercoat or second colour too.
        for id in mixes_of(laid):
            first.setdefault(id, laid.no)
    last = len(painting.order.passes) + 1
    mixes = sorted((*painting.mixes, *painting.order.extra_mixes), key=lambda m: first.get(m.id, last))
    return tuple(_well(painting, run, amounts, mix, no) for no, mix in enumerate(mixes, 1))


def _well(painting: Painting, run: Run, amounts: Sequence[Quantity], mix: Mix, no: int) -> Well:
    passes = painting.order.passes
    beds = {w.area for p in passes for w in p.work if w.kind == "undercoat" and (w.mix or p.mix) == mix.id}
    coats = [_coats_over(painting, mix, n) for n in (1, 2)]
    need = next((q for q in amounts if (q.what, q.id) == ("mix", mix.id)), None)
    return Well(
        no=no,
        mix=mix.id,
        passes=tuple(p.no for p in passes if mix.id in mixes_of(p)),
        areas=tuple(sorted(i for i, k in painting.mix_of if painting.mixes[k].id == mix.id)),
        undercoats=tuple(sorted(beds)),
        ingredients=tuple((ingredient_name(i), _ingredient_hex(painting, i)) for i in mix.recipe),
        over_white=(coats[0][0], coats[1][0]),
        over_black=(coats[0][1], coats[1][1]),
        one=_small_pot(painting, mix, need.ml_per_casting if need else 0.0),
        pots=_pots(painting, run, mix),
        premixes=tuple(_premixes(painting, amounts, mix)),
        cautions=tuple(_cautions(painting, mix)),
        holds=kept_from_spray([mix], painting.box),
        last_pot=_last_pot(painting, mix),
    )


def _last_pot(painting: Painting, mix: Mix) -> str:
    """'last pot: 8 drops of titanium white and 3 of yellow ochre, its dab #a89977, 2.3 from the aim'."""
    made = next((p for p in painting.scheme.last_pots if p.mix == mix.name), None)
    if made is None:
        return ""
    names = {p.id: p.name for p in painting.box.paints}
    first, *others = (f"{amount:g}{{}} of {names.get(id, id)}" for id, amount in made.poured)
    what = listed([first.format(" drops"), *(o.format("") for o in others)])
    since = "; the recipe here is the corrected one" if made.added else ""
    return f"last pot: {what}, its dab {hex_from_lab(made.lab)}, {made.off:.1f} from the aim{since}"


def _seen(painting: Painting, internal: np.ndarray) -> str:
    k1, k2 = surface(painting.finish, painting.box.table.k1, painting.box.table.k2)
    return hex_from_lab(lab(saunderson(internal, k1, k2)))


def _coats_over(painting: Painting, mix: Mix, coats: int) -> tuple[str, str]:
    """'#rrggbb' of so many thin coats over the white and over the black of a card."""
    mm = coats * coat_mm(painting.method, painting.method.tool)
    grounds = (inverse_saunderson(CHART_WHITE, painting.box.table.k1, painting.box.table.k2), 0.0)
    white, black = (_seen(painting, film(mix.K, mix.S, mm, ground)) for ground in grounds)
    return white, black


def _ingredient_hex(painting: Painting, ingredient: Ingredient) -> str:
    """'#rrggbb' of a paint alone, or of a pre-mix, opaque."""
    paints = {p.id: p for p in painting.box.paints}
    pre = ingredient.premix
    made = {pre.paint: pre.parts, pre.into: pre.of} if pre else {ingredient.paint: 1}
    if not made.keys() <= paints.keys():
        return _UNKNOWN
    K, S = (sum(n * getattr(paints[id], name) for id, n in made.items()) for name in ("K", "S"))
    return _seen(painting, opaque(K, S))


def _density(ingredient: Ingredient, paints: Mapping[str, Paint]) -> float:
    """g/ml of an ingredient; a pre-mix weighs what it is made of."""
    # 1.2 g/ml is that of waterborne acrylics (drying/data/kinds.toml).
    own = paints[ingredient.paint].density if ingredient.paint in paints else 1.2
    pre = ingredient.premix
    if pre is None or pre.into not in paints:
        return own
    return (own * pre.parts + paints[pre.into].density * pre.of) / (pre.parts + pre.of)


def _small_pot(painting: Painting, mix: Mix, ml: float) -> PotMade:
    """The pot of one casting, in toothpick tips or brush loads where it takes less than a few drops."""
    unit, drop_ml = small_unit(mix, ml, painting.mix_settings.drop_ml)
    return replace(_pot(painting, mix, ml, drop_ml), unit=unit)


def _pot(painting: Painting, mix: Mix, ml: float, drop_ml: float) -> PotMade:
    """The smallest pot of whole drops that holds `ml`, made before any session."""
    each = measured_pot(mix, ml, drop_ml).each
    paints = {p.id: p for p in painting.box.paints}
    drops = tuple(each * i.parts for i in mix.recipe)
    grams = tuple(n * drop_ml * _density(i, paints) for n, i in zip(drops, mix.recipe, strict=True))
    return PotMade(0, 0.0, drops, grams, drop_ml)


def _pots(painting: Painting, run: Run, mix: Mix) -> tuple[PotMade, ...]:
    """The pots made in the run, in order of time."""
    made = [p for p in run.pots if p.mix == mix.id]
    starts, drop_ml = [s.start_min for s in run.sessions], painting.mix_settings.drop_ml

    def session(minute: float) -> int:
        # A pot may be mixed ahead, before the first evening begins; times are sums, so a hair's breadth is no
        # difference.
        return max(1, sum(start <= minute + 1e-6 for start in starts))

    return tuple(
        replace(_pot(painting, mix, p.drops * drop_ml, drop_ml), session=session(p.made_min), start_min=p.made_min)
        for p in made
    )


def ingredient_name(ingredient: Ingredient) -> str:
    """'yellow ochre', and of a pre-mix how strong it is, and in what if not in a white: 'red, pre-mixed 1:49'."""
    pre = ingredient.premix
    if pre is None:
        return ingredient.name
    # White is what paints are let down in; only another base is worth its letters.
    base = pre.into_name if "white" not in pre.into_name.lower() else ""
    return f"{ingredient.name}, pre-mixed {pre.parts}:{pre.of}" + (f" in {base}" if base else "")


def _premixes(painting: Painting, amounts: Sequence[Quantity], mix: Mix) -> Iterable[str]:
    """How each pre-mix of a mix is made: 'red, pre-mixed 1:49 in white: 1 drop into 9, 4 of that into 16'."""
    names = {p.id: p.name for p in painting.box.paints}
    made = {q.id: q for q in amounts if q.what == "premix"}
    for pre, name in {i.premix: ingredient_name(i) for i in mix.recipe if i.premix is not None}.items():
        base = names.get(pre.into, pre.into)
        whose = name if name.endswith(f" in {base}") else f"{name} in {base}"
        q = made.get(f"{pre.paint}:{pre.parts}:{pre.of}:{pre.into}")
        how = let_down_words(q.let_down if q else let_down(pre, 1))
        shared = f", for mixes {listed(q.mixes)} together" if q and len(q.mixes) > 1 else ""
        yield f"{whose}: {how}{shared}"


def _cautions(painting: Painting, mix: Mix) -> Iterable[str]:
    """Of the paints in a mix; those with the same thing to do are one: 'a; b: do not breathe the dust'."""
    used = {i.paint for i in mix.recipe} | {i.premix.into for i in mix.recipe if i.premix}
    subjects: dict[str, dict[str, None]] = {}
    for said in (h for p in painting.box.paints if p.id in used for h in p.hazards):
        subject, colon, do = said.partition(": ")
        # By what to do: on a card three paints with one caution are one line.
        subjects.setdefault(do if colon else subject, {})[subject if colon else ""] = None
    for do, whose in subjects.items():
        yield "; ".join(whose) + (": " if any(whose) else "") + do
