"""The rows of what cannot be true together: each reads, bites, and leaves ordinary floors alone.

The rows hold by meaning or by geometry; the porcelain rows by the definition in ANSI A137.1.
"""

from __future__ import annotations

import tomllib
from pathlib import Path

import numpy as np
import pytest

import undercourse
from undercourse.base.columns import ChoiceColumn, Columns, NumberColumn, spec_column
from undercourse.base.domains import Choices, Domain, Span, Spec, read_spec
from undercourse.facts.consistency import Consistency, make_consistent, read_consistency
from undercourse.facts.vocabulary import Vocabulary, read_vocabulary

DATA = Path(undercourse.__file__).parent / "data"


def load() -> tuple[Vocabulary, Consistency, list[str]]:
    vocabulary = read_vocabulary(tomllib.loads((DATA / "vocabulary.toml").read_text("utf-8")), [])
    raw = tomllib.loads((DATA / "consistency.toml").read_text("utf-8"))
    ids = [row["id"] for row in raw["implies"] + raw["at_most_fact"]]
    return vocabulary, read_consistency(raw, vocabulary, "consistency.toml"), ids


VOCABULARY, ROWS, IDS = load()


def outside(domain: Domain, spec: Spec) -> Spec:
    """A set of values of the domain that shares nothing with ``spec``."""
    if isinstance(spec, Choices):
        everything = domain.everything
        assert isinstance(everything, Choices)
        return Choices(everything.bits & ~spec.bits)
    return Span(domain.high, domain.high) if spec.high < domain.high else Span(domain.low, domain.low)


def stated(**facts: object) -> Columns:
    columns = Columns(VOCABULARY.domains, 1)
    for name, raw in facts.items():
        columns[name] = spec_column(read_spec(VOCABULARY.domains[name], raw))
    return columns


def test_ids_are_unique() -> None:
    """A contradiction is named by its row."""
    assert len(set(IDS)) == len(IDS)


@pytest.mark.parametrize("row", ROWS.implies, ids=lambda row: row.id)
def test_row_bites_and_alone_is_possible(row) -> None:  # type: ignore[no-untyped-def]
    """A condition alone leaves a floor possible; with the opposite of each consequence none is."""
    columns = Columns(VOCABULARY.domains, 1)
    for name, spec in row.when.items():
        columns[name] = spec_column(spec)
    assert make_consistent(columns.copy(), ROWS) == []
    for name, spec in row.then.items():
        trial = columns.copy()
        trial[name] = spec_column(outside(VOCABULARY.domains[name], spec))
        assert make_consistent(trial, ROWS), f"{row.id}: {name} is never contradicted"


@pytest.mark.parametrize("row", ROWS.at_most, ids=lambda row: row.id)
def test_bound_prunes_both_ends(row) -> None:  # type: ignore[no-untyped-def]
    """The smaller fact is capped by the larger and lifts it."""
    small, large = VOCABULARY.domains[row.fact], VOCABULARY.domains[row.other]
    value = small.low + 0.4 * (small.high - small.low)
    columns = Columns(VOCABULARY.domains, 1)
    columns[row.fact] = spec_column(Span(value, value))
    assert make_consistent(columns, ROWS) == []
    assert np.isclose(columns.number(row.other).low[0], value)
    columns = Columns(VOCABULARY.domains, 1)
    columns[row.fact] = spec_column(Span(value, value))
    columns[row.other] = spec_column(Span(large.low, value * 0.9))
    assert make_consistent(columns, ROWS)


ORDINARY: dict[str, dict[str, object]] = {
    "cracked suspended slab": {
        "base": "suspended slab",
        "cracks": "in plane",
        "crack_width": "1/16 in",
        "base_joints": "contraction",
        "surface": "floor",
    },
    "walk-out basement": {
        "base": "slab on ground",
        "room": "basement",
        "grade_level": "on grade",
        "wheels": "none",
    },
    "heated bathroom floor": {
        "base": "sawn joists",
        "room": "bathroom",
        "heating": "electric cable",
        "heating_position": "in the membrane",
        "heating_power": "12 W/ft2",
        "top_surface": "plywood",
        "panel_layers": 2,
        "finish": "porcelain",
        "mosaic": True,
        "tile_long_edge": "2 in",
        "tile_short_edge": "2 in",
    },
    "no cracks, nothing repaired": {"base": "slab on ground", "cracks": "none", "cracks_repaired": False},
    "covered parking deck": {
        "base": "suspended slab",
        "room": "parking deck",
        "exposure": "exterior covered",
        "wheels": "soft rubber",
        "wheel_load": "1200 lb",
        "grade_level": "below grade",
        "space_below": "garage",
    },
    "condominium with a sound rule": {
        "base": "suspended slab",
        "space_below": "occupied room",
        "ceiling_below": "suspended on hangers",
        "iic_wanted": 50,
        "iic_basis": "laboratory",
        "delta_iic_wanted": 0,
        "wants_sound_reduction": True,
    },
    "trusses with a designer's figures": {
        "base": "open-web trusses",
        "framing_live_l_over": "L/480",
        "framing_total_l_over": "L/360",
    },
    "flat by 10 ft and by 2 ft": {
        "flatness_10ft": "3/16 in",
        "flatness_2ft": "1/16 in",
        "flatness_1ft": "1/16 in",
    },
    "plank tile": {
        "finish": "porcelain",
        "tile_long_edge": "36 in",
        "tile_short_edge": "6 in",
        "mosaic": False,
    },
    "shower wall on studs": {
        "base": "wall studs",
        "surface": "wall",
        "room": "shower",
        "wet_exposure": "wet",
    },
    "bathroom in a roof story": {
        "base": "sawn joists",
        "grade_level": "above grade",
        "hydrostatic_pressure": False,
    },
}


@pytest.mark.parametrize("name", ORDINARY)
def test_ordinary_floor_stays_possible(name: str) -> None:
    """No row forbids a floor that plainly exists (common practice, no source)."""
    assert make_consistent(stated(**ORDINARY[name]), ROWS) == []


IMPOSSIBLE: dict[str, dict[str, object]] = {
    "room under a slab on ground": {"base": "slab on ground", "space_below": "occupied room"},
    "short edge above the long edge": {"tile_long_edge": "12 in", "tile_short_edge": "24 in"},
    "wide crack where there is none": {"cracks": "none", "crack_width": "1/8 in"},
    "porcelain that drinks": {"finish": "porcelain", "tile_absorption": "3 %"},
    "power without heating": {"heating": "none", "heating_power": "12 W/ft2"},
    "deeper dip under the shorter edge": {"flatness_10ft": "1/8 in", "flatness_2ft": "1/4 in"},
}


@pytest.mark.parametrize("name", IMPOSSIBLE)
def test_impossible_floor_is_contradicted(name: str) -> None:
    """What cannot be, by the words' meaning, is named."""
    assert make_consistent(stated(**IMPOSSIBLE[name]), ROWS)


def table(rows: list[dict[str, Spec]]) -> Columns:
    """Several floors in one table."""
    columns = Columns(VOCABULARY.domains, len(rows))
    for name in {name for row in rows for name in row}:
        domain = VOCABULARY.domains[name]
        specs = [row.get(name, domain.everything) for row in rows]
        if domain.kind == "number":
            spans = [spec for spec in specs if isinstance(spec, Span)]
            columns[name] = NumberColumn(np.array([s.low for s in spans]), np.array([s.high for s in spans]))
        else:
            bits = [spec.bits for spec in specs if isinstance(spec, Choices)]
            columns[name] = ChoiceColumn(np.array(bits, dtype=np.uint64))
    return columns


def test_floors_of_one_table_are_made_consistent_each_by_itself() -> None:
    """Impossible neighbors neither hide each other nor stop what follows for an ordinary floor."""
    floors: list[dict[str, Spec]] = []
    for row in ROWS.implies:
        floors.append(dict(row.when))
        floors += [
            {**row.when, name: outside(VOCABULARY.domains[name], spec)} for name, spec in row.then.items()
        ]
    together = table(floors)
    found = make_consistent(together, ROWS)
    for place, facts in enumerate(floors):
        alone = table([facts])
        expected = make_consistent(alone, ROWS)
        here = {(c.rule, c.facts) for c in found if c.rows[place]}
        assert here == {(c.rule, c.facts) for c in expected}
        if not expected:
            for name in VOCABULARY.facts:
                assert together.spec(name, place) == alone.spec(name, 0), name
