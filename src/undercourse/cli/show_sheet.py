"""A calculation sheet and a sweep as a person reads them in a terminal."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping
from typing import Any

from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from undercourse.cli.show import console


def show_sheet(sheet: Mapping[str, Any]) -> None:
    """Inputs, then every step with its formula, its numbers and its result in both unit systems."""
    out = console()
    if sheet["choices"]:
        table = _table()
        for item in sheet["choices"]:
            table.add_row("", Text(item["label"]), Text(item["value_text"]), "", "")
        out.print(Padding(table, (1, 0, 0, 0)))
    out.print(Text("From", style="bold"))
    table = _table()
    for item in sheet["inputs"]:
        note = f"of {item['range']}" if item["range"] else item["source"].replace("told", "")
        table.add_row(item["symbol"], Text(item["label"]), *_both(item), Text(note, style="dim"))
    out.print(table)
    if sheet["steps"]:
        out.print(Text("Worked out", style="bold"))
    for step in sheet["steps"]:
        line = Text(f"  {step['symbol']}", style="bold")
        line.append(f"  {step['label']}", style="")
        out.print(line)
        if step["formula"]:
            out.print(Text(f"      = {step['formula']}"), soft_wrap=True)
            out.print(Text(f"      = {step['numbers']}  (SI base units)", style="dim"), soft_wrap=True)
        si, us = _both(step)
        result = si if not str(us) else Text(f"{us} ({si})")
        out.print(Text("      = ").append_text(result))
        if step["source"]:
            out.print(Text(f"      {step['source']}", style="dim"), soft_wrap=True)
    for item in sheet["valid"]:
        word = {"yes": "kept", "no": "not kept here", "open": "may not be kept here"}[item["here"]]
        out.print(Text(f"Holds for {item['label']} {item['range']}: {word}. {item['source']}"))
    if sheet["remark"]:
        out.print(Text(sheet["remark"]))


def show_sweep(document: Mapping[str, Any]) -> None:
    """A table of the demand along one fact."""
    out = console()
    out.print(Text(document["title"], style="bold"))
    table = Table(box=None, padding=(0, 2, 0, 0))
    table.add_column(document["along"])
    table.add_column(document["name"])
    for row in document["rows"]:
        table.add_row(Text(row["at_text"]), Text(row["value_text"]))
    out.print(table)


def sweep_csv(document: Mapping[str, Any]) -> str:
    """A sweep as CSV: the fact, the least and the greatest demand, units in the head."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    unit = f" [{document['unit']}]" if document["unit"] else ""
    names = (f"{document['along']} [{document['along_unit']}]", f"least{unit}", f"greatest{unit}")
    writer.writerow(names)
    writer.writerows((row["at"], row["low"], row["high"]) for row in document["rows"])
    return text.getvalue()


def _table() -> Table:
    table = Table(box=None, show_header=False, padding=(0, 2, 0, 0))
    for _ in range(5):
        table.add_column(overflow="fold")
    return table


def _both(item: Mapping[str, Any]) -> tuple[Text, Text]:
    return Text(item["si"]), Text("" if item["us"] == item["si"] else item["us"])
