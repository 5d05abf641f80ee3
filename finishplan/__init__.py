"""finishplan: from a coloured drawing of a small cast figure to a painting order.

The everyday: find_sources and read_sources (a drawing with its job file), make_plan, write_sheets. The stages one by
one: read_drawing, build_scheme, choose_mixes, order_passes, plan_painting, plan_run, plan_amounts, whole_plan; Planner
plans a changed job again. From photographs: card_pages, read_photo, learn_box, dab_pages, read_dabs, correct. All
raise InputError. Each is imported when it is first asked for, so that `import finishplan` costs nothing.
"""

TYPE_CHECKING = False  # as typing's, which takes a moment to import
if TYPE_CHECKING:
    from finishplan.basics.errors import InputError
    from finishplan.drawing import read_drawing
    from finishplan.job.edit import edit_job
    from finishplan.job.job import Job
    from finishplan.job.read import load_job, parse_job
    from finishplan.paint.box import load_box
    from finishplan.photo.box_file import learned_box_text
    from finishplan.photo.card import card_pages
    from finishplan.photo.correct import correct
    from finishplan.photo.dab_page import dab_pages
    from finishplan.photo.read import learn_box, read_dabs, read_photo
    from finishplan.plan.inputs import find_sources, read_sources
    from finishplan.plan.plan import Materials, Mixes, Painting, Plan
    from finishplan.plan.plan_json import plan_json, plan_json_text
    from finishplan.plan.planner import Planner, make_plan
    from finishplan.plan.settings import coats_dry, mix_settings, order_settings
    from finishplan.plan.stages import (
        choose_mixes,
        order_passes,
        plan_amounts,
        plan_painting,
        plan_run,
        whole_plan,
        with_names,
    )
    from finishplan.scheme.build import build_scheme
    from finishplan.sheets import write_sheets

__version__ = "0.1.0"
__all__ = [
    "InputError",
    "Job",
    "Materials",
    "Mixes",
    "Painting",
    "Plan",
    "Planner",
    "build_scheme",
    "card_pages",
    "choose_mixes",
    "coats_dry",
    "correct",
    "dab_pages",
    "edit_job",
    "find_sources",
    "learn_box",
    "learned_box_text",
    "load_box",
    "load_job",
    "make_plan",
    "mix_settings",
    "order_passes",
    "order_settings",
    "parse_job",
    "plan_amounts",
    "plan_json",
    "plan_json_text",
    "plan_painting",
    "plan_run",
    "read_dabs",
    "read_drawing",
    "read_photo",
    "read_sources",
    "whole_plan",
    "with_names",
    "write_sheets",
]

_ROOMS = {
    "basics.errors": ("InputError",),
    "drawing": ("read_drawing",),
    "job.edit": ("edit_job",),
    "job.job": ("Job",),
    "job.read": ("load_job", "parse_job"),
    "paint.box": ("load_box",),
    "photo.box_file": ("learned_box_text",),
    "photo.card": ("card_pages",),
    "photo.correct": ("correct",),
    "photo.dab_page": ("dab_pages",),
    "photo.read": ("learn_box", "read_dabs", "read_photo"),
    "plan.inputs": ("find_sources", "read_sources"),
    "plan.plan": ("Materials", "Mixes", "Painting", "Plan"),
    "plan.plan_json": ("plan_json", "plan_json_text"),
    "plan.planner": ("Planner", "make_plan"),
    "plan.settings": ("coats_dry", "mix_settings", "order_settings"),
    "plan.stages": (
        "choose_mixes",
        "order_passes",
        "plan_amounts",
        "plan_painting",
        "plan_run",
        "whole_plan",
        "with_names",
    ),
    "scheme.build": ("build_scheme",),
    "sheets": ("write_sheets",),
}
_HOME = {name: room for room, names in _ROOMS.items() for name in names}


def __getattr__(name: str) -> object:
    if name not in _HOME:
        raise AttributeError(f"finishplan has no '{name}'")
    from importlib import import_module

    return getattr(import_module(f"finishplan.{_HOME[name]}"), name)
