"""What the colours, their mixes and their order rest on: constants that no key of the job changes."""

from finishplan.basics.assumption import Assumption
from finishplan.drawing.measure import DOT_MM
from finishplan.drying.kinds import paint_kind
from finishplan.drying.model import DryTimes
from finishplan.order.primer import TONES
from finishplan.order.rules import TIE_HIDING, TIE_L, TIE_SIZE
from finishplan.paint import trust
from finishplan.paint.aim import KNEE
from finishplan.paint.measuring import BRUSH_LOAD_ML, TIP_ML
from finishplan.paint.search import PREMIX_GAIN
from finishplan.paint.settings import LEAST_PREMIXED_ML, UNMIXED_WITHIN, MixSettings

COMMON, RULE = "common practice", "our rule"
SPREAD = "ten paints measured twice, years and batches apart (Berns, 2016; Okumura, 2005)"


def colour_assumptions(settings: MixSettings) -> tuple[Assumption, ...]:
    """Rows for aims, recipes, what a pot may be off by, primers and ties."""
    tones = ", ".join(f"{name} {value:g}" for name, value in TONES.items())
    return (
        Assumption("a colour at the end of the paints' reach is bent by", f"{KNEE:g}", "L*", RULE),
        Assumption("plain white or black is taken within", f"{settings.plain:g}", "CIEDE2000", RULE),
        Assumption("a second pre-mix must gain", f"{PREMIX_GAIN:g}", "CIEDE2000", RULE),
        Assumption("no pre-mix for less than", f"{LEAST_PREMIXED_ML:g}", "ml", RULE),
        Assumption("unless the colour without it is off by more than", f"{UNMIXED_WITHIN:g}", "CIEDE2000", RULE),
        Assumption("a brush load, a toothpick's tip", f"{BRUSH_LOAD_ML:g}, {TIP_ML:g}", "ml", COMMON),
        Assumption("a hand measures each part within", f"{100 * trust.HAND:g}", "%", COMMON),
        Assumption("tubes differ in strength by", f"{100 * trust.TUBE_STRENGTH:.0f}", "%", SPREAD),
        Assumption("tubes differ in hiding alone by", f"{100 * trust.TUBE_SCATTERING:.0f}", "%", SPREAD),
        Assumption("the formula of mixing is off by", f"{trust.MODEL_DELTA_E:g}", "CIEDE2000", "our choice"),
        Assumption("primers reflect", tones, "", COMMON),
        Assumption("two colours are as light within", f"{TIE_L:g}", "L*", RULE),
        Assumption("of these the one that hides better by this goes later", f"{TIE_HIDING:g}", "of 1", RULE),
        Assumption("else the one smaller by this factor", f"{TIE_SIZE:g}", "", RULE),
        Assumption("a spot is dotted on up to", f"{DOT_MM:g}", "mm", COMMON),
    )


def drying_assumptions(dry: DryTimes) -> tuple[Assumption, ...]:
    """Rows for the next coat and for handling, of a waterborne paint."""
    kind = paint_kind(dry.kind)
    return (
        Assumption("the next coat after", f"{kind.recoat:g}", "times touch dry", COMMON),
        Assumption("a piece may be handled after", f"{kind.handling:g}", "times touch dry", COMMON),
    )
