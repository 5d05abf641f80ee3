"""The same input gives the same bytes, whatever the hash seed and the number of threads, with and without a cache,
however the system starts other processes, and without them."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

NEWT = Path(__file__).parents[1] / "examples" / "newt.png"
WRITTEN = ("plan.json", "painting-order.pdf", "areas.png", "job.toml")


ONE_CORE = "import os; os.cpu_count = lambda: 1"
STARTED = "import multiprocessing; multiprocessing.set_start_method('{}')"
DYING = (
    "import multiprocessing, os, finishplan.drawing as d; read = d.read_drawing; "
    "d.read_drawing = lambda *told: os._exit(1) if multiprocessing.parent_process() else read(*told)"
)
"""Where another process reads the drawing, it ends untimely."""
MAIN = "from finishplan.cli.main import main\nif __name__ == '__main__':\n    main()"


def written(out: Path, seed: str = "0", first: str = "", cache: Path | None = None) -> dict[str, bytes]:
    """The files of the newt. seed: of hashes, and from 1 on with as many threads. first: run before the program."""
    threads = str(max(1, int(seed)))
    env = os.environ | {"PYTHONHASHSEED": seed, "OMP_NUM_THREADS": threads, "OPENBLAS_NUM_THREADS": threads}
    env |= {"XDG_CACHE_HOME": str(cache)} if cache else {}
    command = [sys.executable, "-c", f"{first}\n{MAIN}", "plan", str(NEWT), "--castings", "3", "--out", str(out)]
    command += ["--quiet", "--cache" if cache else "--no-cache"]
    subprocess.run(command, env=env, check=True, cwd=NEWT.parents[1])
    return {name: (out / name).read_bytes() for name in WRITTEN}


@pytest.fixture(scope="module")
def once(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    return written(tmp_path_factory.mktemp("once"))


@pytest.mark.parametrize(("seed", "start"), [("1", "spawn"), ("2", "forkserver")])
def test_same_bytes(once: dict[str, bytes], tmp_path: Path, seed: str, start: str) -> None:
    again = written(tmp_path, seed, STARTED.format(start))
    assert [name for name in WRITTEN if again[name] != once[name]] == []


def test_same_bytes_with_a_cache_and_in_one_process(once: dict[str, bytes], tmp_path: Path) -> None:
    cache = tmp_path / "cache"
    assert written(tmp_path / "cold", first=ONE_CORE, cache=cache) == once
    assert any(cache.rglob("*.npz"))
    assert written(tmp_path / "warm", cache=cache) == once


def test_same_bytes_where_a_process_dies(once: dict[str, bytes], tmp_path: Path) -> None:
    assert written(tmp_path, first=DYING) == once
