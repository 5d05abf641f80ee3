"""Pages that are not printed unless asked for: why each pass stands where it stands, and every caution in full."""

from finishplan.sheets import look as lk
from finishplan.sheets.given import Given
from finishplan.sheets.look import MM, NOTE, READ, SIGN
from finishplan.sheets.marks import swatch
from finishplan.sheets.page import Block, Page, beside, pages_of, rich, ruled, snapped, stack, words
from finishplan.sheets.words import amount, sentence

REASONS, CAUTIONS = "Reasons", "Cautions"


def reason_pages(given: Given) -> list[Page]:
    """Pass by pass and part by part: why, and what to do at every edge; then the notes and every assumption."""
    look, plan = given.look, given.plan
    title = snapped(words(look, "Why this order", look.measure, SIGN, face="heavy"), 4)
    primer = words(look, sentence(f"Primer {plan.order.primer.name}: {plan.order.primer.why}"), look.span(1, 2))
    blocks = [snapped(primer, 4), *(_pass(given, no) for no in given.passes)]
    # Drawing, order and plan may note the same thing: it is printed once.
    notes = dict.fromkeys((*plan.scheme.notes, *plan.order.notes, *plan.notes))
    blocks += [snapped(words(look, sentence(text), look.span(1, 2), NOTE), 2) for text in notes]
    blocks += [_assumption(given, k) for k in range(len(plan.assumptions))]
    return pages_of(look, REASONS, blocks, 2, title)


def _pass(given: Given, no: int) -> Block:
    look, wide = given.look, given.look.span(1, 2)
    mix = given.mixes[given.passes[no].mix]
    head = beside(
        (0.0, words(look, str(no), 10 * MM, READ, face="heavy", colour=lk.ACCENT)),
        (9 * MM, swatch(look, mix.hex, (8 * MM, 4 * MM), mix.id, NOTE)),
        (19 * MM, words(look, mix.name, wide - 19 * MM, READ, face="strong")),
    )
    lines = []
    for one in (p for p in given.done if p.pass_no == no):
        why = " ".join(sentence(text) for text in one.why)
        lines.append(rich(look, f"{look.mark(one.part, 'strong')} {look.mark(why)}", wide, NOTE))
        edges = [f"{', '.join(map(str, ids))}: {text[0].lower()}{text[1:]}" for ids, text in one.told]
        lines += [words(look, " ".join(edges), wide, NOTE, colour=lk.QUIET)] if edges else []
    return ruled(look, stack([head, *lines]), wide, 2)


def _assumption(given: Given, k: int) -> Block:
    look, a = given.look, given.plan.assumptions[k]
    text = f"{look.mark(a.name)} {look.mark(amount(a.value, a.unit), 'strong')} {look.mark(f'({a.source})')}"
    return snapped(rich(look, text, look.span(1, 2), NOTE), 1)


def caution_pages(given: Given) -> list[Page]:
    """Every caution of the plan and of its paints in full."""
    look, wide = given.look, given.look.span(1, 2)
    paints = dict.fromkeys(c for w in given.wells.values() for c in w.cautions)
    lines = [*given.plan.cautions, *paints]
    title = snapped(words(look, "Cautions", look.measure, SIGN, face="heavy"), 4)
    return pages_of(look, CAUTIONS, [snapped(words(look, sentence(c), wide), 4) for c in lines], 2, title)
