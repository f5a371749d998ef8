"""Commands that look things up without a job: facts, rules, demands, schemas."""

from __future__ import annotations

from typing import Annotated, Any

import typer

from undercourse.cli.app import AsJson, Line, app, print_json


@app.command("facts")
def facts_command(
    group: Annotated[str, typer.Argument(help="Only one group, or a word in a fact's name.")] = "",
    as_json: AsJson = False,
) -> None:
    """List every fact of a site: its unit, its domain, the question that asks for it."""
    from undercourse.files.shipped import vocabulary

    words = vocabulary()
    chosen = [f for f in words.facts.values() if not group or group in (f.group,) or group in f.name]
    if as_json:
        print_json([fact.document() for fact in chosen])
        return
    from rich.table import Table
    from rich.text import Text

    from undercourse.base.problems import Problem, Problems
    from undercourse.cli.show import console

    if not chosen:
        raise Problems(
            [Problem("facts", f'no group or fact matches "{group}"', f"groups: {', '.join(words.groups)}")]
        )
    out = console()
    for name in dict.fromkeys(fact.group for fact in chosen):
        out.print(Text(f"\n[{name}]", style="bold"))
        table = Table(box=None, show_header=False, padding=(0, 2, 0, 0))
        for fact in chosen:
            if fact.group == name:
                row = fact.document()
                domain = row["domain"]
                text = (
                    f"{domain['low']:g} to {domain['high']:g} {row['unit']}"
                    if isinstance(domain, dict)
                    else ", ".join(domain)
                )
                table.add_row(fact.name, Text(fact.question), Text(text, style="dim"))
        out.print(table)


@app.command("rule")
def rule_command(
    topic: Annotated[
        list[str] | None,
        typer.Argument(help="A topic or words, such as: flatness, curb height; all topics when left out."),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Answer a question about a rule of the trade without a site."""
    from undercourse.advise.rules import find_rules, near_topics
    from undercourse.base.problems import Problem, Problems
    from undercourse.files.shipped import practice, vocabulary

    asked = " ".join(topic or [])
    found = find_rules(asked, practice()[0], vocabulary())
    if asked and not found["rules"]:
        near = near_topics(asked, found["topics"])
        fix = f"try {' or '.join(near)}" if near else "list the topics with: undercourse rule"
        raise Problems([Problem("rule", f'no rule is filed under "{asked}"', fix)])
    if as_json:
        print_json(found)
        return
    if not asked:
        print("\n".join(found["topics"]))
        return
    from rich.padding import Padding
    from rich.text import Text

    from undercourse.cli.show import console

    out = console()
    for row in found["rules"]:
        out.print(Text(row["text"], style="bold"))
        where = f" {', '.join(row['jurisdiction'])}." if row["jurisdiction"] else ""
        if row["yields_to"] != "nobody":
            where += f" Yields to {row['yields_to']}."
        out.print(
            Padding(Text(f"{row['source'].rstrip('.')}.{where}", style="dim"), (0, 0, 0, 2), expand=False)
        )
        if row["because"] and row["because"] != row["text"]:
            out.print(Padding(Text(row["because"]), (0, 0, 0, 2), expand=False))
        if row["caution"]:
            out.print(Padding(Text(row["caution"], style="italic"), (0, 0, 0, 2), expand=False))


@app.command("demand")
def demand_command(
    name: Annotated[
        str, typer.Argument(help="A demand, such as joist_live_deflection; without one, the list.")
    ] = "",
    settings: Annotated[list[str] | None, typer.Option("--set", help="FACT=VALUE, repeatable.")] = None,
    sweep: Annotated[
        str, typer.Option("--sweep", help="FACT=a..b: a table of the demand along that fact.")
    ] = "",
    points: Annotated[int, typer.Option("--points", help="How many values of a sweep.")] = 13,
    as_csv: Annotated[bool, typer.Option("--csv", help="Print a sweep as CSV.")] = False,
    listing: Annotated[bool, typer.Option("--list", help="List all demands by subject.")] = False,
    as_json: AsJson = False,
    line: Line = None,
) -> None:
    """Compute one demand from facts, with its working and source."""
    from undercourse.advise.demanding import demand_document, demand_list, sweep_document
    from undercourse.base.problems import Problem, Problems
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
    if sweep:
        document = sweep_document(name, settings or [], sweep, rulebook(line), points)
        _print_sweep(document, as_json, as_csv)
        return
    document = demand_document(name, settings or [], rulebook(line))
    if as_json:
        print_json(document)
        return
    from undercourse.cli.show_sheet import show_sheet

    print(f"{document['title']}: {document['value_text']}")
    print(document["working"]["sentence"])
    show_sheet(document["sheet"])
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


@app.command("schema")
def schema_command(
    name: Annotated[
        list[str] | None,
        typer.Argument(help="A document, such as answer or line check; the list when left out."),
    ] = None,
) -> None:
    """Print the JSON Schema of a document."""
    from undercourse.base.problems import Problem, Problems
    from undercourse.cli.schemas import SCHEMAS

    if not name:
        for key, schema in SCHEMAS.items():
            print(f"{key}: {schema['title']}")
        return
    chosen = "-".join(" ".join(name).split())
    if chosen not in SCHEMAS:
        raise Problems(
            [Problem("schema", f'"{chosen}" is not a document', f"write one of {', '.join(SCHEMAS)}")]
        )
    print_json(SCHEMAS[chosen])
