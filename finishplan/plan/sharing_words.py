"""What is said of shared pots: how many other tolerances would take, and whether fewer could do."""

from collections.abc import Sequence

from finishplan.basics.words import counted


def exchange(pots: Sequence[tuple[float, int]], within: float) -> str:
    """'17 pots: within 2; 16: within 4; 14: within 5', the tightest tolerance for each number, that of the plan
    named; '' where all take the same."""
    numbers = dict.fromkeys(n for _, n in pots)
    if len(numbers) < 2:
        return ""
    tightest = {n: min(limit for limit, m in pots if m == n) for n in numbers}
    told = [f"{f'{n} pots' if k == 0 else n}: within {limit:g}" for k, (n, limit) in enumerate(tightest.items())]
    return f"{'; '.join(told)} of the colours drawn (CIEDE2000; now {within:g})"


def unproven(mixes: int, least: int) -> str:
    """'Fewer mixes may do: 31 here, 29 at least.', '' where none can."""
    return f"Fewer mixes may do: {mixes} here, {counted(least, 'mix', 'mixes')} at least." if 0 < least < mixes else ""
