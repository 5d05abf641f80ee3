"""Running one command line: its exit code, errors told on one line, streams that are not there."""

import gc
import io
import os
import sys
from contextlib import suppress
from pathlib import Path

from finishplan.basics.errors import InputError
from finishplan.cli.commands import app


def main() -> None:
    """Run the command line; leave with 0, 2 on input that cannot be used, 130 on Ctrl-C."""
    # A plan is kept to the end: seeking garbage oftener takes a twentieth of the time.
    gc.set_threshold(300_000, 20, 20)
    _ready_streams()
    code = run_command(sys.argv[1:])
    if sys.stderr is not None:
        with suppress(OSError):
            sys.stderr.flush()
    os._exit(code)  # everything is written: taking libraries and memory apart piece by piece takes 0.15 s


def _ready_streams() -> None:
    """A stream that was closed is the null device, lest a file of ours takes its place; any letter can be printed."""
    # The lowest free number is given to the next file opened: the job file could become standard output.
    for number in range(3):
        try:
            os.fstat(number)
        except OSError:
            os.open(os.devnull, os.O_RDWR)
    if isinstance(sys.stdout, io.TextIOWrapper):
        # Piped or into a file, JSON and names are UTF-8, whatever the system's old code page says.
        sys.stdout.reconfigure(encoding=None if sys.stdout.isatty() else "utf-8", errors="replace")


def run_command(arguments: list[str]) -> int:
    """Run one command line and return its exit code; errors are told on one line of standard error."""
    try:
        code = int(app(arguments or ["--help"], standalone_mode=False, prog_name="finishplan") or 0)
        print(end="", flush=True)
        return code
    except KeyboardInterrupt:
        return 130
    except BrokenPipeError:
        return _reader_left()
    except SystemExit as leaving:  # what typer makes of a broken pipe
        if isinstance(leaving.__context__, BrokenPipeError):
            return _reader_left()
        raise
    except Exception as error:
        if "--debug" in arguments:
            raise
        return _told(error, arguments)


def _reader_left() -> int:
    """Nothing more can be said to it: what still waits to be printed goes nowhere, quietly."""
    sys.stdout = Path(os.devnull).open("w", encoding="utf-8")  # noqa: SIM115  open to the end
    return 0


def _told(error: Exception, arguments: list[str]) -> int:
    from finishplan.cli.terminal import warn

    format_message = getattr(error, "format_message", None)
    # Word processors and phones turn two hyphens into one long dash, and the option is then taken for a drawing.
    dashed = [a for a in arguments if a[:1] in tuple("\u2010\u2011\u2012\u2013\u2014\u2015\u2212")]
    if dashed and (format_message is not None or (dashed[0] in str(error) and not Path(dashed[0]).exists())):
        warn(f"'{dashed[0][:40]}' begins with a long dash; write two plain hyphens: --{dashed[0][1:40]}")
        return 2
    if isinstance(error, InputError):
        warn(str(error))
        return 2
    if format_message is not None:
        said = " ".join(format_message().split()).rstrip(".")
        warn(said + (" See --help" if said.endswith("?") else "; see --help"))
        return 2
    if isinstance(error, OSError):
        told = error.strerror or error
        # Without a name it is standard output that failed, or the folder in which we are.
        if error.filename is None and not _is_somewhere():
            warn("the folder where you are is gone; change into another")
        elif error.filename is None:
            warn(f"cannot write to standard output: {told}; send it elsewhere")
        else:
            warn(f"{error.filename}: cannot be used: {told}; check the file and its permissions")
        return 2
    # Libraries that find no room to be loaded in say only the latter.
    if isinstance(error, MemoryError) or "failed to map segment" in str(error):
        warn("out of memory; give a smaller drawing or fewer castings")
        return 2
    warn(f"internal error: {type(error).__name__}: {error}; run again with --debug and report it")
    return 1


def _is_somewhere() -> bool:
    try:
        return bool(os.getcwd())  # noqa: PTH109  what fails where the folder was removed
    except OSError:
        return False
