"""The work at the bench that no time of the run holds, in one sentence."""

from collections.abc import Sequence

from finishplan.basics.words import duration, listed
from finishplan.plan.plan import Painting

IN_THE_RUN = "prime"
"""The one step beside the passes that the run has time for, or tells of by itself."""


def left_out(figures: Sequence[Painting]) -> str:
    """'Not in these times, for all 12 castings: washing 17 min and varnishing 1 h 33 min; 1 h 50 min together.', of the
    figures of one run; '' where nothing is left out."""
    spent: dict[str, float] = {}
    for one in figures:
        for step in one.steps:
            if step.name and step.key != IN_THE_RUN and step.minutes:
                spent[step.name] = spent.get(step.name, 0.0) + step.minutes * one.run_settings.castings
    if not spent:
        return ""
    castings = sum(one.run_settings.castings for one in figures)
    whose = {1: "", 2: ", for both castings"}.get(castings, f", for all {castings} castings")
    told = listed(f"{name} {duration(minutes, days=False)}" for name, minutes in spent.items())
    total = f"; {duration(sum(spent.values()), days=False)} together" if len(spent) > 1 else ""
    return f"Not in these times{whose}: {told}{total}."
