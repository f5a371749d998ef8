"""The command that works out one demand."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from undercourse.cli.app import AsJson, Date, Line, app, print_json

if TYPE_CHECKING:
    from undercourse.advise.demanding import Setting
    from undercourse.facts.jobs import Job as JobRecord
    from undercourse.judge.rulebook import Rulebook


@app.command("demand")
def demand_command(
    name: Annotated[
        str, typer.Argument(help="A demand, such as joist_live_deflection; without one, the list.")
    ] = "",
    settings: Annotated[list[str] | None, typer.Option("--set", help="FACT=VALUE, repeatable.")] = None,
    job: Annotated[
        Path | None, typer.Option("--job", help="Take the facts of a job file instead of --set.")
    ] = None,
    area: Annotated[str, typer.Option("--area", help="Which area of the job; the first when left out.")] = "",
    candidate: Annotated[
        str, typer.Option("--candidate", help="Whose layers; those of the recommended when left out.")
    ] = "",
    sweep: Annotated[
        str, typer.Option("--sweep", help="FACT=a..b: a table of the demand along that fact.")
    ] = "",
    points: Annotated[int, typer.Option("--points", help="How many values of a sweep.")] = 13,
    as_csv: Annotated[bool, typer.Option("--csv", help="Print a sweep as CSV.")] = False,
    listing: Annotated[bool, typer.Option("--list", help="List all demands by subject.")] = False,
    as_json: AsJson = False,
    line: Line = None,
    date: Date = "",
) -> None:
    """Compute one demand from facts, with its working and source."""
    from undercourse.advise.demanding import demand_document, demand_list, set_demand, sweep_document
    from undercourse.base.problems import Problem, Problems
    from undercourse.cli.replying import read_whole_job
    from undercourse.files.shipped import rulebook

    if listing or not name:
        listed = demand_list()
        if as_json:
            print_json(listed)
        else:
            _list_demands(listed)
        return
    if as_csv and not sweep:
        raise Problems([Problem("--csv", "there is no sweep to print", 'add --sweep "FACT=a..b"')])
    if job is not None:
        if settings:
            raise Problems([Problem("--set", "the facts come from the job", "leave --set or --job out")])
        record, book = read_whole_job(job, line)
        setting = _of_job(name, record, area, candidate, book, date)
    else:
        book = rulebook(line)
        setting = set_demand(name, settings or [], book)
    if sweep:
        _print_sweep(sweep_document(setting, sweep, book, points), as_json, as_csv)
        return
    document = demand_document(setting, book)
    if as_json:
        print_json(document)
    else:
        _print_demand(document)


def _of_job(name: str, record: JobRecord, area: str, candidate: str, book: Rulebook, date: str) -> Setting:
    """The demand with an area's facts and the columns of the candidate that is meant."""
    from undercourse.advise.answers import answered
    from undercourse.advise.demanding import set_by_area
    from undercourse.cli.days import day
    from undercourse.cli.replying import chosen_rows

    row = chosen_rows(record, area, "demand")[0]
    document, evaluated = answered(record, book, day(date), advise=False)
    chosen = candidate or document["areas"][row]["recommended"]
    return set_by_area(name, evaluated, book, row, chosen)


def _print_demand(document: dict[str, Any]) -> None:
    from undercourse.cli.show_sheet import show_sheet

    outside = any(item["here"] == "no" for item in document["sheet"]["valid"])
    print(f"{document['title']}: {'not valid here' if outside else document['value_text']}")
    if outside:
        print(f"The formula alone would give {document['value_text']}; its ranges stand below.")
    print(document["working"]["sentence"])
    show_sheet(document["sheet"])
    nothing = [item["label"] for item in document["inputs"] if item["whole_domain"]]
    if nothing:
        print(
            f"Nothing is known of {', '.join(nothing)}: the ends are those of anything at all, no estimate."
        )
    still = [item["label"] for item in document["inputs"] if item["open"]]
    if still:
        print(f"Still open: {', '.join(still)}.")
    if document["unused"]:
        print(f"Set but not read: {', '.join(document['unused'])}.")
    print(f"Source: {document['source']}. Ground: {document['sheet']['ground']}.")
    for caution in document["sheet"]["cautions"]:
        print(f"Caution: {caution}")


def _list_demands(listed: list[dict[str, Any]]) -> None:
    for subject in dict.fromkeys(row["subject"] for row in listed):
        print(f"\n{subject}")
        for row in listed:
            if row["subject"] == subject:
                only = " (informs only)" if row["informs"] else ""
                print(f"  {row['name']}: {row['title']}{only}")
    print('\nWork one out: undercourse demand NAME --set "FACT=VALUE"')


def _print_sweep(document: dict[str, Any], as_json: bool, as_csv: bool) -> None:
    from undercourse.cli.show_sheet import show_sweep, sweep_csv

    if as_json:
        print_json(document)
    elif as_csv:
        print(sweep_csv(document), end="")
    else:
        show_sweep(document)
