"""Known floors for tests of single demands: facts as people write them, one row."""

from __future__ import annotations

from dataclasses import replace

from undercourse.base.columns import Columns, NumberColumn, spec_column
from undercourse.base.domains import read_spec
from undercourse.base.frame import Frame
from undercourse.demands import DEMANDS, Tables
from undercourse.files.shipped import rulebook

BOOK = rulebook(None)
# A tile without weight, where a published case has none.
BARE: Tables = replace(BOOK.tables, tile_density={**BOOK.tables.tile_density, "ceramic": (0.0, 0.0)})
JOISTS = {
    "base": "sawn joists",
    "joist_species": "DF-L",
    "joist_grade": "No.2",
    "joist_size": "2x10",
    "joist_plies": "1",
    "joist_spans": "1",
    "joist_wet_service": "no",
    "joist_spacing": "16 in",
    "joist_span": "187 in",
    "live_load": "40 psf",
    "existing_dead_load": "10 psf",
    "finish": "ceramic",
    "tile_thickness": "0.25 in",
    "layers_weight": "0 lb/ft2",
}
STATED = {name: value for name, value in JOISTS.items() if name[:6] != "joist_"} | {
    "base": "I-joists",
    "joist_spacing": "16 in",
    "joist_span": "187 in",
    "joist_spans": "1",
}
PANEL = {
    "base": "sawn joists",
    "joist_spacing": "16 in",
    "live_load": "40 psf",
    "panel_rating": "48/24",
    "panel_kind": "OSB",
    "panel_layers": "1",
    "panel_across_joists": "yes",
    "panels_glued_together": "no",
    "panel_spans": "3",
}


def frame_of(facts: dict[str, str]) -> Frame:
    """One row in which all else is unknown."""
    columns = Columns(BOOK.domains, 1)
    for name, value in facts.items():
        columns[name] = spec_column(read_spec(BOOK.domains[name], value))
    return Frame(columns)


def ends(name: str, facts: dict[str, str], gentle: bool = False, **more: str) -> tuple[float, float]:
    """Least and greatest value of a demand, in SI."""
    value = DEMANDS[name].value(frame_of({**facts, **more}), BARE, gentle)
    assert isinstance(value, NumberColumn)
    return float(value.low[0]), float(value.high[0])


def known(name: str, facts: dict[str, str], **more: str) -> float:
    """The value of a demand on a floor that leaves nothing open."""
    low, high = ends(name, facts, **more)
    assert high - low <= 1e-9 * max(abs(high), 1e-12), (low, high)
    return high
