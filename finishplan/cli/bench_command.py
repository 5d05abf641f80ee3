"""The command that opens the bench page."""

from pathlib import Path
from typing import Annotated

import typer

from finishplan.cli.options import Debug, whole


def bench(
    source: Annotated[
        Path | None, typer.Argument(metavar="DRAWING|JOB|FOLDER", help="What to open; left out: this folder.")
    ] = None,
    port: Annotated[
        int | None,
        typer.Option(metavar="NUMBER", parser=whole("--port", 8080, most=65535), help="Any free one if left out."),
    ] = None,
    no_browser: Annotated[bool, typer.Option("--no-browser", help="Only print the address.")] = False,
    debug: Debug = False,
) -> None:
    """Open the bench page in your browser: areas, mixes, order, run and print, on this machine only."""
    from finishplan.page.serve import serve

    # Port 0 asks the system for any that is free.
    serve(source, port or 0, browser=not no_browser)
