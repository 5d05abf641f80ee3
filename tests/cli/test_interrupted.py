"""A program that is interrupted leaves with the system's exit code, all its copies with it, and nothing half done."""

import os
import re
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

import pytest
from refusals import WHOLE_PLAN, check_whole, drawing


def group(leader: int) -> list[int]:
    """The processes of this process group that still run."""
    found = []
    for one in Path("/proc").glob("[0-9]*"):
        try:
            state, _, of = (one / "stat").read_text().rpartition(")")[2].split()[:3]
        except OSError:  # gone by now
            continue
        if int(of) == leader and state not in "ZX":
            found.append(int(one.name))
    return found


def left_over(leader: int) -> list[int]:
    """The processes of this group that do not end: on a busy machine one that was killed takes a moment to be gone."""
    for _ in range(500):
        if not group(leader):
            break
        time.sleep(0.01)
    return group(leader)


def heeds(process: "subprocess.Popen[bytes]") -> bool:
    """Whether the program has set its own answer to SIGTERM, as it does first of all."""
    status = Path(f"/proc/{process.pid}/status").read_text()
    caught = re.search(r"^SigCgt:\s*([0-9a-f]+)$", status, re.MULTILINE)
    return caught is not None and bool(int(caught[1], 16) >> (signal.SIGTERM - 1) & 1)


def wait_for(what: Callable[[], bool], process: "subprocess.Popen[bytes]") -> None:
    while process.poll() is None and not what():
        time.sleep(0.002)


needs_proc = pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="needs Linux' /proc")


def begun(folder: Path, job: str = "") -> "subprocess.Popen[bytes]":
    """A plan being made into folder/out, leader of a group of its own, heeding signals."""
    drawing(folder / "a.png")
    (folder / "a.toml").write_text(job)
    running = [sys.executable, "-m", "finishplan", "plan", "a.png", "--out", "out", "--quiet"]
    environment = {**os.environ, "XDG_CACHE_HOME": str(folder / "cache")}
    process = subprocess.Popen(
        running, cwd=folder, env=environment, stdout=subprocess.PIPE, stderr=subprocess.PIPE, start_new_session=True
    )
    wait_for(lambda: heeds(process), process)
    return process


@needs_proc
@pytest.mark.parametrize("moment", [0.0, 0.1, 0.2, 0.3, 0.45, 0.6, 0.8, "folder", "file"])
def test_interrupted_at_any_moment(moment: float | str, tmp_path: Path) -> None:
    """Ctrl-C reaches the whole group: the program leaves with 130 (0 where it was done), and nothing is half done."""
    process = begun(tmp_path)
    if isinstance(moment, float):
        time.sleep(moment)
    else:
        out = tmp_path / "out"
        wait_for(lambda: out.exists() and (moment == "folder" or any(out.iterdir())), process)
    with suppress(ProcessLookupError):
        os.killpg(process.pid, signal.SIGINT)
    _, err = process.communicate(timeout=60)
    assert process.returncode in (0, 130) and err == b""
    assert left_over(process.pid) == []
    there = check_whole(tmp_path / "out")
    assert there in (set(), WHOLE_PLAN), "all or nothing of a folder that was empty"
    assert process.returncode == 130 or there == WHOLE_PLAN
    assert not [p for p in (tmp_path / "cache").rglob("*") if p.is_file() and p.suffix != ".npz"]


@needs_proc
@pytest.mark.parametrize("end", [signal.SIGTERM, signal.SIGKILL, signal.SIGHUP])
def test_no_copy_works_on_when_the_program_is_ended(end: signal.Signals, tmp_path: Path) -> None:
    """The signal goes to the program alone, in the midst of a long search in its copies."""
    if signal.getsignal(end) == signal.SIG_IGN:
        pytest.skip("started with this signal ignored, as by nohup: the program keeps to that")
    process = begun(tmp_path, "[run]\ncastings = 30\nsearch_s = 120\n[room]\ndryer = true\n")
    wait_for(lambda: len(group(process.pid)) >= 3, process)
    process.send_signal(end)
    assert process.wait(timeout=60) == (-9 if end == signal.SIGKILL else 128 + end)
    assert left_over(process.pid) == []
    process.communicate()


@pytest.mark.skipif(sys.platform == "win32", reason="needs a terminal that can be opened by a program")
def test_interrupted_while_the_bar_is_shown_the_cursor_comes_back() -> None:
    """On a terminal: the bar hides the cursor (DEC private mode 25), its line is wiped on leaving."""
    import pty

    code = (
        "import time\nfrom finishplan.basics import signals\nfrom finishplan.cli import terminal\nsignals.heed()\n"
        "with terminal.progress(False, after_s=-1) as tell:\n    tell('drying', 0.5)\n    time.sleep(600)\n"
    )
    ours, theirs = pty.openpty()
    environment = {**os.environ, "TERM": "xterm"}
    environment.pop("NO_COLOR", None)
    process = subprocess.Popen([sys.executable, "-c", code], env=environment, stdout=theirs, stderr=theirs)
    os.close(theirs)
    shown = b""
    while b"\x1b[?25l" not in shown:
        shown += os.read(ours, 65536)
    process.send_signal(signal.SIGINT)
    assert process.wait(timeout=60) == 130
    with suppress(OSError):  # what Linux says at the end of a terminal
        while more := os.read(ours, 65536):
            shown += more
    os.close(ours)
    assert shown.endswith(b"\r\x1b[2K\x1b[?25h") and b"Traceback" not in shown


INTERRUPTED = """
import os, signal, sys
from pathlib import Path
from finishplan.basics import files
from finishplan.basics import signals
signals.heed()
where, folder = sys.argv[1], Path(sys.argv[2])
real_place, real_new = Path.replace, files.new_beside
def struck(step):
    if step == where:
        os.kill(os.getpid(), signal.SIGINT)
def place(self, target):
    struck("placing " + target.name)
    return real_place(self, target)
def new(path):
    made = real_new(path)
    struck("writing " + path.name)
    return made
Path.replace, files.new_beside = place, new
files.write_together({folder / name: "new" for name in ("a", "b", "c")})
"""


@pytest.mark.skipif(sys.platform == "win32", reason="needs a signal that can be sent to oneself")
@pytest.mark.parametrize("at", [f"{step} {name}" for step in ("writing", "placing") for name in "abc"])
def test_interrupted_at_a_write_all_are_old_or_all_are_new(at: str, tmp_path: Path) -> None:
    for name in "abc":
        (tmp_path / name).write_text("old")
    done = subprocess.run([sys.executable, "-c", INTERRUPTED, at, str(tmp_path)], capture_output=True, check=False)
    assert (done.returncode, done.stderr) == (130, b"")
    assert {p.name: p.read_text() for p in tmp_path.iterdir()} == dict.fromkeys(
        "abc", "old" if at.startswith("writing") else "new"
    )


def test_who_imports_the_package_keeps_their_handlers() -> None:
    code = (
        "import signal; of = lambda: [signal.getsignal(s) for s in (signal.SIGINT, signal.SIGTERM)]; before = of();"
        "from finishplan.cli.main import run_command; run_command(['mix', '#808080', '--quiet']); "
        "assert of() == before"
    )
    subprocess.run([sys.executable, "-c", code], check=True)
