"""Layouts and quantities as a person reads them in a terminal."""

from __future__ import annotations

from typing import Any

from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from undercourse.base.units import UNITS, show_quantity
from undercourse.cli.show import console
from undercourse.drawings.measures import length_text


def _area(square_meters: float) -> str:
    return show_quantity(square_meters, UNITS["ft2"])


def _length(meters: float) -> str:
    return show_quantity(meters, UNITS["ft"])


def show_layout(document: dict[str, Any]) -> None:
    """Rolls, waste and bound; then each area's strips, seams, corners and cut list."""
    out = console()
    if "product" in document:
        out.print(Text(document["product"]["name"], style="bold"))
    bound = document["roll_bound"]
    proof = "fewer are not possible" if document["rolls"] == bound else f"no layout needs fewer than {bound}"
    count = "1 roll" if document["rolls"] == 1 else f"{document['rolls']} rolls"
    waste = max(document["waste"], 0.0) * 100
    out.print(f"{count}; {proof}. Waste {waste:.1f} % of what is used.")
    out.print(_proof(document))
    out.print(f"Net {_area(document['net_area_m2'])}, used {_area(document['consumed_area_m2'])}.")
    for area in document["areas"]:
        out.print()
        out.print(Text(area["name"], style="bold"))
        seams, edges = _length(area["seam_length_m"]), _length(area["edge_length_m"])
        corners = f"{area['inside_corners']} inside, {area['outside_corners']} outside corners"
        strips = f"{_area(area['net_area_m2'])}; {len(area['strips'])} strips"
        out.print(f"  {strips}; seams {seams}; edges {edges}; {corners}")
        for words in _marked(area):
            out.print(Padding(Text(words), (0, 0, 0, 2)))
        for note in area.get("notes", ()):
            out.print(Padding(Text(note), (0, 0, 0, 2)))
    table = Table(box=None, padding=(0, 2, 0, 0))
    for name in ("Piece", "Area", "Width", "Length", "Roll", "At"):
        table.add_column(name, justify="left" if name in ("Piece", "Area") else "right")
    for piece in document["pieces"]:
        table.add_row(
            piece["id"],
            piece["area"],
            length_text(piece["width_m"]),
            length_text(piece["length_m"]),
            str(piece["roll"]),
            length_text(piece["at"][0]) if piece["at"][0] else "0",
        )
    out.print(Padding(table, (1, 0, 0, 0)))
    if document.get("alternatives"):
        out.print(Padding(_alternatives(document["alternatives"]), (1, 0, 0, 0)))
    for gap in document.get("uncovered", ()):
        out.print(Text(f"Not covered: {gap['area']}: {gap['why']}; {gap['fix']}", style="bold"))


def _alternatives(ways: list[dict[str, Any]]) -> Table:
    """Other ways to lay the same areas, from least sheet to shortest seams."""
    table = Table(box=None, padding=(0, 2, 0, 0), title="Sheet against seams", title_justify="left")
    for name in ("Sheet", "Seams", "Pieces", "Cost", "Seams weighed", "Direction", "Head joints"):
        table.add_column(name, justify="right")
    for way in ways:
        turned = way["direction_deg"]
        table.add_row(
            f"{way['consumed_area_m2']:.2f} m²",
            f"{way['seam_length_m']:.1f} m",
            str(way["pieces"]),
            f"{way['cost']:.2f}",
            f"{way['seam_weight']:g} times",
            "free" if turned is None else f"{turned:.1f}°",
            "yes" if way["head_joints"] else "no",
        )
    return table


def _proof(document: dict[str, Any]) -> str:
    """How near the cut plan comes to what is proven for its strips, and what the chosen strips cost."""
    cost, least = document["objective"], document["bounds"]["objective"]
    gap = (1 - least / cost) * 100 if cost > 0 else 0.0
    if gap < 0.005:
        return "These strips cannot be cut at less cost."
    return f"Cutting these strips costs at most {gap:.2f} % more than is proven to be needed."


def _marked(area: dict[str, Any]) -> list[str]:
    """Movement joints and heating cable of an area, a line each."""
    told = []
    joints, cable = area.get("movement_joints"), area.get("heating_cable")
    if joints and joints["longest_field_m"] is not None:
        count = len(joints["fields"])
        fields = "one field" if count == 1 else f"{count} fields"
        told.append(
            f"movement joints {_length(joints['joint_length_m'])} in {fields}, none longer than "
            f"{_length(joints['longest_field_m'])}"
        )
    if cable and cable["circuits"]:
        kits = ", ".join(one["item_number"] for one in cable["circuits"])
        told.append(f"heating cable {kits}: {_area(cable['heated_m2'])} heated, {cable['amps']:.1f} A")
    return told


def show_takeoff(document: dict[str, Any]) -> None:
    """Packs to buy with cost and weight."""
    out = console()
    out.print()
    out.print(Text(f"{document['area']}, {_area(document['net_area_m2'])}", style="bold"))
    table = Table(box=None, padding=(0, 2, 0, 0))
    for name in ("Item", "Product", "As", "Need", "Packs", "Pack", "Cost"):
        table.add_column(name, justify="right" if name in ("Need", "Packs", "Cost") else "left")
    for line in document["lines"]:
        unit = {"m2": "m²", "piece": "pc"}.get(line["unit"], line["unit"])
        table.add_row(
            line["item_number"],
            line["name"],
            line["role"],
            f"{line['need']:.1f} {unit}",
            str(line["packs"]) if line["packs"] is not None else "?",
            line["pack"],
            f"{line['cost']:,.2f}" if line["cost"] is not None else line["note"],
        )
    out.print(table)
    total = (
        f"{document['currency']} {document['cost']:,.2f}"
        if document["cost"] is not None
        else "several currencies"
    )
    weight = show_quantity(document["weight_kg"], UNITS["lb"])
    out.print(f"Material {total}; {weight}; about {document['hours']:.1f} working hours at the stated rates.")
    out.print(Text(f"Allowance: {document['allowance']}.", style="dim"))
    for one in document["also"]:
        out.print(Text(f"Not of this line, besides: {one['what']}, {one['need']:.1f} {one['unit']}."))
    for note in document["notes"]:
        out.print(Text(note, style="dim"))
