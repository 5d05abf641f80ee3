"""What every sheet is given: the finished plan, its passes part by part, its wells, the look and the pictures."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from finishplan.order.model import Pass
from finishplan.paint.model import Mix
from finishplan.plan.part_passes import PartPass
from finishplan.plan.plan import Plan
from finishplan.plan.well import Well
from finishplan.sheets.figure import Pictures
from finishplan.sheets.look import Look


@dataclass(frozen=True, eq=False)
class Given:
    """One plan to print. mixes, wells: by the mix's id; passes: by number; done: what each pass does on each part.
    figures: of a run of several, by name, each with that run."""

    plan: Plan
    look: Look
    mixes: dict[str, Mix]
    wells: dict[str, Well]
    passes: dict[int, Pass]
    done: tuple[PartPass, ...]
    pictures: Pictures
    figures: Mapping[str, Plan] = field(default_factory=dict)

    def plan_of(self, figure: str) -> Plan:
        """The plan by which a figure's tasks are told."""
        return self.figures.get(figure, self.plan)


def given(plan: Plan, look: Look, pictures: Pictures | None = None) -> Given:
    """The plan laid ready for its sheets. pictures: made ahead, of the same painting."""
    return Given(
        plan,
        look,
        {m.id: m for m in (*plan.mixes, *plan.order.extra_mixes)},
        {w.mix: w for w in plan.wells},
        {p.no: p for p in plan.order.passes},
        plan.part_passes,
        pictures or Pictures(plan, look),
    )
