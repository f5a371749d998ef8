"""Works that would make something suit, as a person reads them in a terminal."""

from __future__ import annotations

from typing import Any

from rich.console import Console
from rich.padding import Padding
from rich.text import Text

from undercourse.base.units import UNITS, show_quantity
from undercourse.cli.show import console


def show_prep(document: dict[str, Any]) -> None:
    """Each area: what to do, what follows, what it costs and who must agree first."""
    out = console()
    out.print(Text(document["job"], style="bold"))
    for area in document["areas"]:
        _show_area(out, area)


def _show_area(out: Console, area: dict[str, Any]) -> None:
    out.print()
    out.rule(Text(area["area"], style="bold"), align="left", characters="─", style="dim")
    if area["already"]:
        out.print(f"Nothing has to be done first. {area['already']}")
        return
    if not area["prep"]:
        out.print(
            f"None of the {area['works_looked_at']} works that can be done here makes anything suit, "
            "not even four of them together, on what is known. Open facts may be the reason; "
            "undercourse ask puts them."
        )
    for place, found in enumerate(area["prep"], 1):
        _show_set(out, place, found)
    if area["one_number"]:
        out.print(Text("One number alone", style="bold"))
    for number in area["one_number"]:
        out.print(Padding(Text(number["text"]), (0, 0, 0, 2)))


def _show_set(out: Console, place: int, found: dict[str, Any]) -> None:
    out.print(Text(f"{place}. {found['then']}", style="bold"))
    for text, who in zip(found["do"], found["by_whom"], strict=True):
        out.print(Padding(Text(f"{text} By: {who}."), (0, 0, 0, 3)))
    height = show_quantity(found["height_m"], UNITS["in"]) if found["height_m"] else "none"
    out.print(
        Padding(
            Text(
                f"{found['cost']:,.0f} {found['currency']} ({found['cost_basis']}); "
                f"{found['days']:g} days, one after the other; added height: {height}."
            ),
            (0, 0, 0, 3),
        )
    )
    for gate in found["gates"]:
        text = f"First: {gate['label']} = {gate['must_be']}, by {gate['who']}. {gate['because']}"
        out.print(Padding(Text(text), (0, 0, 0, 3)))
    for caution in found["cautions"]:
        out.print(Padding(Text(f"Caution: {caution}", style="dim"), (0, 0, 0, 3)))
