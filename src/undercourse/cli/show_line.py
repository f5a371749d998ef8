"""A line as a person reads it in a terminal: what is wrong with it, a product, two side by side."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from rich.console import Console
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from undercourse.cli.show import console

Document = Mapping[str, Any]


def _indent(out: Console, text: str, style: str = "", by: int = 2) -> None:
    out.print(Padding(Text(text, style=style), (0, 0, 0, by), expand=False))


def _table(*names: str, right: Sequence[str] = ()) -> Table:
    table = Table(box=None, padding=(0, 2, 0, 0), show_edge=False, pad_edge=False)
    for name in names:
        table.add_column(name, justify="right" if name in right else "left", overflow="fold")
    return table


def show_audit(document: Document) -> None:
    """Faults first, then notes by place, then what is not stated, then the sample areas."""
    out = console()
    line = document["line"]
    out.print(
        Text(
            f"{line.get('maker', '')} {line.get('name', '')}, revision {line.get('revision', '')}",
            style="bold",
        )
    )
    counts = document["counts"]
    out.print(
        f"Looked over for {document['date']}:"
        f" {_many(counts['fault'], 'fault')}, {_many(counts['note'], 'note')}."
    )
    for severity, head in (("fault", "Faults"), ("note", "Notes")):
        rows = [row for row in document["faults"] if row["severity"] == severity]
        if rows:
            out.print()
            out.print(Text(head, style="bold"))
            _show_faults(out, rows)
    if document["not_stated"]:
        out.print()
        out.print(Text("Said to be not stated", style="bold"))
        for row in document["not_stated"]:
            where = f", {row['when']}" if row["when"] else ""
            _indent(out, f"{row['product']}: {row['label']}{where}. {row['because']}")
    _show_samples(out, document["samples"])


def _many(count: int, word: str) -> str:
    return f"{count or 'no'} {word}{'' if count == 1 else 's'}"


def _show_faults(out: Console, rows: Iterable[Document]) -> None:
    last = ""
    for row in rows:
        if row["where"] != last:
            _indent(out, row["where"], "dim")
            last = row["where"]
        _indent(out, f"{row['what']}; {row['fix']}", by=4)


def _show_samples(out: Console, samples: Document) -> None:
    if not samples["areas"]:
        return
    out.print()
    out.print(Text(f"On {samples['areas']} sample areas", style="bold"))
    numbers = ("Recommended", "Suitable", "Loses")
    table = _table("Membrane", *numbers, "Loses most to", "Would suit, but outranked by", right=numbers)
    for row in samples["products"]:
        table.add_row(
            row["name"],
            str(row["recommended"]),
            "never" if row["never_suitable"] else str(row["suitable"]),
            str(sum(row["loses_to"].values())),
            _most(row["loses_to"]),
            _most(row["outranked_by"]),
        )
    out.print(Padding(table, (0, 0, 0, 2), expand=False))
    for key, text in (("stopped", "Stopped by the site"), ("without", "Nothing recommended")):
        if samples[key]:
            _indent(out, f"{text}: {'; '.join(samples[key])}.")
    short = [row["id"] for row in samples["products"] if not row["met"]]
    _indent(
        out,
        f"Wanted: {samples['condition']}: {'met' if samples['met'] else 'not met by ' + ', '.join(short)}.",
    )


def _most(counts: Mapping[str, int]) -> str:
    ordered = sorted(counts.items(), key=lambda item: (-item[1], item[0]))[:3]
    return ", ".join(f"{name} {count}" for name, count in ordered) or "–"


def show_products(documents: Sequence[Document]) -> None:
    """One line a product."""
    out = console()
    table = _table("Product", "Name", "Role", "Kind or class", "Revision")
    for row in documents:
        what = row["kind"] if "membrane" in row["roles"] else ", ".join(row["classes"]) or row["kind"]
        gone = f" (withdrawn {row['withdrawn']})" if row["withdrawn"] else ""
        table.add_row(row["id"], row["name"] + gone, ", ".join(row["roles"]), what, row["revision"])
    out.print(table)


def show_product(document: Document) -> None:
    """A product's promises with what stands behind each."""
    out = console()
    out.print(Text(document["name"], style="bold"))
    facts = [", ".join(document["roles"]), document["kind"], ", ".join(document["classes"])]
    facts += [f"revision {document['revision']}, {document['date']}", ", ".join(document["regions"])]
    out.print("; ".join(fact for fact in facts if fact), style="dim")
    if document["provides"]:
        out.print(f"Provides {', '.join(document['provides'])}.")
    for key, text in (("supersedes", "Supersedes"), ("withdrawn", "Withdrawn"), ("last_buy", "Last buy")):
        if document[key]:
            out.print(f"{text} {document[key]}.")
    _head(out, "Properties", document["properties"])
    table = _table("", "")
    table.show_header = False
    for row in document["properties"]:
        table.add_row(row["label"], row["text"])
    out.print(Padding(table, (0, 0, 0, 2), expand=False))
    _head(out, "Limits", document["limits"])
    for row in document["limits"]:
        _show_limit(out, row)
    _head(out, "Needs", document["needs"])
    for row in document["needs"]:
        _indent(out, row["text"])
        _indent(out, f"{row['because']} ({row['basis']})", "dim", 4)
    _head(out, "Tests", document["evidence"])
    for row in document["evidence"]:
        _show_evidence(out, row)


def _head(out: Console, text: str, rows: Sequence[Any]) -> None:
    if rows:
        out.print()
        out.print(Text(text, style="bold"))


def _basis(row: Document) -> str:
    if row["ruling"]:
        ruling = row["ruling"]
        until = f" until {ruling['expires']}" if ruling["expires"] else ""
        return f"ruling of {ruling['who']}, {ruling['date']}{until}"
    return str(row["evidence"] or row["basis"])


def _show_limit(out: Console, row: Document) -> None:
    _indent(out, row["text"])
    asks = [f"reading at most {row['max_age_days']:g} days old"] if row["max_age_days"] else []
    if row["methods"]:
        asks = asks or ["reading"]
        asks[0] += f" by {' or '.join(row['methods'])}"
    more = f" Asks for a {', '.join(asks)}." if asks else ""
    _indent(out, f"{row['because']}{more} ({_basis(row)})", "dim", 4)


def _show_evidence(out: Console, row: Document) -> None:
    edition = f" ({row['edition']})" if row["edition"] else ""
    _indent(
        out,
        f"{row['id']}: {row['standard']}{edition}, {row['laboratory']}, {row['report']}, {row['date']}:"
        f" {row['result']}",
    )
    stack = "; ".join(" ".join(str(value) for value in layer.values()) for layer in row["tested"])
    respects = "; ".join(f"{one['fact'].replace('_', ' ')} {one['text']}" for one in row["respects"])
    _indent(out, f"Tested: {stack}. Carries over where: {respects or 'not said'}.", "dim", 4)


def show_comparison(document: Document) -> None:
    """Two products' promises in two columns; what is the same in both stays dim."""
    out = console()
    first, second = document["products"]
    out.print(Text(f"{first['name']} and {second['name']}", style="bold"))
    provides = document["provides"]
    for key, text in (
        ("both", "Both provide"),
        ("only_first", f"Only {first['id']}"),
        ("only_second", f"Only {second['id']}"),
    ):
        if provides[key]:
            out.print(f"{text}: {', '.join(provides[key])}.")
    _head(out, "Properties", document["properties"])
    _show_sides(
        out,
        first,
        second,
        [(row["label"], row["first"], row["second"], row["same"]) for row in document["properties"]],
    )
    _head(out, "Limits", document["limits"])
    rows = [
        (row["label"], _side(row["first"]), _side(row["second"]), row["same"]) for row in document["limits"]
    ]
    _show_sides(out, first, second, rows)
    out.print()
    for key, product in (("only_first", first), ("only_second", second)):
        if document[key]:
            out.print(f"Stated by {product['id']} alone: {'; '.join(document[key])}.")


def _side(rows: Sequence[Document]) -> str:
    parts = []
    for row in rows:
        where = f", {row['when']}" if row["when"] else ""
        parts.append(f"{row['capacity_text']}{where} ({_basis(row)})")
    return "\n".join(parts)


def _show_sides(
    out: Console, first: Document, second: Document, rows: Sequence[tuple[str, str | None, str | None, bool]]
) -> None:
    table = _table("", first["id"], second["id"])
    for name, one, other, same in rows:
        style = "dim" if same else ""
        table.add_row(
            Text(name), Text(one or "not stated", style=style), Text(other or "not stated", style=style)
        )
    out.print(Padding(table, (0, 0, 0, 2), expand=False))
