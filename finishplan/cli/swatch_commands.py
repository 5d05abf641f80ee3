"""The commands of the swatch card: print it, read photographs of it."""

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from finishplan.basics.words import counted
from finishplan.cli import groups as g
from finishplan.cli import terminal

if TYPE_CHECKING:
    from finishplan.paint.model import Box
    from finishplan.photo.layout import CardPage
    from finishplan.photo.model import Calibration

app = typer.Typer(invoke_without_command=True, help="Your own paints, learned from a photograph of a swatch card.")


@app.callback()
@g.grouped
def swatches(context: typer.Context, card: g.Card, how: g.Printed) -> None:
    """Print the swatch card, on which you paint each of your tubes; with --mixes a page for dabs of your pots."""
    # Typer calls this before `swatches read` too, with options of its own that nobody gave.
    if context.invoked_subcommand is not None:
        return
    from finishplan.basics.files import write_whole
    from finishplan.photo.layout import card_json
    from finishplan.sheets.swatch_card import swatch_card_pdf

    if card.mixes is None:
        from finishplan.photo.card import card_pages

        pages, name = card_pages(_box(card), card.paper.lower()), "swatch-card"
    else:
        pages, name = _dab_pages(card.mixes, card, how), "dab-page"
    target = card.out or Path(f"{name}.pdf")
    title = "Swatch card" if card.mixes is None else "Dabs"
    write_whole(target, swatch_card_pdf(pages, _dry_min(card.temperature, card.humidity), title))
    if how.json:
        import json

        print(json.dumps([card_json(p) for p in pages], indent=1, ensure_ascii=False))
    elif not how.quiet:
        terminal.say(f"Written: {target} ({counted(len(pages), 'page')}). Print it at 100 %.")
        own = f" --paints {card.paints}" if card.paints else ""
        then = "swatches read PHOTO.jpg" if card.mixes is None else f"correct {card.mixes} MIX PHOTO.jpg"
        terminal.say(f"Then: finishplan {then}{own}")


def _dry_min(temperature: float | None, humidity: float | None) -> float:
    """How long the thickest field dries: twice what a coat needs before it may be touched (our rule)."""
    from finishplan.drying.times import dry_times
    from finishplan.job.settings import Room

    # No job is read for a card, so there is no room but the usual one.
    usual = Room()
    warmth = usual.temperature_c if temperature is None else temperature
    return (
        2 * dry_times("acrylic", None, Room(warmth, usual.humidity_pct if humidity is None else humidity)).handling_min
    )


@app.command()
@g.grouped
def read(
    photo: Annotated[list[Path], typer.Argument(metavar="PHOTO...", help="Photographs of the painted card.")],
    card: g.PaintedCard,
    how: g.Printed,
) -> None:
    """Learn your tubes from photographs of the painted card, and write them as a box file."""
    from finishplan.basics.files import write_together
    from finishplan.photo.box_file import learned_box_text
    from finishplan.photo.card import card_pages
    from finishplan.photo.chart import corners_of
    from finishplan.photo.layout import on_papers
    from finishplan.photo.read import learn_box, read_photo
    from finishplan.photo.told import not_read
    from finishplan.sheets.swatch_card import seen_picture

    box = _box(card)
    pages = on_papers(lambda one: card_pages(box, one), card.paper and card.paper.lower())
    corners = corners_of(card.chart) if card.chart is not None else None
    # Of several pictures the chart is in the first, as --chart says.
    shown = [read_photo(p, pages, corners if i == 0 else None) for i, p in enumerate(photo)]
    learned = learn_box(shown, box)
    names = {p.id: p.name for p in box.paints}
    for one in shown:
        if one.shot.left_out:
            terminal.warn(f"{one.path}: not read: {not_read(one.shot, names)}")
    target = card.out or Path("swatches.toml")
    text = learned_box_text(learned, box, card.date or date.today().isoformat())
    write_together({target: text, target.with_suffix(".png"): seen_picture(learned)})
    if how.json:
        import json

        print(json.dumps(_figures(learned), indent=1, ensure_ascii=False))
    elif not how.quiet:
        _tell(learned, target)


def _dab_pages(job: Path, card: g.Card, how: g.Printed) -> "tuple[CardPage, ...]":
    from finishplan.cli.correct_command import planned
    from finishplan.cli.sources import sources_of
    from finishplan.photo.dab_page import Dab, dab_pages

    sources = sources_of(job, None, {"paints": card.paints, "table": card.table})
    with sources.naming():
        painting, box = planned(sources, how.manner())
    return dab_pages(box, [Dab(m.id, m.name) for m in painting.mixes], card.paper.lower())


def _box(paints: g.PaintBox) -> "Box":
    from finishplan.paint.box import load_box

    return load_box(paints.table, None, paints.paints)


def _tell(learned: "Calibration", target: Path) -> None:
    from finishplan.photo.told import difference

    rows: list[list[Any]] = [
        [t.paint.name, difference(t), f"{2 * t.uncertainty:.1f}", f"{t.coat_um:.0f} µm" if t.coat_um else "-"]
        for t in learned.tubes
    ]
    terminal.table(["paint", "beside the table's", "sure to within", "your thin coat"], rows)
    terminal.say(f"The fields fit together within {learned.misfit:.1f} (CIEDE2000; 1 is just visible).")
    terminal.say(f"Written: {target}, {target.with_suffix('.png')}")
    terminal.say(f"Use them: finishplan plan DRAWING --paints {target}")


def _figures(learned: "Calibration") -> dict[str, Any]:
    from finishplan.photo.told import difference

    return {
        "misfit": round(learned.misfit, 3),
        "tubes": [
            {
                "paint": t.paint.id,
                "name": t.paint.name,
                "K": [float(f"{v:.5g}") for v in t.paint.K],
                "S": [float(f"{v:.5g}") for v in t.paint.S],
                "lab": [round(v, 2) for v in t.lab],
                "tint_lab": [round(v, 2) for v in t.tint_lab],
                "table_lab": [round(v, 2) for v in t.table_lab],
                "table_tint_lab": [round(v, 2) for v in t.table_tint_lab],
                "strength": round(t.strength, 3),
                "scattering": round(t.scattering, 3),
                "uncertainty": round(t.uncertainty, 2),
                "coat_um": None if t.coat_um is None else round(t.coat_um, 1),
                "difference": difference(t),
            }
            for t in learned.tubes
        ],
    }
