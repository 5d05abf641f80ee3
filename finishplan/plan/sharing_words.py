"""What is said of shared pots: how many other tolerances would take, and whether fewer could do."""

from collections.abc import Sequence

from finishplan.basics.words import counted

ERROR_LEGEND = (
    "Colour error: 1 is just visible side by side, 5 plainly different; your tubes may add the expected spread."
)
"""CIEDE2000 in plain words (our words; 1 is about what is just seen side by side: common practice)."""


def exchange(pots: Sequence[tuple[float, int]], within: float) -> str:
    """'16 pots here. With 15 a colour would be up to 5 off (plainly different); with 17 all within 1 (just visible).'

    pots: (tolerance, pots that it takes); the tightest is told for each number. '' where all take the same.
    """
    numbers = sorted({n for _, n in pots})
    if len(numbers) < 2:
        return ""
    tightest = {n: min(limit for limit, m in pots if m == n) for n in numbers}
    here = min((n for limit, n in pots if limit <= within), default=0)
    told: list[str] = []
    for n in (n for n in reversed(numbers) if not here or n < here):
        words = ", with {}{}" if told else "with {}{} a colour would be"
        off = _off(tightest[n], "" if told else " off")
        told.append(f"{words.format(n, '' if here or told else ' pots')} up to {off}")
    more = [f"with {n} all within {_off(tightest[n])}" for n in numbers if 0 < here < n]
    words = "; ".join([*(["".join(told)] if told else []), *more])
    return f"{f'{here} pots here. ' if here else ''}{words[0].upper()}{words[1:]}."


def _off(limit: float, off: str = "") -> str:
    seen = {1.0: " (just visible)", 5.0: " (plainly different)"}.get(limit, "")
    return f"{limit:g}{off}{seen}"


def unproven(mixes: int, least: int) -> str:
    """'Fewer mixes may do: 31 here, 29 at least.', '' where none can."""
    return f"Fewer mixes may do: {mixes} here, {counted(least, 'mix', 'mixes')} at least." if 0 < least < mixes else ""
