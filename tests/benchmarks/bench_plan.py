"""The whole `finishplan plan`, cold and warm, beside Pillow decoding and quantising the same drawing; and `--help`.

    python tests/benchmarks/bench_plan.py [repeats=5]

Targets: the newt at 12 megapixels with 12 castings within 2.5 times Pillow's decode and median cut, under 800 MB;
`--help` within 0.3 s of a bare Python. Each row is a process of its own, imports counted, the rows taken in turn: the
least wall and processor seconds, the greatest peak of memory. Cold: an empty cache of recipes each time.
"""

import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

NEWT = Path(__file__).resolve().parents[2] / "examples" / "newt.png"
PILLOW = "from PIL import Image; Image.open({!r}).convert('RGB').quantize(32, Image.Quantize.MEDIANCUT)"
ENLARGE = """import sys
from PIL import Image
newt = Image.open(sys.argv[1])
scale = (12e6 / (newt.width * newt.height)) ** 0.5
newt.resize((round(newt.width * scale), round(newt.height * scale)), Image.Resampling.BICUBIC).save(sys.argv[2])"""
"""In a process of its own: a process starts with the memory of the one that starts it."""
BESIDE = "Pillow: decode, median cut, 12 megapixels"


def timed(command: list[str], cache: Path) -> tuple[float, float, float]:
    """Wall seconds, processor seconds and peak MB of one command."""
    kept = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}  # as installed
    start = time.perf_counter()
    running = subprocess.Popen(command, stdout=subprocess.DEVNULL, env=kept | {"XDG_CACHE_HOME": str(cache)})
    _, status, used = os.wait4(running.pid, 0)
    running.returncode = os.waitstatus_to_exitcode(status)
    assert running.returncode == 0, command
    return time.perf_counter() - start, used.ru_utime + used.ru_stime, used.ru_maxrss / 1024


def main(repeats: int) -> None:
    """A line for each command."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        large = folder / "newt.png"
        subprocess.run([sys.executable, "-c", ENLARGE, str(NEWT), str(large)], check=True)
        finishplan = [sys.executable, "-m", "finishplan"]
        plan = [*finishplan, "plan", str(large), "--castings", "12", "--out", str(folder / "out"), "--quiet"]
        rows = {
            "bare Python": [sys.executable, "-c", "pass"],
            "finishplan --help": [*finishplan, "--help"],
            BESIDE: [sys.executable, "-c", PILLOW.format(str(large))],
            "plan, 12 megapixels, 12 castings, cold": plan,
            "plan, 12 megapixels, 12 castings, warm": plan,
            "plan of the newt as shipped, 12 castings": [*finishplan, "plan", str(NEWT), *plan[5:]],
        }
        timed(plan, folder / "warm")
        found: dict[str, list[tuple[float, float, float]]] = {what: [] for what in rows}
        for k in range(repeats):
            for what, command in rows.items():
                found[what].append(timed(command, folder / (f"cold{k}" if what.endswith("cold") else "warm")))
        pillow = min(wall for wall, _, _ in found[BESIDE])
        print(f"{'':<42} wall s  cpu s  peak MB  wall / Pillow's")
        for what, runs in found.items():
            wall, cpu, peak = (min(r[0] for r in runs), min(r[1] for r in runs), max(r[2] for r in runs))
            print(f"{what:<42} {wall:6.2f} {cpu:6.2f} {peak:8.0f} {wall / pillow:8.2f}")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 5)
