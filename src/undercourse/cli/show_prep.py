"""Works that would make something suit, as a person reads them in a terminal."""

from __future__ import annotations

from typing import Any

from rich.console import Console
from rich.padding import Padding
from rich.text import Text

from undercourse.base.units import UNITS, show_number, show_quantity
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
    weight = _weight(found["weight_kg_m2"]) if found["weight_kg_m2"] else "none"
    spent = f"{found['cost']:,.0f} {found['currency']} ({found['cost_basis']}); {_days(found['days'])}"
    text = f"{spent}, one after the other; added height: {height}; added weight: {weight}."
    out.print(Padding(Text(text), (0, 0, 0, 3)))
    for gate in found["gates"]:
        beside = _of_the_sum(gate, found["currency"])
        text = f"First {gate['label']}: {gate['must_be']}, by {gate['who']}{beside}. {gate['because']}"
        out.print(Padding(Text(text), (0, 0, 0, 3)))
    for caution in found["cautions"]:
        out.print(Padding(Text(f"Caution: {caution}", style="dim"), (0, 0, 0, 3)))


def _of_the_sum(gate: dict[str, Any], currency: str) -> str:
    """What a gate costs and takes, which the sum holds already."""
    parts = [f"{gate['cost']:,.0f} {currency}"] if gate["cost"] else []
    parts += [_days(gate["days"])] if gate["days"] else []
    return f" ({', '.join(parts)} of the sum)" if parts else ""


def _days(days: float) -> str:
    return f"{days:g} day{'' if days == 1 else 's'}"


def _weight(weight_kg_m2: float) -> str:
    in_pounds = weight_kg_m2 * UNITS["ft"].factor ** 2 / UNITS["lb"].factor
    return f"{show_number(in_pounds, 1)} lb/ft² ({show_number(weight_kg_m2, 0)} kg/m²)"
