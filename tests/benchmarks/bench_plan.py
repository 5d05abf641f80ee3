"""The whole `finishplan plan`, cold and warm, beside Pillow decoding and quantising the same drawing; and `--help`.

    python tests/benchmarks/bench_plan.py

Targets: the newt at 12 megapixels with 12 castings within 2.5 times Pillow's decode and median cut, under 800 MB;
`--help` within 0.3 s of a bare Python. Each row runs in a process of its own, imports counted; wall and processor
seconds. Cold: an empty cache of recipes.
"""

import os
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from PIL import Image

NEWT = Path(__file__).resolve().parents[2] / "examples" / "newt.png"
PILLOW = "from PIL import Image; Image.open({!r}).convert('RGB').quantize(32, Image.Quantize.MEDIANCUT)"


def timed(command: list[str], cache: str) -> tuple[float, float, float]:
    """Wall seconds, processor seconds and peak MB of one command."""
    before, start = resource.getrusage(resource.RUSAGE_CHILDREN), time.perf_counter()
    code = "import resource,subprocess,sys; r=subprocess.run(sys.argv[1:],stdout=subprocess.DEVNULL); "
    code += "print(resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss/1024); sys.exit(r.returncode)"
    env = os.environ | {"XDG_CACHE_HOME": cache}
    done = subprocess.run([sys.executable, "-c", code, *command], check=True, capture_output=True, text=True, env=env)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    used = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    return time.perf_counter() - start, used, float(done.stdout)


def main() -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        with Image.open(NEWT) as newt:
            scale = (12e6 / (newt.width * newt.height)) ** 0.5
            large = folder / "newt.png"
            newt.resize((round(newt.width * scale), round(newt.height * scale)), Image.Resampling.BICUBIC).save(large)
        finishplan = [sys.executable, "-m", "finishplan"]
        plan = [*finishplan, "plan", str(large), "--castings", "12", "--out", str(folder / "out"), "--quiet"]
        rows = {
            "bare Python": [sys.executable, "-c", "pass"],
            "finishplan --help": [*finishplan, "--help"],
            "Pillow: decode, median cut, 12 megapixels": [sys.executable, "-c", PILLOW.format(str(large))],
            "plan, 12 megapixels, 12 castings, cold": plan,
            "plan, 12 megapixels, 12 castings, warm": plan,
            "plan of the newt as shipped, 12 castings": [*finishplan, "plan", str(NEWT), *plan[5:]],
        }
        print(f"{'':<45} wall s  cpu s  peak MB")
        for what, command in rows.items():
            wall, cpu, peak = timed(command, str(folder / "cache"))
            print(f"{what:<45} {wall:6.2f} {cpu:6.2f} {peak:8.0f}")


if __name__ == "__main__":
    main()
