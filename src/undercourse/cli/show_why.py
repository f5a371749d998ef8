"""Reasons as a person reads them in a terminal."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from rich.console import Console
from rich.padding import Padding
from rich.text import Text

from undercourse.cli.show import console


def show_why(document: dict[str, Any]) -> None:
    """The proof first, then what tells two products apart, then what would change the choice."""
    out = console()
    out.print(Text(document["job"], style="bold"))
    for area in document["areas"]:
        out.print()
        out.rule(Text(area["area"], style="bold"), align="left", characters="─", style="dim")
        _show_proof(out, area["proof"])
        if area["apart"] is not None:
            _show_apart(out, area["apart"])
        if area["loses"]:
            out.print(Text("\nIt would no longer be recommended with", style="bold"))
            _lines(
                out,
                [
                    f"{item['label']} (now {item['now']}): {item['loses_when']}; "
                    f"then {', or '.join(item['then'])}"
                    for item in area["loses"]
                ],
            )


def _show_proof(out: Console, proof: dict[str, Any]) -> None:
    out.print(Text(proof["sentence"], style="bold"))
    _lines(out, [item["sentence"] for item in proof["facts"]])
    if proof["because"]:
        out.print(Text("Because", style="italic"))
        _lines(out, [_because(item) for item in proof["because"]])


def _show_apart(out: Console, apart: dict[str, Any]) -> None:
    out.print(Text(f"\n{apart['sentence']}", style="bold"))
    _lines(out, [item["sentence"] for item in apart["facts"]])
    for key, name in (("against_first", apart["first"]), ("against_second", apart["second"])):
        if apart[key]:
            out.print(Text(f"Only about {name}", style="italic"))
            _lines(out, [f"{_because(item)} {' '.join(item['facts'])}" for item in apart[key]])


def _because(item: dict[str, str]) -> str:
    numbers = f" {item['numbers'][:1].upper()}{item['numbers'][1:]}." if item["numbers"] else ""
    return f"{item['reason']}{numbers} ({item['source']})"


def _lines(out: Console, texts: Sequence[str]) -> None:
    for text in texts:
        out.print(Padding(Text(text), (0, 0, 0, 2)))
