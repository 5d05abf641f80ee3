"""Every benchmark, one after the other, at a length one waits for: `python -m tests.benchmarks [NAME ...]`.

Each prints its own table; at the end stand the seconds and the peak memory of each, the libraries it is compared with
included.
"""

import os
import subprocess
import sys
import time
from pathlib import Path

RUNS = {
    "reading": ["bench_reading.py"],
    "sketches": ["bench_sketches.py", "--drawings", "3"],
    "recipes": ["bench_recipes.py", "--slsqp"],
    "order": ["bench_order.py"],
    "schedule": ["bench_schedule.py", "exact", "bound", "--runs", "6", "--seconds", "5"],
    "sheets": ["bench_sheets.py"],
    "plan": ["bench_plan.py"],
}
"""Each benchmark and what is asked of it here."""


def main(names: list[str]) -> None:
    """Run them and sum up."""
    folder, summed = Path(__file__).parent, []
    for name in names:
        print(f"\n== {' '.join(RUNS[name])}", flush=True)
        start = time.perf_counter()
        running = subprocess.Popen([sys.executable, str(folder / RUNS[name][0]), *RUNS[name][1:]])
        _, status, used = os.wait4(running.pid, 0)
        running.returncode = os.waitstatus_to_exitcode(status)
        assert running.returncode == 0, name
        summed.append((name, time.perf_counter() - start, used.ru_utime + used.ru_stime, used.ru_maxrss / 1024))
    print(f"\n{'':<10} wall s   cpu s  peak MB")
    for name, wall, cpu, peak in summed:
        print(f"{name:<10} {wall:6.0f} {cpu:7.0f} {peak:8.0f}")


if __name__ == "__main__":
    main(sys.argv[1:] or list(RUNS))
