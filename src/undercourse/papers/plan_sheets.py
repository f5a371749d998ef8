"""Sheets of a plan to scale as one PDF, each page of its true size."""

from __future__ import annotations

from collections.abc import Sequence

from undercourse.drawings import Sheet, to_svg
from undercourse.drawings.scaled_plan import EDGE_MM
from undercourse.papers.typesetting import PaperAssets, set_pdf

_TEMPLATE = b"""
#let data = json(bytes(sys.inputs.data))
#set document(title: data.title)
#set text(font: "Atkinson Hyperlegible Next", lang: "en", region: "us")
#for sheet in data.sheets {
  page(
    width: sheet.width * 1mm, height: sheet.height * 1mm, margin: data.edge * 1mm,
    image(bytes(sheet.svg), format: "svg", alt: sheet.alt, width: (sheet.width - 2 * data.edge) * 1mm),
  )
}
"""


def plan_pdf(
    sheets: Sequence[tuple[Sheet, tuple[float, float]]],
    title: str,
    font_folders: tuple[str, ...],
    timestamp: int = 0,
) -> bytes:
    """Set sheets on paper; a millimeter of a sheet is a millimeter on paper.

    Parameters
    ----------
    sheets : sequence of (Sheet, (width, height))
        As ``scaled_sheets`` gives them. [mm]
    timestamp : int
        Seconds since 1970 that the file says it was made at, so that the same plan gives the same bytes.
    """
    data = {
        "title": title,
        "edge": EDGE_MM,
        "sheets": [
            {"svg": to_svg(sheet).decode(), "alt": sheet.description, "width": width, "height": height}
            for sheet, (width, height) in sheets
        ],
    }
    return set_pdf(PaperAssets({"main.typ": _TEMPLATE}, font_folders), data, timestamp=timestamp, page="a4")
