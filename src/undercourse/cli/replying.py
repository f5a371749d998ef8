"""The commands that put an answer into words for the asker: the reply as a letter, and why."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from undercourse.cli.app import AsJson, Date, Job, Line, app, print_json

if TYPE_CHECKING:
    from undercourse.facts.jobs import Job as JobRecord

AreaName = Annotated[str, typer.Option("--area", help="Only the area of this name.")]


def chosen_rows(job: JobRecord, area: str, command: str) -> list[int]:
    """The places of the areas that are meant; all without a name."""
    from undercourse.base.problems import Problem, Problems

    rows = [row for row, one in enumerate(job.areas) if not area or one.name == area]
    if not rows:
        names = ", ".join(f'"{one.name}"' for one in job.areas)
        raise Problems([Problem(command, f'no area is named "{area}"', f"the job has {names}")])
    return rows


def read_whole_job(path: Path, line: Path | None) -> tuple[JobRecord, Any]:
    """A job with the outlines of its plans, and the rulebook of its line."""
    from undercourse.files.jobfiles import load_job
    from undercourse.files.shipped import rulebook

    book = rulebook(line)
    job = load_job(path, book.vocabulary)
    if any(area.outline or area.plan for area in job.areas):
        from undercourse.files.areas import with_plans

        job = with_plans(job, path.parent)
    return job, book


@app.command("reply")
def reply_command(
    job: Job, area: AreaName = "", line: Line = None, as_json: AsJson = False, date: Date = ""
) -> None:
    """Write the answer to an area as a letter in plain text."""
    from undercourse.cli.days import day
    from undercourse.files.replying import letters

    record, book = read_whole_job(job, line)
    rows = chosen_rows(record, area, "reply")
    written = letters(record, book, day(date), rows)
    if as_json:
        print_json(written[0] if len(written) == 1 else written)
        return
    print(("\n" + "=" * 78 + "\n\n").join(one["text"] for one in written), end="")


@app.command("why")
def why_command(
    job: Job,
    area: AreaName = "",
    product: Annotated[
        str, typer.Option("--product", help="Product id, or proposed; the recommended one when left out.")
    ] = "",
    against: Annotated[str, typer.Option("--against", help="Product id to tell it apart from.")] = "",
    line: Line = None,
    as_json: AsJson = False,
    date: Date = "",
) -> None:
    """Prove a verdict with the fewest facts, tell two products apart, say what would change the choice."""
    from undercourse.advise.reasons import why_document
    from undercourse.cli.days import day

    record, book = read_whole_job(job, line)
    rows = chosen_rows(record, area, "why")
    document = why_document(record, book, day(date), rows, product, against)
    if as_json:
        print_json(document)
        return
    from undercourse.cli.show_why import show_why

    show_why(document)
