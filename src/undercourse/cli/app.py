"""Commands: thin functions that read, call one package function, and show.

Heavy modules are imported inside the commands, so that ``--help`` and completion stay quick.
"""

from __future__ import annotations

import io
import os
import sys
from pathlib import Path
from typing import Annotated, Any

import typer

from undercourse.base.problems import Problems

app = typer.Typer(
    name="undercourse",
    help="What may go between a subfloor and tile, on which conditions, from a line's own promises.",
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    add_completion=True,
)
line_app = typer.Typer(help="Look at a line: check, show, compare.", no_args_is_help=True)
app.add_typer(line_app, name="line")

Line = Annotated[
    Path | None,
    typer.Option("--line", help="Folder of the line; the demo line when left out.", show_default=False),
]
AsJson = Annotated[bool, typer.Option("--json", help="Print one JSON document.")]
Jobs = Annotated[list[Path], typer.Argument(help="Job files, TOML or JSON.", show_default=False)]
Job = Annotated[Path, typer.Argument(help="Job file, TOML or JSON.", show_default=False)]
Date = Annotated[str, typer.Option("--date", help="Day to judge on when the job gives none, as 2026-11-25.")]


def main() -> None:
    """Run a command; bad input prints its problems and exits 2."""
    _keep_output_to_itself()
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            # A terminal that cannot show a mark shows a stand-in, never a traceback.
            stream.reconfigure(errors="replace")
    try:
        app()
    except Problems as error:
        sys.stdout.flush()
        for problem in error.problems:
            print(problem, file=sys.stderr)
        raise SystemExit(2) from None
    except BrokenPipeError:
        sys.stderr.close()
        raise SystemExit(0) from None


def _keep_output_to_itself() -> None:
    """Send what compiled libraries print to standard error, so that a document on standard output stays one.

    The solver of linear programs now and then prints a line past Python's own streams.
    """
    old = sys.stdout
    try:
        plain = isinstance(old, io.TextIOWrapper) and old.fileno() == 1 and not old.isatty()
    except OSError:  # no file of the system behind it, as where output is captured
        plain = False
    if not plain:
        return
    old.flush()
    own = os.dup(1)
    os.dup2(2, 1)
    sys.stdout = os.fdopen(own, "w", encoding=old.encoding)


def print_json(document: Any) -> None:
    """One JSON document on standard output."""
    import json

    print(json.dumps(document, ensure_ascii=False, indent=2))


def version(value: bool) -> None:
    """Print the version and stop."""
    if value:
        from undercourse import __version__

        print(__version__)
        raise typer.Exit


@app.callback()
def options(
    show_version: Annotated[
        bool, typer.Option("--version", callback=version, is_eager=True, help="Print the version.")
    ] = False,
) -> None:
    """What may go between a subfloor and tile, on which conditions, from a line's own promises."""


from undercourse.cli import (  # noqa: E402
    answering,  # noqa: F401
    asking,  # noqa: F401
    computing,  # noqa: F401
    laying,  # noqa: F401
    lines,  # noqa: F401
    looking,  # noqa: F401
    papers,  # noqa: F401
    prepping,  # noqa: F401
    replying,  # noqa: F401
    serving,  # noqa: F401
)
