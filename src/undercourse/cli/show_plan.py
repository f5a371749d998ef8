"""The areas of a plan as a person reads them in a terminal."""

from __future__ import annotations

from typing import Any

from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from undercourse.base.units import UNITS, show_quantity
from undercourse.cli.show import console
from undercourse.papers.wording import counted


def show_plan(document: dict[str, Any]) -> None:
    """Areas with sizes, then what was mended in each, what is wrong, and what is to know of the plan."""
    out = console()
    areas = counted(len(document["areas"]), "area")
    out.print(Text(f"{document['file']}: {areas}, unit {document['unit']}", style="bold"))
    storeys = any(area["storey"] for area in document["areas"])
    table = Table(box=None, padding=(0, 2, 0, 0))
    for name in ("Area", *(("Storey",) if storeys else ()), "Size", "Floor", "Obstacles", "Doors"):
        table.add_column(name, justify="left" if name in ("Area", "Storey", "Size") else "right")
    for area in document["areas"]:
        table.add_row(
            area["name"],
            *((area["storey"],) if storeys else ()),
            f"{area['length_m']:.2f} × {area['width_m']:.2f} m",
            show_quantity(area["area_m2"], UNITS["ft2"]),
            str(len(area["obstacles"])),
            str(len(area["doors"])),
        )
    out.print(Padding(table, (1, 0)))
    for area in document["areas"]:
        for repair in area["repairs"]:
            out.print(Text(f"{area['name']}: mended: {_repair(repair)}"))
        for note in area["notes"]:
            out.print(Text(f"{area['name']}: {note}", style="dim"))
    for fault in document["faults"]:
        out.print(Text(f"Cannot be laid: {fault['area']}: {fault['what']}; {fault['fix']}", style="bold"))
    for note in document["notes"]:
        out.print(Text(f"Plan: {note}", style="dim"))


def _repair(repair: dict[str, Any]) -> str:
    text = str(repair["what"])
    if repair["size_m"]:
        text += f", {repair['size_m'] * 1000:.3g} mm"
    if repair["at"]:
        text += f", at ({repair['at'][0]:.3f}, {repair['at'][1]:.3f}) m"
    return text
