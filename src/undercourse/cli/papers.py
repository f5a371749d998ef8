"""The commands that take off and write papers."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

from undercourse.cli.app import AsJson, Date, Job, Line, app, print_json

Membrane = Annotated[
    str, typer.Option("--membrane", help="Product id to lay in place of the recommended one.")
]


def prepared(source: Path, line: Path | None, date: str, membrane: str, advise: bool) -> Any:
    """A job answered, laid and taken off, with the outlines of its plans."""
    from undercourse.base.problems import Problem, Problems
    from undercourse.cli.days import day
    from undercourse.files.areas import with_plans
    from undercourse.files.jobfiles import load_job
    from undercourse.files.reporting import prepare
    from undercourse.files.shipped import rulebook

    book = rulebook(line)
    if membrane and membrane not in {p.id for p in book.line.of_role("membrane")}:
        names = ", ".join(p.id for p in book.line.of_role("membrane"))
        raise Problems(
            [Problem("--membrane", f'"{membrane}" is no membrane of the line', f"use one of {names}")]
        )
    job = with_plans(load_job(source, book.vocabulary), source.parent)
    return prepare(job, book, day(date), advise, membrane)


@app.command("takeoff")
def takeoff_command(
    job: Job,
    line: Line = None,
    as_json: AsJson = False,
    membrane: Membrane = "",
    out: Annotated[
        Path | None,
        typer.Option("-o", "--out", help="Write a workbook (.xlsx) with quantities, sizes and cut list."),
    ] = None,
    date: Date = "",
) -> None:
    """Count what to buy for each area: packs, weight, cost, hours."""
    from undercourse.base.problems import Problem, Problems

    if out is not None and out.suffix.lower() != ".xlsx":
        raise Problems([Problem("--out", f'"{out}" is no workbook', "name a file that ends in .xlsx")])
    papers = prepared(job, line, date, membrane, advise=False)
    if out is not None and papers.takeoffs:
        from undercourse.files.writing import write_whole
        from undercourse.papers.workbook import takeoff_workbook

        answer = papers.answer
        data = takeoff_workbook(str(answer["job"]), answer["basis"], papers.takeoffs, papers.layouts)
        write_whole(out, data)
    if as_json:
        print_json({"job": papers.answer["job"], "basis": papers.answer["basis"], "areas": papers.takeoffs})
        return
    from undercourse.cli.show_papers import show_takeoff

    if not papers.takeoffs:
        fix = "no sheet is recommended (see answer) or no area has an outline; name --membrane ID"
        raise Problems(papers.problems or [Problem(str(job), "there is nothing to count", fix)])
    for one in papers.takeoffs:
        show_takeoff(one)
    if out is not None:
        print(f"Wrote {out}")


@app.command("report")
def report_command(
    job: Job,
    out: Annotated[Path, typer.Option("-o", "--out", help="The PDF file to write.")],
    line: Line = None,
    page: Annotated[str, typer.Option("--page", help="us-letter or a4.")] = "us-letter",
    membrane: Membrane = "",
    date: Date = "",
) -> None:
    """Write the job report as a PDF for site and file."""
    from undercourse.files.reporting import report_pdf
    from undercourse.files.writing import write_whole

    papers = prepared(job, line, date, membrane, advise=True)
    write_whole(out, report_pdf(papers, page))
    print(f"Wrote {out}")
    for problem in papers.problems:
        print(f"Left out: {problem}")


@app.command("demo")
def demo_command(
    out: Annotated[Path, typer.Option("-o", "--out", help="Folder for the reports.")] = Path("out"),
    date: Date = "",
) -> None:
    """Answer the four demo jobs of the invented maker Quarrybeck and write their reports."""
    from undercourse.cli.days import day
    from undercourse.cli.show import show_answer
    from undercourse.files.demo import demo_jobs
    from undercourse.files.reporting import prepare, report_pdf
    from undercourse.files.shipped import rulebook
    from undercourse.files.writing import write_whole

    book = rulebook(None)
    written = []
    for name, job in demo_jobs(book.vocabulary):
        papers = prepare(job, book, day(date))
        show_answer(papers.answer)
        target = out / f"{name}.pdf"
        write_whole(target, report_pdf(papers))
        written.append(target)
    print("Reports:")
    for target in written:
        print(f"  {target}")
    print("Next: make serve opens the page; the README says how to answer your own job.")
