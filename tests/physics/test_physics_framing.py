"""Directions and identities that joist and panel formulas keep for any input."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import undercourse
from undercourse.physics import joists, panels

TABLES = Path(undercourse.__file__).parent / "data" / "tables"
LOADS = st.floats(10.0, 1e5)
SPANS = st.floats(0.2, 12.0)
STIFFNESS = st.floats(1e2, 1e7)
MORE = st.floats(1.001, 10.0)
COUNTS = st.integers(1, 4)


@given(LOADS, SPANS, STIFFNESS, MORE)
def test_joist_deflection_grows_with_load_and_span_and_falls_with_stiffness(w, span, ei, more):
    """Kernels declare these directions; an interval is judged at its ends because of them."""
    for formula in (
        joists.simple_span_deflection,
        joists.point_load_deflection,
        joists.two_span_deflection,
        joists.two_span_one_loaded_deflection,
    ):
        base = formula(w, span, ei)
        assert formula(w * more, span, ei) > base
        assert formula(w, span * more, ei) > base
        assert formula(w, span, ei * more) < base


@given(LOADS, SPANS, STIFFNESS)
def test_continuity_never_deflects_more_than_simple_spans(w, span, ei):
    """Both loaded is stiffer than one loaded, which is stiffer than a simple span."""
    both = joists.two_span_deflection(w, span, ei)
    one = joists.two_span_one_loaded_deflection(w, span, ei)
    assert both < one < joists.simple_span_deflection(w, span, ei)


@given(LOADS, STIFFNESS, st.floats(180, 1000))
def test_deflection_at_the_deflection_span_is_the_limit(w, ei, ratio):
    """The span formula is the inverse of the deflection formula."""
    span = joists.deflection_span(ei, w, ratio)
    assert joists.simple_span_deflection(w, span, ei) == pytest.approx(span / ratio, rel=1e-9)


@given(st.floats(1e6, 2e7), st.floats(1e-5, 1e-3), LOADS)
def test_bending_stress_at_the_bending_span_is_the_strength(strength, modulus, w):
    """M / S with M = w L^2 / 8 gives the strength back."""
    span = joists.bending_span(strength, modulus, w)
    assert w * span**2 / 8 / modulus == pytest.approx(strength, rel=1e-9)


@given(st.floats(1e5, 2e6), st.floats(1e-3, 2e-2), st.floats(0.05, 0.4), LOADS)
def test_shear_stress_at_the_shear_span_is_the_strength(strength, area, depth, w):
    """1.5 V / A with V one depth from the support gives the strength back."""
    span = joists.shear_span(strength, area, depth, w)
    assert 1.5 * w * (span / 2 - depth) / area == pytest.approx(strength, rel=1e-6)


@given(st.lists(SPANS, min_size=3, max_size=3))
def test_governing_check_names_the_least_span(spans):
    """The name that a reader sees belongs to the span that was used."""
    assert spans[int(joists.governing_check(*spans))] == joists.allowable_span(*spans)


@given(st.floats(0.0, 20.0))
def test_round_span_is_within_half_an_inch_and_whole(span):
    """A printed span is a whole inch next to the true one."""
    rounded = float(joists.round_span(span))
    assert abs(rounded - span) <= 0.0127 + 1e-6
    assert rounded / 0.0254 == pytest.approx(round(rounded / 0.0254), abs=1e-9)


@given(st.floats(1e6, 1e9), st.floats(1e6, 1e9), STIFFNESS, st.floats(1e3, 1e9), SPANS)
def test_jointed_stiffness_lies_between_loose_and_solid(panel, joist, own, slip, span):
    """Fasteners never give less than nothing nor more than full composite action."""
    result = joists.jointed_stiffness(panel, own, joist, own, 0.12, 0.15, slip, span)
    solid = 2 * own + panel * joist / (panel + joist) * 0.12**2
    assert 2 * own <= result.stiffness_nm2 <= solid * (1 + 1e-9)
    assert 0 < result.slip_factor <= 1


@given(LOADS, st.floats(0.2, 1.2), STIFFNESS, COUNTS, MORE)
def test_panel_deflection_directions(load, span, ei, count, more):
    """More load or span never deflects less, more stiffness never more."""
    base = panels.uniform_deflection(load, span, ei, count)
    assert panels.uniform_deflection(load * more, span, ei, count) > base
    assert panels.uniform_deflection(load, span * more, ei, count) > base
    assert panels.uniform_deflection(load, span, ei * more, count) < base


@given(st.floats(0.2, 1.2), STIFFNESS, st.floats(180, 1000), COUNTS)
def test_panel_deflection_at_the_limit_load_is_the_limit(span, ei, ratio, count):
    """The load formula is the inverse of the deflection formula."""
    load = panels.deflection_load(ei, span, ratio, count)
    assert panels.uniform_deflection(load, span, ei, count) == pytest.approx(span / ratio, rel=1e-9)


@given(st.floats(100, 5000), st.floats(0.2, 1.2), STIFFNESS, st.floats(0.1, 1.0), MORE)
def test_concentrated_deflection_is_bounded_by_the_two_widths(force, span, ei, width, more):
    """A wider share of panel never deflects more, so two widths bound the answer."""
    narrow = panels.concentrated_deflection(force, span, ei, width, 48.0)
    wide = panels.concentrated_deflection(force, span, ei, width * more, 48.0)
    assert wide < narrow


@given(st.lists(STIFFNESS, min_size=1, max_size=4))
def test_loose_layers_deflect_together(layers):
    """Each layer under its share bends as much as the stack."""
    share = panels.loose_layers_share(layers)
    assert np.sum(share) == pytest.approx(1.0)
    alone = panels.uniform_deflection(1000.0 * share, 0.4, layers, 3)
    stack = panels.uniform_deflection(1000.0, 0.4, panels.loose_layers_stiffness(layers), 3)
    np.testing.assert_allclose(alone, stack, rtol=1e-9)


def test_formulas_take_columns_as_well_as_numbers():
    """A million areas are columns: the array path agrees with the number path."""
    w, span, ei = np.array([500.0, 800.0]), np.array([3.0, 4.0]), np.array([1e5, 2e5])
    together = joists.simple_span_deflection(w, span, ei)
    single = [joists.simple_span_deflection(*row) for row in zip(w, span, ei, strict=True)]
    np.testing.assert_array_equal(together, single)


@pytest.mark.parametrize(
    "name",
    [
        "c627_cycles", "c627_ratings", "live_loads", "lumber_reference_values", "lumber_sections",
        "nominal_sizes", "panel_concentrated_limits", "panel_design_values", "panel_ratings", "size_factors",
        "crack_widths", "concrete_expansion", "thermal_expansion", "movement_joint_guideline",
    ],
)  # fmt: skip
def test_structure_table_has_source_status_and_no_repeated_row(name):
    """Every row says how well it is known, the file says from where, and keys are unique."""
    lines = (TABLES / f"{name}.csv").read_text(encoding="utf-8").splitlines()
    assert any(line.startswith("# source") for line in lines)
    rows = list(csv.DictReader(line for line in lines if not line.startswith("#")))
    assert rows
    status = [column for column in rows[0] if column.endswith("status")]
    for row in rows:
        assert None not in row, row
        assert None not in row.values(), row
        for column in status:
            assert row[column] in {"published", "derived", "memory", "practice", ""}, row
    assert status or "source" in rows[0]
    assert len({tuple(row.values()) for row in rows}) == len(rows)
