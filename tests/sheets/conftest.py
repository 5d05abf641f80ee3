"""Plans and PDFs that several sheet tests read."""

import dataclasses
from pathlib import Path

import pytest
from read_back import pages
from sheet_plans import extreme_plan, make_plan

from finishplan.plan.plan import Plan
from finishplan.sheets import first_page, painting_order
from finishplan.sheets.book import pdf_bytes

EXAMPLES = Path(__file__).parents[2] / "examples"


@pytest.fixture(scope="session")
def plan() -> Plan:
    return make_plan()


@pytest.fixture(scope="session")
def pdf(plan: Plan) -> bytes:
    return pdf_bytes(plan)


@pytest.fixture(scope="session")
def newt() -> Plan:
    """The example, twelve castings of it."""
    from finishplan import load_job, make_plan, read_drawing

    job = load_job(EXAMPLES / "newt.toml")
    job = dataclasses.replace(job, run=dataclasses.replace(job.run, castings=12))
    return make_plan(read_drawing(EXAMPLES / "newt.png"), job, cache=False)


@pytest.fixture(scope="session")
def blended() -> Plan:
    """Six newts whose tail runs softly into its fin, with the maker's words for two passes and a hair dryer."""
    from finishplan import make_plan, read_drawing
    from finishplan.job.job import parse_job

    text = (EXAMPLES / "newt.toml").read_text().replace("[run]", "[run]\ncastings = 6\nsearch_s = 0.1", 1)
    text += '[edges."40-44"]\ntreat = "blend"\n[room]\ndryer = true\n'
    text += '[steps.pass-3]\ntext = "Mind the lead line"\n[steps.pass-7]\ntext = "Mind the eyelids."\n'
    return make_plan(read_drawing(EXAMPLES / "newt.png"), parse_job(text), cache=False)


@pytest.fixture(scope="session")
def blended_pages(blended: Plan) -> dict[str, str]:
    """The words of the pages of each part of `blended`."""
    found = pages(pdf_bytes(blended, sheets=("order",)))
    starts = {p.name: f"Painting order: {p.name} " for p in blended.scheme.parts}
    return {name: " ".join(p.words for p in found if p.words.startswith(start)) for name, start in starts.items()}


@pytest.fixture(scope="session")
def newt_pdf(newt: Plan) -> bytes:
    return pdf_bytes(newt)


@pytest.fixture(scope="session", params=range(20))
def extreme(request: pytest.FixtureRequest) -> tuple[Plan, str, bytes]:
    """(plan, paper, PDF) of a random extreme; every second on Letter, every third in grey.

    With coarse pictures: what is checked is text and its places, and fine pictures take most of the time.
    """
    plan = extreme_plan(request.param)
    paper = "letter" if request.param % 2 else "a4"
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(painting_order, "MAIN_PX", 300)
        patch.setattr(painting_order, "STEP_PX", 110)
        patch.setattr(first_page, "FIGURE_PX", 300)
        return plan, paper, pdf_bytes(plan, paper=paper, grey=request.param % 3 == 2)
