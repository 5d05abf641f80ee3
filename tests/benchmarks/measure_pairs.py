"""The whole plan of the 12-megapixel newt by two states of the program, in turn, with every process that they begin.

    python tests/benchmarks/measure_pairs.py ROOT_THEN ROOT_NOW [pairs=5] [cold]

ROOT: a checkout. Each row is wall seconds and processor seconds (user and system) of all processes, those that outlive
the command too: this process adopts them (prctl(2), PR_SET_CHILD_SUBREAPER; Linux). Byte code is kept, as where the
program is installed. cold: with an empty cache of recipes each time.
"""

import ctypes
import os
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from bench_plan import ENLARGE, NEWT

SUBREAPER = 36
"""PR_SET_CHILD_SUBREAPER, linux/prctl.h."""


def timed(root: Path, picture: Path, folder: Path) -> tuple[float, float]:
    """Wall and processor seconds of the plan by the program at that root; folder: for its cache and its files."""
    shutil.rmtree(folder / "out", ignore_errors=True)
    env = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    env |= {"PYTHONPATH": str(root), "XDG_CACHE_HOME": str(folder), "PYTHONPYCACHEPREFIX": str(folder.parent / "pyc")}
    command = [sys.executable, "-m", "finishplan", "plan", str(picture), "--castings", "12", "--quiet"]
    start = time.perf_counter()
    running = subprocess.Popen([*command, "--out", str(folder / "out")], cwd=root, env=env, stderr=subprocess.DEVNULL)
    _, status, used = os.wait4(running.pid, 0)
    wall, total = time.perf_counter() - start, used.ru_utime + used.ru_stime
    running.returncode = os.waitstatus_to_exitcode(status)
    assert running.returncode == 0, root
    while True:
        try:
            used = os.wait4(-1, 0)[2]
        except ChildProcessError:
            return wall, total
        total += used.ru_utime + used.ru_stime


def main(then: Path, now: Path, pairs: int, cold: bool) -> None:
    """A row for each pair, then the medians."""
    ctypes.CDLL(None).prctl(SUBREAPER, 1, 0, 0, 0)
    with tempfile.TemporaryDirectory() as name:
        picture, places = Path(name) / "newt.png", {root: Path(name) / f"{k}" for k, root in enumerate((then, now))}
        subprocess.run([sys.executable, "-c", ENLARGE, str(NEWT), str(picture)], check=True)
        for root, folder in places.items():
            timed(root, picture, folder)
        rows: list[tuple[float, ...]] = []
        print("wall then, now | processor then, now | ratios | load")
        for _ in range(pairs):
            row: list[float] = []
            for root, folder in places.items():
                if cold:
                    shutil.rmtree(folder)
                row += timed(root, picture, folder)
            rows.append((row[0], row[2], row[1], row[3], row[2] / row[0], row[3] / row[1]))
            print(_told(rows[-1]), f"| {os.getloadavg()[0]:.1f}", flush=True)
        print("median:", _told([statistics.median(column) for column in zip(*rows, strict=True)]))


def _told(row: "tuple[float, ...] | list[float]") -> str:
    return "{:.2f}, {:.2f} | {:.2f}, {:.2f} | {:.2f}, {:.2f}".format(*row)


if __name__ == "__main__":
    roots = [Path(root).resolve() for root in sys.argv[1:3]]
    main(roots[0], roots[1], int(sys.argv[3]) if len(sys.argv) > 3 else 5, "cold" in sys.argv[4:])
