"""Printing to the terminal: swatches in true colour, tables, a progress bar; plain ASCII where colour cannot go."""

import os
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress

from finishplan.basics import signals

_RESTORED = b"\r\x1b[2K\x1b[?25h"
"""The bar's line wiped, the cursor shown (ECMA-48 EL, DEC private mode 25)."""
Cell = str | tuple[str, str]
"""Text, or (text, '#rrggbb') for text beside a swatch."""


def plain() -> bool:
    """Whether output must be plain ASCII: not a terminal, or NO_COLOR is set."""
    return bool(os.environ.get("NO_COLOR")) or sys.stdout is None or not sys.stdout.isatty()


def ascii_text(text: str) -> str:
    """Text in ASCII: accents dropped, the few signs of ours spelt out, anything else a question mark."""
    import unicodedata

    for sign, spelt in {
        " °": " deg ",
        "×": "x",
        "µ": "u",
        "≤": "<=",
        "Δ": "d",
        "°": " deg ",
        "–": "-",
        "’": "'",
        "₂": "2",
    }.items():
        text = text.replace(sign, spelt)
    # Compatibility forms too, so that cm² becomes cm2.
    bare = "".join(c for c in unicodedata.normalize("NFKD", text) if not unicodedata.combining(c))
    return bare.encode("ascii", "replace").decode()


def table(headers: list[str], rows: list[list[Cell]], title: str = "") -> None:
    """Print rows under headers, swatches where colour may go; numbers are the caller's strings."""
    if plain():
        _plain_table(headers, rows, title)
        return
    from rich import box
    from rich.markup import escape
    from rich.table import Table
    from rich.text import Text

    # Titles and headers hold names, which are the maker's: [red] in one is text.
    out = Table(box=box.SIMPLE_HEAD, title=escape(title) or None, title_justify="left", pad_edge=False)
    for header in headers:
        out.add_column(escape(header), overflow="fold")
    for row in rows:
        out.add_row(
            *(
                Text(cell) if isinstance(cell, str) else Text.assemble(("    ", f"on {cell[1]}"), " ", cell[0])
                for cell in row
            )
        )
    from rich.console import Console

    Console(highlight=False).print(out)


def _plain_table(headers: list[str], rows: list[list[Cell]], title: str) -> None:
    cells = [headers, *([c if isinstance(c, str) else f"{c[1]} {c[0]}".strip() for c in row] for row in rows)]
    lines = [[ascii_text(c) for c in row] for row in cells]
    widths = [max(len(row[i]) for row in lines) for i in range(len(headers))]
    if title:
        print(ascii_text(title))
    for row in lines:
        print("  ".join(c.ljust(w) for c, w in zip(row, widths, strict=True)).rstrip())
    print()


def say(text: str) -> None:
    """One line to standard output."""
    print(ascii_text(text) if plain() else text)


def warn(text: str) -> None:
    """One line to standard error, where there is one."""
    if sys.stderr is None:
        return
    fit = text if sys.stderr.isatty() and not os.environ.get("NO_COLOR") else ascii_text(text)
    with suppress(OSError):  # nobody can be told that nobody can be told
        print(f"finishplan: {fit}", file=sys.stderr, flush=True)


@contextmanager
def progress(quiet: bool, after_s: float = 1.0) -> Iterator[Callable[[str, float], None]]:
    """A bar on standard error that appears once the work has taken a second; call it with (stage, share done)."""
    if quiet or sys.stderr is None or not sys.stderr.isatty():
        yield lambda stage, share: None
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn

    start = time.monotonic()
    bar = Progress(TextColumn("{task.description:<22}"), BarColumn(), console=Console(stderr=True), transient=True)
    task = bar.add_task("", total=1.0)

    def tell(stage: str, share: float) -> None:
        # Work of less than a second shows none: it would only flicker.
        bar.update(task, description=stage, completed=share)
        if time.monotonic() - start > after_s and not bar.live.is_started:
            signals.say_last(_RESTORED)
            bar.start()

    try:
        yield tell
    finally:
        bar.stop()
        signals.say_last(b"")
