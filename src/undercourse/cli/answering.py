"""The commands that answer a job."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated, Any

import typer

from undercourse.cli.app import AsJson, Date, Line, app, print_json


@app.command("answer")
def answer_command(
    jobs: Annotated[
        list[Path] | None, typer.Argument(help="Job files, TOML or JSON.", show_default=False)
    ] = None,
    line: Line = None,
    as_json: AsJson = False,
    jsonl: Annotated[
        bool, typer.Option("--jsonl", help="Read one job as JSON a line on standard input.")
    ] = False,
    brief: Annotated[
        bool, typer.Option("--brief", help="With --jsonl: verdict, share used, governing limit only.")
    ] = False,
    without: Annotated[str, typer.Option("--without", help="Leave a slow part out: advise.")] = "",
    full: Annotated[bool, typer.Option("--full", help="Show every finding of every candidate.")] = False,
    date: Date = "",
) -> None:
    """Say for each area what suits, on which conditions, what does not and why, and what to ask."""
    from undercourse.base.problems import Problem, Problems
    from undercourse.cli.days import day
    from undercourse.files.shipped import rulebook

    if without not in ("", "advise"):
        raise Problems([Problem("--without", f'"{without}" is not a part', "write --without advise")])
    book = rulebook(line)
    if jsonl:
        from undercourse.cli.bulk import answer_lines

        answer_lines(sys.stdin, sys.stdout, book, day(date), brief, advise=without != "advise")
        return
    if not jobs:
        raise Problems(
            [Problem("answer", "no job file is named", "write undercourse answer JOB.toml, or use --jsonl")]
        )
    from undercourse.advise.answers import answer
    from undercourse.files.jobfiles import load_job

    documents: list[dict[str, Any]] = []
    problems: list[Problem] = []
    for path in jobs:
        try:
            job = load_job(path, book.vocabulary)
            has_outlines = any(area.outline or area.plan for area in job.areas)
            if has_outlines:
                from undercourse.files.areas import tell_plans, with_plans

                job = with_plans(job, path.parent)
            document = answer(job, book, day(date), advise=without != "advise")
            if has_outlines:
                tell_plans(document, job)
            documents.append(document)
        except Problems as error:
            problems.extend(error.problems)
    if problems:
        raise Problems(problems)
    if as_json:
        print_json(documents[0] if len(documents) == 1 else documents)
        return
    from undercourse.cli.show import show_answer

    for document in documents:
        show_answer(document, full)
