"""The command that says what work would make something suit."""

from __future__ import annotations

from typing import Annotated

import typer

from undercourse.cli.app import AsJson, Date, Job, Line, app, print_json


@app.command("prep")
def prep_command(
    job: Job,
    line: Line = None,
    membrane: Annotated[
        str, typer.Option("--membrane", help="Product id that must suit, or proposed; any when left out.")
    ] = "",
    as_json: AsJson = False,
    date: Date = "",
) -> None:
    """Find the cheapest work after which something suits, with what must be asked first."""
    from undercourse.advise.prep import prep_job
    from undercourse.cli.days import day
    from undercourse.files.areas import with_plans
    from undercourse.files.jobfiles import load_job
    from undercourse.files.shipped import rulebook

    book = rulebook(line)
    read = load_job(job, book.vocabulary)
    if any(area.outline or area.plan for area in read.areas):
        read = with_plans(read, job.parent)
    document = prep_job(read, book, day(date), membrane)
    if as_json:
        print_json(document)
        return
    from undercourse.cli.show_prep import show_prep

    show_prep(document)
