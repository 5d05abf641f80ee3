"""finishplan: from a coloured drawing of a small cast figure to a painting order.

The functions of the everyday: find_sources and read_sources (a drawing with its job file), or read_drawing and
load_job one by one; make_plan; write_sheets. They are imported when first asked for, so that `import finishplan`
costs nothing.
"""

TYPE_CHECKING = False  # as typing's, which takes a moment to import
if TYPE_CHECKING:
    from finishplan.drawing import read_drawing
    from finishplan.job.job import Job, load_job
    from finishplan.plan.inputs import find_sources, read_sources
    from finishplan.plan.plan import Plan, make_plan
    from finishplan.sheets import write_sheets

__version__ = "0.1.0"
__all__ = ["Job", "Plan", "find_sources", "load_job", "make_plan", "read_drawing", "read_sources", "write_sheets"]

_HOME = {
    "read_drawing": "drawing",
    "find_sources": "plan.inputs",
    "read_sources": "plan.inputs",
    "Job": "job.job",
    "load_job": "job.job",
    "Plan": "plan.plan",
    "make_plan": "plan.plan",
    "write_sheets": "sheets",
}


def __getattr__(name: str) -> object:
    if name not in _HOME:
        raise AttributeError(f"finishplan has no '{name}'")
    from importlib import import_module

    return getattr(import_module(f"finishplan.{_HOME[name]}"), name)
