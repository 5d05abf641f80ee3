"""The store of searched boxes: the same answers with and without it, whatever happens to its files."""

import io
import multiprocessing
import zipfile
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from finishplan.colour.light import lab_from_hex
from finishplan.paint import cache
from finishplan.paint.ahead import is_new, keep_recipes
from finishplan.paint.box import load_box
from finishplan.paint.mixing import MixSettings, find_mixes
from finishplan.paint.model import Mix

COLOURS = [lab_from_hex(c) for c in ("#d9a02a", "#2a7f7a", "#f5ead0", "#8899cc", "#00ff00")]


def cards(mixes: tuple[Mix, ...]) -> list[str]:
    return [repr((m.id, m.name, m.recipe, m.lab, m.delta_e, m.delta_e_a, m.expect_within, m.add_paint)) for m in mixes]


def answer(folder: Path | None) -> list[str]:
    mixes, _ = find_mixes(COLOURS, load_box(), MixSettings(cache=folder is not None, cache_folder=folder))
    return cards(mixes)


@pytest.fixture(scope="module")
def uncached() -> list[str]:
    return answer(None)


def test_same_with_and_without(tmp_path: Path, uncached: list[str]) -> None:
    assert answer(tmp_path) == uncached
    stored = sorted(tmp_path.iterdir())
    assert stored
    times = [p.stat().st_mtime_ns for p in stored]
    assert answer(tmp_path) == uncached
    assert [p.stat().st_mtime_ns for p in sorted(tmp_path.iterdir())] == times


def test_recipes_kept_ahead_are_those_a_search_keeps(tmp_path: Path) -> None:
    box, searched = load_box(), MixSettings(max_paints=3, cache_folder=tmp_path / "searched")
    mine = replace(searched, cache_folder=tmp_path / "mine")
    assert is_new(box, mine) and not is_new(box, replace(mine, cache=False))
    keep_recipes(box, mine)
    assert not is_new(box, mine)
    find_mixes(COLOURS, box, searched)
    ahead, found = ({p.name: p.read_bytes() for p in (tmp_path / n).iterdir()} for n in ("mine", "searched"))
    # All but what is let down in another paint than white, which hangs on the colour.
    assert ahead and ahead.items() <= found.items()


@pytest.mark.parametrize("damage", ["empty", "short", "noise", "flipped", "text", "folder", "array", "other"])
def test_damaged_files_are_not_believed(tmp_path: Path, uncached: list[str], damage: str) -> None:
    answer(tmp_path)
    for path in tmp_path.glob("*.npz"):
        raw = path.read_bytes()
        if damage == "empty":
            path.write_bytes(b"")
        elif damage == "short":
            path.write_bytes(raw[: len(raw) // 2])
        elif damage == "noise":
            path.write_bytes(np.random.default_rng(0).bytes(5000))
        elif damage == "flipped":
            middle = len(raw) // 3
            path.write_bytes(raw[:middle] + bytes([raw[middle] ^ 0x40]) + raw[middle + 1 :])
        elif damage == "text":
            path.write_text("not a store")
        elif damage == "folder":
            path.unlink()
            path.mkdir()
        elif damage == "array":
            path.write_bytes(npy(np.zeros(3)))
        else:
            np.savez(path, steps=np.zeros((3, 3), np.int16), row=np.zeros(3, np.uint32))
    assert answer(tmp_path) == uncached


def rewritten(path: Path, name: str, data: bytes) -> None:
    """The archive with one member replaced, whole as a zip, its comment kept."""
    with zipfile.ZipFile(path) as stored:
        comment, members = stored.comment, {n: stored.read(n) for n in stored.namelist()}
    with zipfile.ZipFile(path, "w") as other:
        other.comment = comment
        for n, member in (members | {name: data}).items():
            other.writestr(n, member)


def npy(array: np.ndarray) -> bytes:
    out = io.BytesIO()
    np.save(out, array)
    return out.getvalue()


HUGE = npy(np.zeros(1, np.int16)).replace(b"(1,), }", b"(99999999999,), }")


@pytest.mark.parametrize(
    ("name", "change"),
    [
        ("low.npy", lambda low: npy(low + 3000)),
        ("start.npy", lambda start: npy(start + 10**9)),
        ("row.npy", lambda row: npy(row[::-1].copy())),
        ("steps.npy", lambda steps: b"\x93NUMPY\x01\x00\x10\x00{'descr\x00\xff(((((\n"),
        ("steps.npy", lambda steps: HUGE),
    ],
    ids=["boxes", "starts", "rows", "header", "huge"],
)
def test_a_foreign_file_that_is_a_whole_archive_is_not_believed(
    tmp_path: Path, uncached: list[str], name: str, change: Callable[[np.ndarray], bytes]
) -> None:
    answer(tmp_path)
    for path in tmp_path.glob("*.npz"):
        with np.load(path) as stored:
            array = stored[name.removesuffix(".npy")]
        rewritten(path, name, change(array))
    assert answer(tmp_path) == uncached


def test_a_file_of_another_box_under_this_name_is_not_believed(tmp_path: Path, uncached: list[str]) -> None:
    answer(tmp_path / "satin")
    find_mixes(COLOURS, load_box(), MixSettings(cache_folder=tmp_path / "other", max_paints=3))
    spare = sorted((tmp_path / "other").glob("*.npz"))
    for path in (tmp_path / "satin").glob("*.npz"):
        path.write_bytes(spare[0].read_bytes())
    assert answer(tmp_path / "satin") == uncached


def test_folder_that_cannot_be_written(tmp_path: Path, uncached: list[str]) -> None:
    blocked = tmp_path / "file"
    blocked.write_text("in the way")
    assert answer(blocked / "boxes") == uncached


def test_no_pickle_is_read(tmp_path: Path, uncached: list[str]) -> None:
    answer(tmp_path)
    for path in tmp_path.glob("*.npz"):
        with np.load(path, allow_pickle=False) as stored:
            arrays = dict(stored)
        arrays["steps"] = np.array([{"an": "object"}], dtype=object)
        np.savez(path, **arrays)
    assert answer(tmp_path) == uncached


def test_several_at_once(tmp_path: Path, uncached: list[str]) -> None:
    with multiprocessing.get_context("spawn").Pool(2) as pool:
        assert pool.map(answer, [tmp_path] * 3) == [uncached] * 3
    assert not list(tmp_path.glob("*.part"))


def test_other_box_other_file(tmp_path: Path) -> None:
    settings = MixSettings(cache_folder=tmp_path)
    find_mixes(COLOURS[:1], load_box(), settings)
    before = set(tmp_path.glob("*.npz"))
    find_mixes(COLOURS[:1], load_box(), replace(settings, finish="gloss"))
    assert len(set(tmp_path.glob("*.npz")) - before) == 1


def test_folder_does_not_grow_for_ever(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(cache, "_FOLDER_BYTES", 8_000_000)
    for finish in ("matt", "satin", "gloss"):
        find_mixes(COLOURS[:1], load_box(), MixSettings(cache_folder=tmp_path, finish=finish))
    assert sum(p.stat().st_size for p in tmp_path.iterdir()) <= 8_000_000


def test_same_on_any_number_of_threads(tmp_path: Path, uncached: list[str]) -> None:
    """Another seed of the hash and one or two threads of the arithmetic: the same cards to the last digit shown."""
    import os
    import subprocess
    import sys

    for seed, threads in (("0", "1"), ("7", "2")):
        environment = {
            **os.environ,
            "PYTHONHASHSEED": seed,
            "OPENBLAS_NUM_THREADS": threads,
            "OMP_NUM_THREADS": threads,
        }
        code = "from test_cache import answer; print('\\n'.join(answer(None)))"
        ran = subprocess.run(
            [sys.executable, "-c", code], env=environment, cwd=Path(__file__).parent, capture_output=True, check=True
        )
        assert ran.stdout.decode().splitlines() == uncached
