"""What the amounts sheet and the wall sheet say of money and of a guessed size, and what the run's times leave out."""

from dataclasses import replace

import pytest
from read_back import pages
from small_plans import Size, make_plan

from finishplan.amounts.model import Quantity
from finishplan.amounts.resin import resin_quantities
from finishplan.bench.model import Step
from finishplan.job.settings import Resin
from finishplan.plan.left_out import left_out
from finishplan.run.model import Session, Task
from finishplan.sheets.amounts import bill
from finishplan.sheets.book import pdf_bytes
from finishplan.sheets.chart import LEAD, chart, key_of
from finishplan.sheets.given import given
from finishplan.sheets.look import Look
from finishplan.sheets.page import Block, pages_of, sparing
from finishplan.sheets.wall import height


def paint(ml: float, left: float | None, price: float | None) -> Quantity:
    return Quantity("paint", "w", "white", ml, ml, ml_left=left, price_per_ml=price).in_all(ml)


@pytest.mark.parametrize(
    ("paints", "told"),
    [
        # By hand: 3.3 ml short at 0.10; 8.3 ml at 0.10 and 9.4 ml at 0.20 used.
        (
            [paint(8.3, 5, 0.1), paint(9.4, 50, 0.2)],
            "To buy: about 0.33; the paint used is worth about 2.71, in the money of your box file.",
        ),
        ([paint(4.6, 5, 0.25)], "The paint used is worth about 1.15, in the money of your box file."),
        (
            [paint(4.6, 5, 0.25), paint(1, None, None)],
            "The paint used, as far as it has a price, is worth about 1.15, in the money of your box file.",
        ),
        ([paint(4.6, 5, None)], ""),
    ],
)
def test_only_what_is_short_is_to_be_bought(paints: list[Quantity], told: str) -> None:
    assert bill(paints) == told


def test_resin_is_told_by_weight() -> None:
    """By hand: 4 castings of 38 g and 9 g of sprue, 58.75 g for the first shot and 49.35 g for the others (our
    margins): 206.8 g, half of it part A; it is mixed by mass."""
    plan = make_plan(size=Size(1, 6, 3, 1))
    settings = replace(plan.run_settings, castings=4)
    plan = replace(plan, run=replace(plan.run, castings=4), quantities=resin_quantities(Resin(38, 9), settings))
    (page,) = pages(pdf_bytes(plan, sheets=("amounts",)))
    assert page.words.count("24.7 g · 104 g") == 2


def test_paints_of_several_figures_are_short_together() -> None:
    both = paint(3, 5, 0.1).in_all(7.04)
    assert (both.short_ml, both.buy_ml, both.note) == (pytest.approx(2.04), 2.1, "buy 2.1 ml")
    assert both.cost == pytest.approx(0.704) and both.buy_cost == pytest.approx(0.21)


def test_what_the_times_leave_out_is_told_for_the_whole_run() -> None:
    steps = (
        Step(1, "wash", "preparing", "", 1.5, 60, name="washing"),
        Step(2, "prime", "priming", "", 2, 0, name="priming"),
        Step(3, "pass-1", "painting", "", 9, 0),
        Step(4, "harden", "finishing", "", 0, 900, name="hardening"),
        Step(5, "varnish", "finishing", "", 23, 0, name="varnishing"),
    )
    plan = replace(make_plan(size=Size(2, 6, 3, 1)), steps=steps)
    twelve = replace(plan, run_settings=replace(plan.run_settings, castings=12))
    each = ": washing 18 min and varnishing 4 h 36 min; 4 h 54 min together."
    assert left_out([twelve]) == f"Not in these times, for all 12 castings{each}"
    one = replace(plan, run_settings=replace(plan.run_settings, castings=1))
    assert left_out([replace(one, steps=steps[:1])]) == "Not in these times: washing 2 min."
    assert left_out([twelve, one]).startswith("Not in these times, for all 13 castings: washing 20 min and varnishing ")
    assert left_out([replace(one, steps=steps[1:4])]) == ""


def test_a_height_that_nobody_told_is_called_a_guess() -> None:
    scheme = replace(make_plan(size=Size(1, 6, 3, 1)).scheme, height_mm=80.0)
    assert height(scheme) == "80 mm high"
    assert height(replace(scheme, height_told=False)) == "about 80 mm high: a guess, give --height-mm"
    assert "pieces guessed" in height(replace(scheme, guessed="its pieces are drawn apart"))


def test_the_chart_of_several_figures_tells_whose_pass_it_is() -> None:
    laid = given(make_plan(size=Size(1, 6, 3, 1)), Look())
    assert key_of(laid).endswith("3.2 is pass 3, coat 2.")
    figures = {"Moth": laid.plan, "Mole": laid.plan, "Toad": laid.plan}
    assert key_of(replace(laid, figures=figures)).endswith(
        "coat 2, Mot 3.2 of Moth, Mol 3.2 of Mole and Toa 3.2 of Toad."
    )


class Lines:
    """A canvas that keeps the lines drawn on it."""

    def __init__(self) -> None:
        self.drawn: list[tuple[float, ...]] = []

    def line(self, *ends: float) -> None:
        self.drawn.append(ends)

    def __getattr__(self, name: str) -> object:
        return lambda *_, **__: 0.0


def test_the_chart_shows_primer_drying_until_it_may_be_brushed_over() -> None:
    """Two coats of primer, 20 minutes between them, 90 until another paint (labels of cans); 100 minutes in all."""
    plan = make_plan(size=Size(1, 6, 3, 1))
    can = replace(plan.dry[0], recoat_min=20.0, over_min=90.0)
    primer = replace(plan.order.primer, coats=2)
    plan = replace(plan, dry=(can, *plan.dry[1:]), order=replace(plan.order, primer=primer))
    tasks = [Task(0, 1, 1, 1, "prime", coat=1), Task(21, 22, 1, 1, "prime", coat=2), Task(95, 100, 1, 1, "coat", 1, 1)]
    laid, canvas = given(plan, Look()), Lines()
    shown = chart(laid, Session(1, 0, 100), tasks, 200)
    assert shown is not None
    shown.draw(canvas, 0, 0)
    per_min = (laid.look.measure - LEAD) / 100
    along = [round((right - left) / per_min, 3) for left, low, right, high in canvas.drawn if low == high]
    assert along[:2] == [20, 78]  # the second is drawn to the end of the evening


@pytest.mark.parametrize(("blocks", "pages", "as_it_is"), [(20, 1, True), (22, 1, False), (24, 2, True), (36, 2, True)])
def test_a_section_is_drawn_smaller_only_where_that_spares_a_page(blocks: int, pages: int, as_it_is: bool) -> None:
    """Twenty blocks fill a page; at 0.89 of its size it holds 22."""
    look = Look()
    block = Block(100.0, look.depth / 20, lambda canvas, left, top: None)
    found = sparing(lambda new: pages_of(new, "Section", [block] * blocks), look)
    assert len(found) == pages
    assert (found[0].placed[0].block.width == pytest.approx(100.0)) == as_it_is
    assert all(p.lowest >= look.bottom - 0.01 for p in found)
