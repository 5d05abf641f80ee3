"""Work done aside: the same result, the work's own errors, and no copy left behind."""

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from finishplan.basics import aside as module
from finishplan.basics import signals
from finishplan.basics.aside import COPIES, aside

copies = pytest.mark.skipif(not COPIES, reason="no copies of a process on this system")


def gone(process: int) -> bool:
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return True
    return False


@pytest.mark.parametrize("size", [1, 3_000_000])
@pytest.mark.parametrize("copied", [pytest.param(True, marks=copies), False])
def test_the_result_comes_whole(size: int, copied: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    """Also one that no pipe holds at once."""
    monkeypatch.setattr(module, "COPIES", copied)
    with aside(lambda: bytes(range(256)) * size) as result:
        assert result() == bytes(range(256)) * size


@copies
def test_it_is_another_process_that_works() -> None:
    with aside(lambda: str(os.getpid()).encode()) as result:
        process = int(result())
        assert process != os.getpid()
    assert gone(process)


@copies
def test_an_error_of_the_work_is_raised_here(capfd: pytest.CaptureFixture[str]) -> None:
    def fails() -> bytes:
        raise ValueError("of the work")

    with aside(fails) as result, pytest.raises(ValueError, match="of the work"):
        result()
    assert capfd.readouterr().err == ""


@copies
def test_a_copy_that_dies_is_made_good() -> None:
    here = os.getpid()

    def dies_in_the_copy() -> bytes:
        if os.getpid() != here:
            os.kill(os.getpid(), signal.SIGKILL)
        return b"done"

    with aside(dies_in_the_copy) as result:
        assert result() == b"done"


@copies
@pytest.mark.parametrize("call", ["fork", "pipe"])
def test_where_no_copy_can_be_had_the_work_is_done_here(call: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """And nothing stays open."""

    def refused() -> int:
        raise BlockingIOError(11, "Resource temporarily unavailable")

    monkeypatch.setattr(os, call, refused)
    before = len(list(Path("/proc/self/fd").iterdir()))
    with aside(lambda: str(os.getpid()).encode()) as result:
        assert result() == str(os.getpid()).encode()
    assert len(list(Path("/proc/self/fd").iterdir())) == before


@copies
def test_an_id_that_may_be_anothers_is_known_no_more(monkeypatch: pytest.MonkeyPatch) -> None:
    """A signal that comes once the copy is waited for must end no other process of that id."""
    known, wait = list[bool](), os.waitpid

    def waited(process: int, options: int) -> tuple[int, int]:
        known.append(process in signals.copies)
        return wait(process, options)

    monkeypatch.setattr(os, "waitpid", waited)
    with aside(lambda: b"done") as result:
        assert result() == b"done"
    assert known == [False]


@copies
def test_a_silent_copy_is_waited_for_so_long_only() -> None:
    here = os.getpid()
    with aside(lambda: b"done" if os.getpid() == here else time.sleep(600) or b"", 0.2) as result:
        assert result() == b"done"


@copies
def test_no_copy_outlives_an_interruption() -> None:
    read, write = os.pipe()

    def works_long() -> bytes:
        os.write(write, str(os.getpid()).encode())
        time.sleep(600)
        return b""

    with pytest.raises(KeyboardInterrupt), aside(works_long):
        process = int(os.read(read, 20))
        raise KeyboardInterrupt
    os.close(read)
    os.close(write)
    assert gone(process)


@copies
@pytest.mark.parametrize("end", [signal.SIGKILL, signal.SIGTERM])
def test_no_copy_outlives_a_process_that_is_ended(end: signal.Signals) -> None:
    """Also of a program that heeds no signal, as one that imports the package."""
    code = (
        "import os, time\nfrom finishplan.basics.aside import aside\n"
        "def long():\n    os.write(1, str(os.getpid()).encode()); time.sleep(600)\n"
        "with aside(long) as result:\n    result()\n"
    )
    process = subprocess.Popen([sys.executable, "-c", code], stdout=subprocess.PIPE)
    assert process.stdout is not None
    copy = int(os.read(process.stdout.fileno(), 20))
    process.send_signal(end)
    assert process.wait(timeout=60) == -end
    for _ in range(500):
        if gone(copy) or ") Z " in Path(f"/proc/{copy}/stat").read_text():
            break
        time.sleep(0.01)
    else:
        pytest.fail("the copy still works")
    process.communicate()
