"""The demands that the judge uses, against the span tables of the building code.

Source: IRC 2015 to 2021, Tables R502.3.1(1) (30 psf live, 20 psf dead) and R502.3.1(2) (40 psf live, 10 psf
dead), L/360 live, No.2 grade, cells as printed on a carpentry reference page. A table span is the least of
bending, live-load deflection and shear, rounded to the nearest inch: so at half an inch less than printed
every share is kept, and at half an inch more one is not.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from undercourse.base.columns import Columns, NumberColumn, spec_column
from undercourse.base.domains import read_spec
from undercourse.base.frame import Frame
from undercourse.demands import DEMANDS
from undercourse.files.shipped import rulebook

BOOK = rulebook(None)
# A table's dead load has no tile in it.
TABLES = replace(BOOK.tables, tile_density={**BOOK.tables.tile_density, "ceramic": (0.0, 0.0)})
SPECIES = ("SP", "DF-L", "HF", "SPF")
FORTY = {
    "2x6": ("10-3 10-9 10-0 10-3", "9-4 9-9 9-1 9-4", "7-7 8-3 7-11 8-1"),
    "2x8": ("13-6 14-2 13-2 13-6", "11-10 12-9 12-0 12-3", "9-8 10-5 10-2 10-3"),
    "2x10": ("16-2 18-0 16-10 17-3", "14-0 15-7 15-2 15-5", "11-5 12-9 12-5 12-7"),
    "2x12": ("19-1 20-11 20-4 20-7", "16-6 18-1 17-7 17-10", "13-6 14-9 14-4 14-7"),
}
THIRTY = {
    "2x6": ("10-9 11-8 11-0 11-3", "9-4 10-1 9-10 9-11", "7-7 8-3 8-0 8-1"),
    "2x8": ("13-8 14-9 14-4 14-7", "11-10 12-9 12-5 12-7", "9-8 10-5 10-2 10-3"),
    "2x10": ("16-2 18-0 17-6 17-9", "14-0 15-7 15-2 15-5", "11-5 12-9 12-5 12-7"),
    "2x12": ("19-1 20-11 20-4 20-7", "16-6 18-1 17-7 17-10", "13-6 14-9 14-4 14-7"),
}
CELLS = [
    (live, dead, size, spacing, species, span)
    for table, live, dead in ((FORTY, "40 psf", "10 psf"), (THIRTY, "30 psf", "20 psf"))
    for size, rows in table.items()
    for spacing, row in zip(("12 in", "16 in", "24 in"), rows, strict=True)
    for species, span in zip(SPECIES, row.split(), strict=True)
]


def greatest_share(facts: dict[str, str], span_in: float) -> float:
    """The greatest of the three shares at a span, with no new dead load."""
    columns = Columns(BOOK.domains, 1)
    for name, value in {**facts, "joist_span": f"{span_in} in"}.items():
        columns[name] = spec_column(read_spec(BOOK.domains[name], value))
    frame = Frame(columns)
    shares = []
    for name, limit in (("joist_live_deflection", 1 / 360), ("joist_bending", 1.0), ("joist_shear", 1.0)):
        value = DEMANDS[name].value(frame, TABLES)
        assert isinstance(value, NumberColumn)
        assert value.high[0] == pytest.approx(value.low[0])
        shares.append(value.high[0] / limit)
    return max(shares)


@pytest.mark.parametrize(("live", "dead", "size", "spacing", "species", "span"), CELLS)
def test_printed_span_is_where_the_first_share_is_used_up(
    live: str, dead: str, size: str, spacing: str, species: str, span: str
) -> None:
    """Each printed cell, from both sides."""
    facts = {
        "base": "sawn joists",
        "joist_species": species,
        "joist_grade": "No.2",
        "joist_size": size,
        "joist_spacing": spacing,
        "joist_plies": "1",
        "joist_spans": "1",
        "joist_wet_service": "no",
        "live_load": live,
        "existing_dead_load": dead,
        "finish": "ceramic",
        "tile_thickness": "0.25 in",
        "layers_weight": "0 lb/ft2",
    }
    feet, inches = (int(part) for part in span.split("-"))
    printed = feet * 12 + inches
    assert greatest_share(facts, printed - 0.5001) <= 1.0 + 1e-9
    assert greatest_share(facts, printed + 0.5001) > 1.0
