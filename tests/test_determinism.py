"""The same input gives the same bytes, whatever the hash seed and the number of threads, with and without a cache and
copies of the process."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

NEWT = Path(__file__).parents[1] / "examples" / "newt.png"
WRITTEN = ("plan.json", "painting-order.pdf", "areas.png", "job.toml")


ALONE = """from finishplan.basics import aside
from finishplan.cli import commands as cli
from finishplan.drawing import ahead
aside.COPIES, ahead.decode_ahead = False, lambda *given: None
cli.main()"""


def written(
    out: Path, seed: str = "0", threads: str = "1", *, cache: Path | None = None, alone: bool = False
) -> dict[str, bytes]:
    """alone: in one process, the picture decoded when it is wanted."""
    env = os.environ | {"PYTHONHASHSEED": seed, "OMP_NUM_THREADS": threads, "OPENBLAS_NUM_THREADS": threads}
    env |= {"XDG_CACHE_HOME": str(cache)} if cache else {}
    program = ["-c", ALONE] if alone else ["-m", "finishplan"]
    command = [sys.executable, *program, "plan", str(NEWT), "--castings", "3", "--out", str(out), "--quiet"]
    subprocess.run([*command, "--cache" if cache else "--no-cache"], env=env, check=True, cwd=NEWT.parents[1])
    return {name: (out / name).read_bytes() for name in WRITTEN}


@pytest.fixture(scope="module")
def once(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    return written(tmp_path_factory.mktemp("once"))


@pytest.mark.parametrize(("seed", "threads"), [("1", "1"), ("4242", "2")])
def test_same_bytes(once: dict[str, bytes], tmp_path: Path, seed: str, threads: str) -> None:
    again = written(tmp_path, seed, threads)
    assert [name for name in WRITTEN if again[name] != once[name]] == []


def test_same_bytes_with_a_cache_and_in_one_process(once: dict[str, bytes], tmp_path: Path) -> None:
    cache = tmp_path / "cache"
    assert written(tmp_path / "cold", cache=cache) == once
    assert any(cache.rglob("*.npz"))
    assert written(tmp_path / "warm", cache=cache) == once
    assert written(tmp_path / "alone", alone=True) == once
