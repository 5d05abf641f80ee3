"""Answers that several routes give: the state of the job, a problem."""

from typing import Any

from starlette.responses import JSONResponse

from finishplan.basics.errors import InputError
from finishplan.page.desk import State
from finishplan.page.planning import told
from finishplan.page.views import job_view


def of_state(state: State) -> dict[str, Any]:
    """The job as data, its revision, and whether there is a step to undo or redo."""
    return {
        "revision": state.revision,
        "job": job_view(state.text),
        "can_undo": state.can_undo,
        "can_redo": state.can_redo,
    }


def of_problem(error: Exception, status: int) -> JSONResponse:
    """An error as the page shows it: what, where, cure."""
    said = told(error) if isinstance(error, InputError) else {"what": str(error), "where": "", "cure": ""}
    return JSONResponse({"problem": said}, status_code=status)
