"""Plans and PDFs that several sheet tests read."""

import dataclasses
from pathlib import Path

import pytest
from read_back import Page, pages
from small_plans import EXTREMES, make_plan

from finishplan.plan.plan import Plan
from finishplan.sheets import KINDS, figure
from finishplan.sheets.book import pdf_bytes

EXAMPLES = Path(__file__).parents[2] / "examples"


@pytest.fixture(scope="session")
def plan() -> Plan:
    return make_plan()


@pytest.fixture(scope="session")
def pdf(plan: Plan) -> bytes:
    return pdf_bytes(plan, sheets=KINDS)


@pytest.fixture(scope="session")
def newt() -> Plan:
    """The example, twelve castings of it."""
    from finishplan import load_job, make_plan, read_drawing

    job = load_job(EXAMPLES / "newt.toml")
    job = dataclasses.replace(job, run=dataclasses.replace(job.run, castings=12, search_s=0.1))
    return make_plan(read_drawing(EXAMPLES / "newt.png"), job, cache=False)


@pytest.fixture(scope="session")
def newt_pdf(newt: Plan) -> bytes:
    return pdf_bytes(newt)


@pytest.fixture(scope="session")
def newt_pages(newt_pdf: bytes) -> list[Page]:
    return pages(newt_pdf)


@pytest.fixture(scope="session", params=EXTREMES)
def extreme(request: pytest.FixtureRequest) -> tuple[Plan, str, bytes]:
    """(plan, paper, PDF of all sheets) of an extreme; every second on Letter, every third in grey.

    With coarse pictures: what is checked is text and its places, and fine pictures take most of the time.
    """
    seed, size = EXTREMES[request.param]
    paper = "letter" if seed % 2 else "a4"
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(figure, "MAIN_PX", 240)
        patch.setattr(figure, "STEP_PX", 60)
        plan = make_plan(seed, size)
        return plan, paper, pdf_bytes(plan, sheets=KINDS, paper=paper, grey=seed % 3 == 2)
