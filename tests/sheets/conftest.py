"""Plans and PDFs that several sheet tests read."""

from pathlib import Path

import pytest
from sheet_plans import extreme_plan, make_plan

from finishplan.plan import Plan
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
    from finishplan import load_job, make_plan, read_drawing

    file = EXAMPLES / "newt.toml"
    job = load_job(file) if file.is_file() else None
    return make_plan(read_drawing(EXAMPLES / "newt.png"), job, cache=False)


@pytest.fixture(scope="session")
def newt_pdf(newt: Plan) -> bytes:
    return pdf_bytes(newt)


@pytest.fixture(scope="session", params=range(20))
def extreme(request: pytest.FixtureRequest) -> tuple[Plan, str, bytes]:
    """(plan, paper, PDF) of a random extreme; every second on Letter, every third in grey."""
    plan = extreme_plan(request.param)
    paper = "letter" if request.param % 2 else "a4"
    return plan, paper, pdf_bytes(plan, paper=paper, grey=request.param % 3 == 2)
