"""Commands that look things up without a job: facts, rules, schemas."""

from __future__ import annotations

from typing import Annotated

import typer

from undercourse.cli.app import AsJson, app, print_json


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
