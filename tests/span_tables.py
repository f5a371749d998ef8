"""Puts the shipped wood tables and the joist formulas together, to print span table cells."""

from __future__ import annotations

import csv
from collections.abc import Sequence
from functools import cache
from pathlib import Path

import numpy as np
from scipy.constants import foot, inch, lbf, psi

import undercourse
from undercourse.physics import joists, panels, spans, wheel_test

TABLES = Path(undercourse.__file__).parent / "data" / "tables"
PSF = lbf / foot**2
REPETITIVE = 1.15


@cache
def read_table(name: str) -> tuple[dict[str, str], ...]:
    """Rows of a shipped table without its comment lines."""
    with (TABLES / name).open(encoding="utf-8", newline="") as lines:
        return tuple(csv.DictReader(line for line in lines if not line.startswith("#")))


def find_row(name: str, **keys: str) -> dict[str, str]:
    """The one row of a table in which every key has the given value."""
    rows = [row for row in read_table(name) if all(row[key] == value for key, value in keys.items())]
    assert len(rows) == 1, f"{name}: {len(rows)} rows for {keys}"
    return rows[0]


def joist_spans(
    species: str, grade: str, size: str, spacing_m: float, live_pa: float, dead_pa: float, span_ratio: float
) -> dict[str, float]:
    """Unrounded spans of one table cell: bending, deflection, shear and the least. [m]"""
    section = find_row("lumber_sections.csv", size=size)
    factor = float(find_row("size_factors.csv", species=species, size=size)["size_factor"])
    value_size = size if species == "SP" else "any"
    values = find_row("lumber_reference_values.csv", species=species, grade=grade, size=value_size)
    width_m, depth_m = float(section["width_in"]) * inch, float(section["depth_in"]) * inch
    shape = joists.section_properties(width_m, depth_m)
    strength = joists.adjusted_bending_strength(float(values["fb_psi"]) * psi, factor, REPETITIVE, 1.0, 1.0)
    total, live = (live_pa + dead_pa) * spacing_m, live_pa * spacing_m
    stiffness = float(values["e_psi"]) * psi * shape.second_moment_m4
    found = {
        "bending_m": joists.bending_span(strength, shape.section_modulus_m3, total),
        "deflection_m": joists.deflection_span(stiffness, live, span_ratio),
        "shear_m": joists.shear_span(float(values["fv_psi"]) * psi, shape.area_m2, depth_m, total),
    }
    result = {name: float(span) for name, span in found.items()}
    return result | {
        "allowable_m": float(joists.allowable_span(**found)),
        "governs": float(joists.governing_check(**found)),
    }


def joist_spacing(
    species: str, grade: str, size: str, span_m: float, live_pa: float, dead_pa: float, span_ratio: float
) -> dict[str, float]:
    """Widest spacing of a table joist on a given simple span: bending, deflection, shear and least. [m]"""
    section = find_row("lumber_sections.csv", size=size)
    factor = float(find_row("size_factors.csv", species=species, size=size)["size_factor"])
    values = find_row(
        "lumber_reference_values.csv",
        species=species,
        grade=grade,
        size=size if species == "SP" else "any",
    )
    width_m, depth_m = float(section["width_in"]) * inch, float(section["depth_in"]) * inch
    shape = joists.section_properties(width_m, depth_m)
    strength = joists.adjusted_bending_strength(float(values["fb_psi"]) * psi, factor, REPETITIVE, 1.0, 1.0)
    simple, total = spans.span_coefficients(1), live_pa + dead_pa
    stiffness = joist_stiffness(species, grade, size)
    found = {
        "bending_m": spans.bending_spacing(strength, shape.section_modulus_m3, total, span_m, simple.moment),
        "deflection_m": spans.deflection_spacing(stiffness, live_pa, span_m, span_ratio, simple.all_loaded),
        "shear_m": spans.shear_spacing(
            float(values["fv_psi"]) * psi, shape.area_m2, depth_m, total, span_m, simple.shear
        ),
    }
    result = {name: float(spacing) for name, spacing in found.items()}
    return result | {"allowable_m": min(result.values())}


def span_cells(
    species: str,
    grade: str,
    sizes: Sequence[str],
    spacing_m: float,
    live_pa: float,
    dead_pa: float,
    span_ratio: float,
) -> list[str]:
    """Cells of one row of a span table as the code prints them, feet and inches."""
    cells = []
    for size in sizes:
        spans = joist_spans(species, grade, size, spacing_m, live_pa, dead_pa, span_ratio)
        inches = round(float(joists.round_span(spans["allowable_m"])) / inch)
        cells.append(f"{inches // 12}-{inches % 12}")
    return cells


def joist_stiffness(species: str, grade: str, size: str) -> float:
    """EI of one dressed joist. [N m2]"""
    section = find_row("lumber_sections.csv", size=size)
    value_size = size if species == "SP" else "any"
    values = find_row("lumber_reference_values.csv", species=species, grade=grade, size=value_size)
    shape = joists.section_properties(float(section["width_in"]) * inch, float(section["depth_in"]) * inch)
    return float(values["e_psi"]) * psi * float(shape.second_moment_m4)


def joist_deflections(
    species: str,
    grade: str,
    size: str,
    spacing_m: float,
    span_m: float,
    live_pa: float,
    dead_pa: float,
    creep_factor: float,
) -> dict[str, float]:
    """Live, dead and long-term deflection of one joist of a floor. [m]"""
    stiffness = joist_stiffness(species, grade, size)
    live = joists.simple_span_deflection(live_pa * spacing_m, span_m, stiffness)
    dead = joists.simple_span_deflection(dead_pa * spacing_m, span_m, stiffness)
    total = joists.total_deflection(live, dead, creep_factor)
    return {"live_m": float(live), "dead_m": float(dead), "total_m": float(total)}


def panel_stiffness(ratings: Sequence[str]) -> float:
    """EI per metre of width of OSB layers laid loose on each other, strength axis across joists. [N m]"""
    rows = [
        find_row("panel_design_values.csv", span_rating=r, panel="OSB", direction="parallel") for r in ratings
    ]
    layers = [float(row["ei_lbf_in2_ft"]) * lbf * inch**2 / foot for row in rows]
    return float(panels.loose_layers_stiffness(layers))


def osb_load_at_limit(rating: str, spacing_m: float, span_ratio: float, spans: int) -> float:
    """Uniform load at which an OSB floor panel reaches its deflection limit. [Pa]"""
    lengths = panels.panel_spans(spacing_m, 1.5 * inch, 0.25 * inch)
    return float(panels.deflection_load(panel_stiffness([rating]), lengths.deflection_m, span_ratio, spans))


def osb_deflection(ratings: Sequence[str], spacing_m: float, load_pa: float, spans: int) -> float:
    """Deflection of loose OSB layers between joists under uniform load. [m]"""
    lengths = panels.panel_spans(spacing_m, 1.5 * inch, 0.25 * inch)
    deflection = panels.uniform_deflection(load_pa, lengths.deflection_m, panel_stiffness(ratings), spans)
    return float(deflection)


def osb_bending_load(rating: str, spacing_m: float, spans: int) -> float:
    """Uniform load at which an OSB floor panel reaches its bending capacity. [Pa]"""
    row = find_row("panel_design_values.csv", span_rating=rating, panel="OSB", direction="parallel")
    capacity_n = float(row["fbs_lbf_in_ft"]) * lbf * inch / foot
    return float(panels.bending_load(capacity_n, spacing_m, spans))


def wheel_test_totals(last_cycle: Sequence[int]) -> dict[str, list[float]]:
    """Revolutions and hours run through each of some last cycles of the schedule."""
    rows = read_table("c627_cycles.csv")
    revolutions = wheel_test.total_through_cycle(last_cycle, [float(row["revolutions"]) for row in rows])
    hours = wheel_test.total_through_cycle(last_cycle, [float(row["hours"]) for row in rows])
    return {"revolutions": revolutions.tolist(), "hours": hours.tolist()}


def wheel_test_ratings(last_cycle: Sequence[int]) -> list[str]:
    """Names of the ratings reached by surviving through each of some cycles."""
    rows = read_table("c627_ratings.csv")
    names = [*(row["rating"] for row in rows), "none"]
    reached = wheel_test.rating_reached(last_cycle, [int(row["last_cycle"]) for row in rows])
    return [names[position] for position in np.asarray(reached)]


def wheel_force(cycle: int) -> float:
    """Whole load on the floor in one cycle, three wheels. [N]"""
    row = find_row("c627_cycles.csv", cycle=str(cycle))
    return float(wheel_test.tester_force(float(row["load_per_wheel_lbf"]) * lbf, 3))


def nailed_floor(slip_modulus_n_m: Sequence[float]) -> dict[str, list[float]]:
    """Slip factor and stiffness over the bare joist: DF-L No.2 2x10 at 16 in under a 0.594 in panel.

    Span 15.58 ft, fasteners at 6 in, axial modulus of the panel taken as 600,000 psi.
    """
    panel_m, spacing_m, modulus_pa = 0.594 * inch, 16 * inch, 600_000 * psi
    bare = joist_stiffness("DF-L", "No.2", "2x10")
    result = joists.jointed_stiffness(
        panel_axial_n=modulus_pa * panel_m * spacing_m,
        panel_bending_nm2=modulus_pa * spacing_m * panel_m**3 / 12,
        joist_axial_n=1.6e6 * psi * 1.5 * 9.25 * inch**2,
        joist_bending_nm2=bare,
        centroid_distance_m=(panel_m + 9.25 * inch) / 2,
        fastener_spacing_m=6 * inch,
        slip_modulus_n_m=slip_modulus_n_m,
        span_m=15.58 * foot,
    )
    ratio = result.stiffness_nm2 / bare
    return {"slip_factor": result.slip_factor.tolist(), "stiffness_ratio": ratio.tolist()}
