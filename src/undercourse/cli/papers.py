"""The commands that lay out, take off and write papers."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

from undercourse.cli.app import AsJson, Date, Job, Line, app, print_json

Membrane = Annotated[
    str, typer.Option("--membrane", help="Product id to lay in place of the recommended one.")
]


@app.command("layout")
def layout_command(
    source: Annotated[
        Path, typer.Argument(help="Job file, or a plan: GeoJSON in metres or DXF.", show_default=False)
    ],
    line: Line = None,
    as_json: AsJson = False,
    membrane: Membrane = "",
    roll_width: Annotated[
        str, typer.Option("--roll-width", help="For a plan: width of the roll, as 1 m.")
    ] = "1 m",
    roll_length: Annotated[
        list[str] | None, typer.Option("--roll-length", help="For a plan: length of a roll; repeatable.")
    ] = None,
    seam_gap: Annotated[
        str, typer.Option("--seam-gap", help="Gap between strips; a lap is written with a minus.")
    ] = "2 mm",
    edge_gap: Annotated[str, typer.Option("--edge-gap", help="Gap at walls and fixed parts.")] = "6 mm",
    smallest_piece: Annotated[
        str, typer.Option("--smallest-piece", help="No piece shorter than this.")
    ] = "300 mm",
    direction: Annotated[
        float | None, typer.Option("--direction", help="Direction of the strips in degrees.")
    ] = None,
    date: Date = "",
) -> None:
    """Lay the sheets and cut the rolls, of a job or of a bare plan."""
    if source.suffix.lower() in (".geojson", ".dxf") or _is_collection(source):
        document = _plan_layout(
            source,
            {
                "--roll-width": roll_width,
                "--seam-gap": seam_gap,
                "--edge-gap": edge_gap,
                "--smallest-piece": smallest_piece,
            },
            roll_length or ["30 m"],
            direction,
        )
    else:
        from undercourse.takeoff import join_layouts

        papers = _prepared(source, line, date, membrane, advise=False)
        if not papers.layouts:
            from undercourse.base.problems import Problem, Problems

            fix = "no sheet is recommended (see answer) or no area has an outline; name --membrane ID"
            raise Problems(papers.problems or [Problem(str(source), "there is nothing to lay", fix)])
        document = join_layouts(papers.layouts)
    if as_json:
        print_json(document)
        return
    from undercourse.cli.show_papers import show_layout

    for one in document.get("layouts", [document]):
        show_layout(one)


def _is_collection(source: Path) -> bool:
    if source.suffix.lower() != ".json":
        return False
    from undercourse.files.reading import parse_json, read_text

    data = parse_json(read_text(source, 50_000_000), str(source))
    return isinstance(data, dict) and data.get("type") in ("FeatureCollection", "Feature", "Polygon")


def _plan_layout(
    source: Path, sizes: dict[str, str], lengths: list[str], direction: float | None
) -> dict[str, Any]:
    from undercourse.base.problems import Problem, Problems
    from undercourse.base.units import UNITS, read_quantity
    from undercourse.files.plans import read_plan
    from undercourse.layout import AreaPlan, Sheet, lay_out, layout_document

    problems: list[Problem] = []

    def read(option: str, text: str) -> float:
        try:
            sign = -1.0 if text.strip().startswith("-") else 1.0
            # A bare number is in metres, as the plan is.
            return sign * read_quantity(text.strip().lstrip("-"), "length", UNITS["m"])
        except ValueError as error:
            problems.append(Problem(option, str(error), 'write it as "1 m", "2 mm" or "1/8 in"'))
            return 0.0

    numbers = {option: read(option, text) for option, text in sizes.items()}
    rolls = tuple(sorted({read("--roll-length", text) for text in lengths}))
    if problems:
        raise Problems(problems)
    areas = read_plan(source)
    sheet = Sheet(
        numbers["--roll-width"],
        rolls,
        seam_gap_m=numbers["--seam-gap"],
        edge_gap_m=numbers["--edge-gap"],
        smallest_piece_m=numbers["--smallest-piece"],
    )
    plans = [AreaPlan(area.name, area.polygon) for area in areas]
    return layout_document(lay_out(plans, sheet, direction=direction))


def _prepared(source: Path, line: Path | None, date: str, membrane: str, advise: bool) -> Any:
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
    job: Job, line: Line = None, as_json: AsJson = False, membrane: Membrane = "", date: Date = ""
) -> None:
    """Count what to buy for each area: packs, weight, cost, hours."""
    papers = _prepared(job, line, date, membrane, advise=False)
    if as_json:
        print_json({"job": papers.answer["job"], "basis": papers.answer["basis"], "areas": papers.takeoffs})
        return
    from undercourse.base.problems import Problem, Problems
    from undercourse.cli.show_papers import show_takeoff

    if not papers.takeoffs:
        fix = "no sheet is recommended (see answer) or no area has an outline; name --membrane ID"
        raise Problems(papers.problems or [Problem(str(job), "there is nothing to count", fix)])
    for one in papers.takeoffs:
        show_takeoff(one)


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

    papers = _prepared(job, line, date, membrane, advise=True)
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
