"""Every benchmark, one after the other: `python -m tests.benchmarks`."""

import subprocess
import sys
from pathlib import Path

for script in sorted(Path(__file__).parent.glob("bench_*.py")):
    print(f"\n== {script.name}", flush=True)
    subprocess.run([sys.executable, str(script)], check=True)
