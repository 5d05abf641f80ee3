"""Mix cards: a quarter page each, four to a page, to be cut apart and kept with the pots."""

from typing import Any

from reportlab.platypus import FrameBreak, Spacer

from finishplan.basics.words import listed
from finishplan.paint.model import Mix
from finishplan.plan.plan import Plan
from finishplan.sheets import look as lk
from finishplan.sheets.blocks import ingredient_line, plate, swatch
from finishplan.sheets.columns import Columns
from finishplan.sheets.layout import CARD_PAD, Room, card_size, section
from finishplan.sheets.look import BIG, MM, NAME, NOTE, READ, Look
from finishplan.sheets.swatches import all_mixes, coats_over, ingredient_hex, pot_words, pots, premix_lines, taken_by
from finishplan.sheets.words import ml, number, sentence

PATCHES = (28 * MM, 22 * MM, 16 * MM)
"""Height of the patches of colour: the first that leaves all of a mix on one card."""


def card_story(plan: Plan, look: Look, wanted: frozenset[str] | None = None) -> list[Any]:
    """A card for each mix (of those wanted); a mix with much to say takes a second card."""
    mixes = [m for m in all_mixes(plan).values() if wanted is None or m.id in wanted]
    if not mixes:
        return []
    story: list[Any] = section("Mix cards", "cards")
    for k, mix in enumerate(mixes):
        for n, content in enumerate(_cards(plan, look, mix)):
            story += [FrameBreak()] * (k + n > 0) + content
    return story


def _cards(plan: Plan, look: Look, mix: Mix) -> list[list[Any]]:
    """The mix's content on one card, its patches lower where that is needed, else on as many cards as it takes."""
    ways = (_dealt(plan, look, mix, high) for high in PATCHES)
    tallest = next(ways)
    return tallest if len(tallest) == 1 else next((cards for cards in ways if len(cards) == 1), tallest)


def _dealt(plan: Plan, look: Look, mix: Mix, patches: float) -> list[list[Any]]:
    width, height = card_size(look)
    width, height = width - 2 * CARD_PAD, height - CARD_PAD - lk.FOOT
    cards: list[list[Any]] = []
    room = 0.0
    for flowable in _content(plan, look, mix, width, patches):
        need = flowable.wrapOn(None, width, 1e6)[1] + flowable.getSpaceBefore()
        if not cards or need > room:
            head = _head(plan, look, mix, width, again=bool(cards))
            cards.append(head)
            room = height - sum(f.wrapOn(None, width, 1e6)[1] for f in head)
        cards[-1].append(flowable)
        room -= need
    return cards


def _head(plan: Plan, look: Look, mix: Mix, width: float, again: bool) -> list[Any]:
    areas, under = taken_by(mix, plan)
    letter = look.para(mix.id, BIG, lk.ACCENT, "heavy", leading=25)
    named = [f"area{'s' * (len(areas) > 1)} {', '.join(map(str, areas))}"] * bool(areas)
    where = "; ".join([*named, *([f"undercoat on {listed(under)}"] * bool(under))])
    figure = look.fit(plan.scheme.name, "body", NOTE, 0.6 * (width - 18 * MM))
    name = look.para(f"{mix.name}, continued" if again else mix.name, NAME, face="strong")
    under = [look.para(figure if again else f"{figure} · {where}", NOTE, lk.QUIET)]
    return [Columns([(0, 17 * MM, [letter]), (18 * MM, width - 18 * MM, [name, *under])], 1e6), Spacer(1, 2 * MM)]


def _content(plan: Plan, look: Look, mix: Mix, width: float, patches: float) -> list[Any]:
    told = [*map(sentence, premix_lines(mix, plan)), *_accuracy(mix)]
    note = [look.para(text, NOTE, spaceBefore=2) for text in told]
    mind = [" ".join(map(sentence, hazards))] if (hazards := _hazards(plan, mix)) else []
    return [
        _drawdown(plan, look, mix, width, patches),
        Spacer(1, 2.5 * MM),
        *_recipe(plan, look, mix, width),
        Spacer(1, 1.5 * MM),
        _bar(plan, look, mix, width),
        Spacer(1, 1.5 * MM),
        *note,
        *(look.rich(f"{look.mark('Mind:', 'strong')} {look.mark(text)}", NOTE, spaceBefore=2) for text in mind),
    ]


def _drawdown(plan: Plan, look: Look, mix: Mix, width: float, high: float) -> Room:
    """One coat, two coats and full colour over a white and a black ground; beside it a blank to dab the real mix in."""
    caption, edge = 8.6 * MM, 3 * MM
    dab = 26 * MM
    card = width - dab - 2 * MM
    patch = (card - 2 * edge) / 4
    patches = [("1 coat", patch, coats_over(mix, plan, 1)), ("2 coats", patch, coats_over(mix, plan, 2)),
               ("full", 2 * patch, (mix.hex, mix.hex))]  # fmt: skip

    def draw(canvas: Any) -> None:
        for y, ground in ((caption + high / 2, lk.PAPER_WHITE), (caption, "#0d0d0d")):
            canvas.setFillColor(look.colour(ground))
            canvas.rect(0, y, card, high / 2, stroke=0, fill=1)
        x = edge / 2
        for name, wide, (white, black) in patches:
            for y, colour in ((caption + high / 2, white), (caption + edge / 2, black)):
                canvas.setFillColor(look.colour(colour))
                canvas.rect(x, y, wide, high / 2 - edge / 2, stroke=0, fill=1)
            canvas.setFillColor(look.colour(lk.QUIET))
            canvas.setFont(lk.FACES["body"], NOTE)
            canvas.drawCentredString(x + wide / 2, 2 + 4 * MM, name)
            x += wide + edge / 2
        canvas.setStrokeColor(look.colour(lk.QUIET))
        canvas.setLineWidth(0.5)
        canvas.rect(0, caption, card, high)
        canvas.setDash(2.5, 2)
        canvas.rect(card + 2 * MM, caption, dab, high)
        canvas.setDash()
        canvas.setFillColor(look.colour(lk.QUIET))
        canvas.drawCentredString(card / 2, 2, "upper half over white, lower half over black")
        canvas.drawCentredString(card + 2 * MM + dab / 2, 2 + 4 * MM, "dab the mix here")

    return Room(width, high + caption, draw)


def _recipe(plan: Plan, look: Look, mix: Mix, width: float) -> list[Any]:
    """Drops for one casting and for one pot of the run, paint by paint; one column where the run is one casting."""
    one, run = pots(mix, plan)
    alone = plan.run.castings == 1
    first, second, chip = 18 * MM, 0.0 if alone else 15 * MM, 6 * MM
    rest = first + second + chip

    def row(left: str, right: str, mark: list[Any], last: Any, size: float, face: lk.Face) -> Columns:
        cells = [
            look.para(text, size, lk.QUIET if face == "body" else lk.INK, face, alignment=2) for text in (left, right)
        ]
        columns = [(0.0, first - 3 * MM, cells[:1]), (first, second - 3 * MM, cells[1:]), (first + second, chip, mark)]
        return Columns([c for c in columns if c[1] > 0] + [(rest, width - rest, [last])], 1e6)

    often = pot_words(mix, plan)
    if run.weighed and not one.weighed:
        often = often.replace("grams", "drops or grams", 1)
    lines = [
        row(
            few,
            many,
            [Spacer(1, 1.2 * MM), swatch(look, ingredient_hex(i, plan), 4 * MM, 2.8 * MM)],
            ingredient_line(look, i),
            READ,
            "strong",
        )
        for few, many, i in zip(one.amounts, run.amounts, mix.recipe, strict=True)
    ]
    head = row(
        "1 casting", "the run" if run.times == 1 else "a pot", [], look.para(often, NOTE, lk.QUIET), NOTE, "body"
    )
    return [head, *lines, row(ml(one.ml), ml(run.ml), [], look.para("in a pot", NOTE, lk.QUIET), NOTE, "body")]


def _bar(plan: Plan, look: Look, mix: Mix, width: float) -> Room:
    """The parts of the recipe as lengths, in the recipe's order."""
    colours = [ingredient_hex(i, plan) for i in mix.recipe]
    parts = sum(i.parts for i in mix.recipe) or 1
    high = 6 * MM

    def draw(canvas: Any) -> None:
        x = 0.0
        canvas.setStrokeColor(look.colour(lk.INK))
        canvas.setLineWidth(0.5)
        for i, colour in zip(mix.recipe, colours, strict=True):
            wide = width * i.parts / parts
            canvas.setFillColor(look.colour(colour))
            canvas.rect(x, 0, wide, high, fill=1)
            if wide > look.width(str(i.parts), "strong", NOTE) + 6:
                plate(canvas, look, str(i.parts), x + wide / 2, high / 2)
            x += wide

    return Room(width, high, draw)


def _accuracy(mix: Mix) -> list[str]:
    lines = [
        f"Predicted {number(mix.delta_e)} from the aim, {number(mix.delta_e_a)} under lamplight (ΔE00; 1 is just "
        f"visible). Expect a real pot within about {number(mix.expect_within)}."
    ]
    if mix.drop_paint and mix.drop_delta_e:
        name = next((i.name for i in mix.recipe if i.paint == mix.drop_paint), mix.drop_paint)
        lines.append(f"One drop too many of {name} moves it by {number(mix.drop_delta_e)}.")
    if not mix.reachable:
        add = f" {mix.add_name} in the box would bring it within 2." if mix.add_paint else ""
        lines.append(f"This box cannot reach the drawn colour: it is the nearest mix.{add}")
    if mix.estimate:
        lines.append("An estimate: a paint in it was not measured. Try it on a scrap first.")
    if mix.merged_hex:
        lines.append(f"Also serves the drawn colours {listed(mix.merged_hex)}.")
    return lines


def _hazards(plan: Plan, mix: Mix) -> list[str]:
    """Cautions of the paints in a mix; those with the same thing to do are one: 'a; b: do not breathe the dust'."""
    used = {i.paint for i in mix.recipe} | {i.premix.into for i in mix.recipe if i.premix}
    subjects: dict[str, dict[str, None]] = {}
    for said in (h for p in plan.box.paints if p.id in used for h in p.hazards):
        subject, colon, do = said.partition(": ")
        subjects.setdefault(do if colon else subject, {})[subject if colon else ""] = None
    return ["; ".join(whose) + (": " if any(whose) else "") + do for do, whose in subjects.items()]
