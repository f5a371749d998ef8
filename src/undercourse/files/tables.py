"""Standard tables that ship with the program, read from CSV into arrays."""

from __future__ import annotations

import csv
from importlib.resources import files

import numpy as np

from undercourse.base.columns import Floats
from undercourse.base.paired import PAIRS
from undercourse.base.units import UNITS, read_quantity, to_si
from undercourse.demands import Tables
from undercourse.demands.record import ChoiceTable
from undercourse.facts.vocabulary import Vocabulary
from undercourse.line.records import Practice

_PSI = UNITS["psi"].factor
_INCH = 0.0254
# EI of a panel per foot of width, lbf in2 per ft, into N m2 per m.
_EI = 4.4482216152605 * _INCH**2 / 0.3048
# Lumber of an unlisted species, grade or size: from small and weak to deep and dense. From memory.
_OTHER_E, _OTHER_FB, _OTHER_FV = (0.8e6, 2.2e6), (250.0, 3500.0), (90.0, 265.0)
_OTHER_SECTION = ((1.5, 3.5), (4.5, 18.0))
# Size factor on bending strength over the depths of an unlisted size (NDS Supplement 2018, Table 4A).
_OTHER_SIZE_FACTOR = (0.9, 1.5)
# Bending strength times size factor up to which wet service does not lower it, psi (same table).
_WET_THRESHOLD = 1150.0
# Density of finishes, kg/m3: stone from the least densities of ASTM C503, C568, C615 and C616 up to
# dense stone; the rest from memory.
TILE_DENSITY = {
    "ceramic": (1700.0, 2400.0),
    "porcelain": (2200.0, 2500.0),
    "quarry": (2000.0, 2400.0),
    "glass": (2400.0, 2600.0),
    "natural stone": (1760.0, 3000.0),
    "agglomerate": (2200.0, 2600.0),
    "cement tile": (1900.0, 2400.0),
    "terracotta": (1600.0, 2200.0),
    "gauged panel": (2200.0, 2600.0),
    "not tile": (0.0, 3000.0),
    "other": (1000.0, 3200.0),
}
# Panels of an unlisted rating, from memory: from thin sheathing to the stiffest tabulated.
_OTHER_PANEL = (40_000.0, 1_300_000.0)


def read_csv(name: str) -> list[dict[str, str]]:
    """Rows of a shipped table, comment lines left out."""
    text = files("undercourse").joinpath("data", "tables", name).read_text(encoding="utf-8")
    return list(
        csv.DictReader(line for line in text.splitlines() if line.strip() and not line.startswith("#"))
    )


def choice_ranges() -> dict[str, dict[str, tuple[float, float]]]:
    """Quantity to choice to its least and greatest value in SI, from every ``ranges_*.csv``.

    Columns: quantity, choice, low, high, unit, status, source.
    """
    found: dict[str, dict[str, tuple[float, float]]] = {}
    folder = files("undercourse").joinpath("data", "tables")
    for name in sorted(entry.name for entry in folder.iterdir() if entry.name.startswith("ranges_")):
        for row in read_csv(name):
            ends = [_in_si(float(row[end]), row["unit"]) for end in ("low", "high")]
            found.setdefault(row["quantity"], {})[row["choice"]] = (ends[0], ends[1])
    return found


def _in_si(value: float, unit: str) -> float:
    if unit in UNITS:
        return to_si(value, UNITS[unit])
    pair = PAIRS[unit]
    return value * pair.si_factor + pair.si_offset


def nominal_sizes() -> list[tuple[str, float, float]]:
    """Rows (kind, as written [m], actual [m]) of the nominal size table."""
    found = []
    for row in read_csv("nominal_sizes.csv"):
        try:
            written = read_quantity(row["as_written"], "length")
        except ValueError:
            continue
        found.append((row["kind"], written, float(row["actual_m"])))
    return found


def _joists(vocabulary: Vocabulary) -> dict[str, Floats]:
    species, grades, sizes = (
        vocabulary.domains[name].choices for name in ("joist_species", "joist_grade", "joist_size")
    )
    sections = {
        row["size"]: (float(row["width_in"]), float(row["depth_in"]))
        for row in read_csv("lumber_sections.csv")
    }
    factors = {
        (row["species"], row["size"]): float(row["size_factor"]) for row in read_csv("size_factors.csv")
    }
    values = {}
    for row in read_csv("lumber_reference_values.csv"):
        values[row["species"], row["grade"], row["size"]] = (
            float(row["e_psi"]),
            float(row["fb_psi"]),
            float(row["fv_psi"]),
        )
    shape = (len(species), len(grades), len(sizes), 2)
    names = ("ei_nm2", "moment_nm", "wet_moment_nm", "shear_n", "depth_m")
    tables = {name: np.zeros(shape) for name in names}
    for i, kind in enumerate(species):
        for j, grade in enumerate(grades):
            for k, size in enumerate(sizes):
                found = values.get((kind, grade, size)) or values.get((kind, grade, "any"))
                if found is None and size == "2x14":
                    found = values.get((kind, grade, "2x12"))
                if found is None:
                    e, fb, fv = _OTHER_E, _OTHER_FB, _OTHER_FV
                else:
                    factor = factors.get((kind, size), 1.0)
                    ranged = (factor, factor) if size in sections else _OTHER_SIZE_FACTOR
                    e, fv = (found[0],) * 2, (found[2],) * 2
                    fb = (found[1] * ranged[0], found[1] * ranged[1])
                ends = (sections[size],) * 2 if size in sections else _OTHER_SECTION
                for end in (0, 1):
                    width, depth = ends[end][0] * _INCH, ends[end][1] * _INCH
                    tables["ei_nm2"][i, j, k, end] = e[end] * _PSI * width * depth**3 / 12
                    # A single member; floor load duration 1.0.
                    dry = fb[end] * _PSI * width * depth**2 / 6
                    tables["moment_nm"][i, j, k, end] = dry
                    wet = 1.0 if fb[end] <= _WET_THRESHOLD * (1 + 1e-9) else 0.85
                    tables["wet_moment_nm"][i, j, k, end] = dry * wet
                    tables["shear_n"][i, j, k, end] = fv[end] * _PSI * width * depth * 2 / 3
                    tables["depth_m"][i, j, k, end] = depth
    # All of them in one array, [species, grade, size, end, quantity], for one look-up.
    return tables | {"all": np.stack([tables[name] for name in names], axis=-1)}


def _depths(vocabulary: Vocabulary, joists: dict[str, Floats]) -> ChoiceTable:
    """Depth of a joist by its size alone."""
    choices, depths = vocabulary.domains["joist_size"].choices, joists["depth_m"]
    ends = depths[..., 0].min(axis=(0, 1)), depths[..., 1].max(axis=(0, 1))
    return ChoiceTable(
        {choice: (float(low), float(high)) for choice, low, high in zip(choices, *ends, strict=True)}
    )


def _panels(vocabulary: Vocabulary, kind: str = "") -> ChoiceTable:
    """EI by span rating, of plywood or OSB alone or of both."""
    found: dict[str, tuple[float, float]] = {}
    for row in read_csv("panel_design_values.csv"):
        if row["direction"] != "parallel" or not row["ei_lbf_in2_ft"]:
            continue
        if kind and (row["panel"] == "OSB") != (kind == "OSB"):
            continue
        value = float(row["ei_lbf_in2_ft"]) * _EI
        low, high = found.get(row["span_rating"], (value, value))
        found[row["span_rating"]] = (min(low, value), max(high, value))
    found["other"] = (_OTHER_PANEL[0] * _EI, _OTHER_PANEL[1] * _EI)
    return ChoiceTable({choice: found[choice] for choice in vocabulary.domains["panel_rating"].choices})


def _by_kind(vocabulary: Vocabulary) -> dict[str, ChoiceTable]:
    """EI by span rating for each kind of panel, and that of a second layer, which may have no rating."""
    found = {}
    for kind in vocabulary.domains["panel_kind"].choices:
        table = _panels(vocabulary, kind if kind in ("plywood", "OSB") else "")
        found[f"panel_ei_{kind}"] = table
        found[f"second_panel_ei_{kind}"] = ChoiceTable({**table, "other": (0.0, table["other"][1])})
    return found


def _load_classes(vocabulary: Vocabulary, practice: Practice) -> dict[str, ChoiceTable]:
    found: dict[str, ChoiceTable] = {}
    for name in ("occupancy", "wheels"):
        choices = vocabulary.domains[name].choices
        # A use that the practice table does not list asks for the highest class.
        ranks = dict.fromkeys(choices, 5.0)
        for row in practice.load_classes:
            key = row.occupancy if name == "occupancy" else row.wheels
            if key in ranks:
                ranks[key] = float(row.rank)
        found[name] = ChoiceTable({choice: (rank, rank) for choice, rank in ranks.items()})
    return found


def standard_tables(vocabulary: Vocabulary, practice: Practice) -> Tables:
    """All tables that demands look up."""
    missing = set(vocabulary.domains["finish"].choices) - set(TILE_DENSITY)
    density = {**TILE_DENSITY, **dict.fromkeys(missing, TILE_DENSITY["other"])}
    joists = _joists(vocabulary)
    return Tables(
        joists,
        _panels(vocabulary),
        _load_classes(vocabulary, practice),
        ChoiceTable(density),
        {name: ChoiceTable(ranges) for name, ranges in choice_ranges().items()}
        | _by_kind(vocabulary)
        | {"joist_depth": _depths(vocabulary, joists)},
    )
