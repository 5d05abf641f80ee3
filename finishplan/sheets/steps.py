"""From the mould to the finished figure: every step with a box to tick, and beside it what can hurt."""

from dataclasses import replace

from finishplan.basics.words import counted, duration
from finishplan.bench.model import Step
from finishplan.sheets import look as lk
from finishplan.sheets.given import Given
from finishplan.sheets.look import MM, NOTE, READ, SIGN
from finishplan.sheets.marks import tick
from finishplan.sheets.page import Block, Page, beside, pages_of, rich, ruled, snapped, stack, tight, words
from finishplan.sheets.words import sentence

SECTION = "From mould to finished figure"


def step_pages(given: Given) -> list[Page]:
    """Every step in two columns; the passes, told elsewhere, in one line."""
    look, steps = given.look, given.plan.steps
    if not steps:
        return []
    passes = [s for s in steps if s.kind == "painting" and s.key.startswith("pass")]
    said: set[str] = set()
    blocks = []
    for step in (s for s in steps if s not in passes[1:]):
        # A caution stands at the first step that it concerns, not at every one.
        fresh = [c for c in step.cautions if c not in said]
        said.update(fresh)
        together = step in passes and len(passes) > 1
        numbers = f"{step.no}–{passes[-1].no}" if together else str(step.no)
        step = replace(step, cautions=tuple(fresh))
        blocks.append(_step(given, _all_passes(given, passes, step) if together else step, numbers))
    title = snapped(words(look, SECTION, look.measure, SIGN, face="heavy"), 6)
    return pages_of(look, SECTION, blocks, 2, title)


def _all_passes(given: Given, passes: list[Step], first: Step) -> Step:
    """The passes as one step, with what the run spends on them."""
    run = given.plan.run
    # From the run, which knows of mixing and turning too; a casting's share of both hangs on all of it.
    spent = sum(t.end_min - t.start_min for t in run.tasks if t.pass_no) / max(run.castings, 1)
    text = f"Paint {counted(len(passes), 'pass')}: the wall sheet and the evening pages"
    return replace(first, text=text, minutes=spent, wait_min=0.0, why="")


def _step(given: Given, step: Step, numbers: str) -> Block:
    look, wide = given.look, given.look.span(1, 2)
    each = " each" if given.plan.run.castings > 1 else ""
    time = [f"{duration(step.minutes)}{each}"] if step.minutes else []
    time += [f"{'then ' if time else ''}wait {duration(step.wait_min, up=True)}"] if step.wait_min else []
    left = 17 * MM
    text = [tight(look, sentence(step.text), wide - left)]
    if step.cautions:
        told = " ".join(sentence(c) for c in step.cautions)
        text.append(rich(look, f"{look.mark('Caution:', 'strong')} {look.mark(told)}", wide - left, NOTE))
    text += [words(look, ", ".join(time), wide - left, NOTE, colour=lk.QUIET)] if time else []
    number = words(look, numbers, 12 * MM, READ, face="heavy", leading=12.25)
    return ruled(look, beside((0.0, tick(look, 3.2 * MM)), (5 * MM, number), (left, stack(text))), wide, 2.5)
