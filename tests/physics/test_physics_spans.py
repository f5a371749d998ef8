"""Spans, part loads, sisters and notches against a stiffness method and numerical integration."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from undercourse.physics import joists, notches, spans

PARTS = st.tuples(st.floats(0.0, 1.0), st.floats(0.0, 1.0)).map(sorted)
LOADS = st.floats(0.0, 5e3)
STIFFNESS = st.floats(1e4, 1e6)


def stiffness_method(loads: tuple[int, ...], cells: int = 8) -> tuple[float, float, float]:
    """Largest deflection, moment and shear of equal unit spans, EI 1, by Hermite beam elements.

    Support moments and reactions come out exact; the largest deflection is then taken on a fine grid
    of the exact shape between two nodes.
    """
    count, size = len(loads) * cells, 1 / cells
    element = np.array(
        [
            [12, 6 * size, -12, 6 * size],
            [6 * size, 4 * size**2, -6 * size, 2 * size**2],
            [-12, -6 * size, 12, -6 * size],
            [6 * size, 2 * size**2, -6 * size, 4 * size**2],
        ]
    ) / (size**3)
    whole, force = np.zeros((2 * count + 2,) * 2), np.zeros(2 * count + 2)
    push = np.array([size / 2, size**2 / 12, size / 2, -(size**2) / 12])
    for place in range(count):
        dofs = slice(2 * place, 2 * place + 4)
        whole[dofs, dofs] += element
        force[dofs] += loads[place // cells] * push
    free = np.setdiff1d(np.arange(2 * count + 2), 2 * cells * np.arange(len(loads) + 1))
    bent = np.zeros(2 * count + 2)
    bent[free] = np.linalg.solve(whole[np.ix_(free, free)], force[free])
    deepest = moment = shear = 0.0
    t = np.linspace(0, 1, 401)
    shapes = np.array([1 - 3 * t**2 + 2 * t**3, t - 2 * t**2 + t**3, 3 * t**2 - 2 * t**3, t**3 - t**2])
    for place in range(count):
        load, ends = loads[place // cells], bent[2 * place : 2 * place + 4]
        local = ends * np.array([1, size, 1, size])
        deepest = max(deepest, np.max(local @ shapes + load * size**4 * t**2 * (1 - t) ** 2 / 24))
        inner = element @ ends - load * push
        shear = max(shear, abs(inner[0]), abs(inner[2]))
        along = inner[1] - (inner[0] * t * size + load * (t * size) ** 2 / 2)
        moment = max(moment, np.max(np.abs(along)))
    return float(deepest), float(moment), float(shear)


@pytest.mark.parametrize("count", [1, 2, 3, 4, 5])
def test_span_coefficients_agree_with_a_stiffness_method(count):
    """Every way of loading the spans is tried: the coefficients are the worst of them, to six figures."""
    kept = spans.span_coefficients(count)
    found = {loads: stiffness_method(loads) for loads in product([0, 1], repeat=count)}
    assert kept.all_loaded == pytest.approx(found[(1,) * count][0], rel=2e-6)
    assert kept.worst_loaded == pytest.approx(max(item[0] for item in found.values()), rel=2e-6)
    assert kept.moment == pytest.approx(max(item[1] for item in found.values()), rel=1e-6)
    assert kept.shear == pytest.approx(max(item[2] for item in found.values()), rel=1e-6)


@pytest.mark.parametrize("count", [6, 7])
def test_longer_runs_stay_under_the_last_values(count):
    """What the docstring says of six spans and more."""
    kept = spans.span_coefficients(count)
    assert stiffness_method((1,) * count)[0] <= kept.all_loaded
    every_second = tuple((place + 1) % 2 for place in range(count))
    assert stiffness_method(every_second)[0] <= kept.worst_loaded
    # The support moment is largest with both neighbors loaded and every second span beyond.
    two_and_every_second = (1, 1, *((place + 1) % 2 for place in range(1, count - 1)))
    _, moment, shear = stiffness_method(two_and_every_second)
    assert moment <= kept.moment * (1 + 1e-9)
    assert shear <= kept.shear * (1 + 1e-9)


def test_continuous_formulas_are_those_of_one_and_two_spans():
    """The older functions and the coefficients are one theory."""
    for kept, old in (
        (spans.span_coefficients(1).all_loaded, joists.simple_span_deflection),
        (spans.span_coefficients(2).all_loaded, joists.two_span_deflection),
        (spans.span_coefficients(2).worst_loaded, joists.two_span_one_loaded_deflection),
    ):
        assert spans.uniform_span_deflection(700.0, 3.0, 2e5, kept) == pytest.approx(
            old(700.0, 3.0, 2e5), rel=1e-5
        )


@given(st.integers(1, 6), st.floats(1e4, 1e6), st.floats(500, 5000), st.floats(1.0, 8.0), st.floats(180, 800))
def test_spacing_and_span_are_inverses(count, stiffness, load, span, ratio):
    """A joist at the spacing found for a span has that span at that spacing."""
    worst = spans.span_coefficients(count).worst_loaded
    spacing = spans.deflection_spacing(stiffness, load, span, ratio, worst)
    back = spans.uniform_deflection_span(stiffness, load * spacing, ratio, worst)
    assert back == pytest.approx(span, rel=1e-9)
    deflection = spans.uniform_span_deflection(load * spacing, span, stiffness, worst)
    assert deflection == pytest.approx(span / ratio, rel=1e-9)
    wide = spans.bending_spacing(7e6, 3e-4, load, span, 1 / 8)
    assert joists.bending_span(7e6, 3e-4, load * wide) == pytest.approx(span, rel=1e-9)
    shear = spans.shear_spacing(1e6, 9e-3, 0.2, load, span, 1 / 2)
    assert joists.shear_span(1e6, 9e-3, 0.2, load * shear) == pytest.approx(span, rel=1e-9)


def test_a_span_within_two_depths_is_never_held_by_shear():
    """All load then goes straight into the bearings."""
    assert spans.shear_spacing(1e6, 9e-3, 0.3, 2e3, 0.5, 0.5) == np.inf


def bent_shape(area, foot, left, right, span, stiffness):
    """Deflection along a simple span by integrating the moment twice on a fine grid."""
    x = np.linspace(0, span, 20001)
    load = np.where((x >= left) & (x <= right), foot, area)
    step = x[1]
    push = np.concatenate([[0], np.cumsum((load[1:] + load[:-1]) / 2) * step])
    lever = np.concatenate([[0], np.cumsum((push[1:] + push[:-1]) / 2) * step])
    moment = lever[-1] / span * x - lever
    turn = np.concatenate([[0], np.cumsum((moment[1:] + moment[:-1]) / 2) * step])
    sink = np.concatenate([[0], np.cumsum((turn[1:] + turn[:-1]) / 2) * step])
    return x, (sink[-1] / span * x - sink) / stiffness


@pytest.mark.parametrize(
    ("area", "foot", "left", "right"),
    [(0, 3000, 0.2, 1.7), (600, 2500, 2.1, 3.9), (900, 100, 0.0, 2.4), (500, 500, 1, 2), (0, 800, 0, 4.0)],
)
def test_footprint_agrees_with_numerical_integration(area, foot, left, right):
    """Midspan, largest and its place, heavier or lighter than the load around."""
    x, shape = bent_shape(area, foot, left, right, 4.0, 2e5)
    found = spans.footprint_deflection(area, foot, left, right, 4.0, 2e5)
    assert found.midspan_m == pytest.approx(shape[len(x) // 2], rel=1e-3)
    assert found.largest_m == pytest.approx(shape.max(), rel=1e-3)
    assert found.largest_at_m == pytest.approx(x[shape.argmax()], abs=0.01)


@given(LOADS, LOADS, PARTS, st.floats(1.0, 8.0), STIFFNESS)
def test_footprint_is_in_place_of_the_area_load(area, foot, part, span, stiffness):
    """Two loads replace each other: with them swapped, both floors together bear each load everywhere."""
    left, right = part[0] * span, part[1] * span
    one = spans.footprint_deflection(area, foot, left, right, span, stiffness)
    other = spans.footprint_deflection(foot, area, left, right, span, stiffness)
    both = joists.simple_span_deflection(area + foot, span, stiffness)
    assert one.midspan_m + other.midspan_m == pytest.approx(both, rel=1e-9, abs=1e-12)
    assert one.largest_m >= one.midspan_m * (1 - 1e-9)
    assert one.largest_m <= 1.03 * one.midspan_m + 1e-12
    mirrored = spans.footprint_deflection(area, foot, span - right, span - left, span, stiffness)
    assert mirrored.largest_m == pytest.approx(one.largest_m, rel=1e-9, abs=1e-15)


@given(st.floats(0.05, 0.9), LOADS, st.floats(1.0, 5e3))
def test_a_footprint_in_the_middle_is_the_worst_place(length, area, more):
    """An unknown place of a tub is bounded by the middle; tried over all places."""
    starts = np.linspace(0, 1 - length, 41) * 3.0
    places = spans.footprint_deflection(area, area + more, starts, starts + length * 3.0, 3.0, 1e5)
    middle = spans.footprint_deflection(area, area + more, 1.5 * (1 - length), 1.5 * (1 + length), 3.0, 1e5)
    assert np.all(places.largest_m <= middle.largest_m * (1 + 1e-9))


@given(st.floats(0.01, 0.99), st.floats(1.0, 8.0), STIFFNESS)
def test_point_load_is_a_very_short_footprint(place, span, stiffness):
    """Two formulas, one theory; midspan is the worst place and agrees with the midspan formula."""
    force, half = 1000.0, 1e-4 * span
    at = place * span
    short = spans.footprint_deflection(0.0, force / (2 * half), at - half, at + half, span, stiffness)
    point = spans.point_load_anywhere(force, at, span, stiffness)
    assert point.midspan_m == pytest.approx(short.midspan_m, rel=1e-4)
    assert point.largest_m == pytest.approx(short.largest_m, rel=1e-4)
    assert point.largest_at_m == pytest.approx(short.largest_at_m, abs=1e-3 * span)
    assert point.largest_m <= joists.point_load_deflection(force, span, stiffness) * (1 + 1e-12)


@given(st.floats(0.0, 1.0), st.floats(1e4, 1e6), st.floats(0.0, 1e6))
def test_part_sister_agrees_with_virtual_work_by_quadrature(share, joist, sister):
    """Midspan deflection is the integral of M m / EI over a stepped joist."""
    span, load = 4.0, 900.0
    edge = (1 - share) * span / 2

    def work(x: float) -> float:
        return load * x * (span - x) / 2 * x / 2

    outer, inner = quad(work, 0, edge)[0], quad(work, edge, span / 2)[0]
    found = spans.part_sister_deflection(load, span, joist, sister, share * span)
    assert found == pytest.approx(2 * (outer / joist + inner / (joist + sister)), rel=1e-9)


@given(st.floats(0, 0.02), st.floats(0, 0.02), st.floats(0, 0.02))
def test_deflection_after_tiling_is_no_more_than_all_of_it(live, before, new):
    """What comes after tiling is the long-term total less what the old load did at once."""
    after = spans.deflection_after_tiling(live, before, new, 1.5)
    assert after == pytest.approx(joists.total_deflection(live, before + new, 1.5) - before, abs=1e-12)


@given(st.floats(0.1, 0.4), st.floats(0.01, 1.0), st.floats(1e5, 2e6))
def test_notched_shear_falls_with_the_notch(depth, left, strength):
    """No notch gives (2/3) Fv b d; the weakening is at least that of the lost section."""
    whole = notches.notched_shear_strength(strength, 0.038, depth, depth)
    assert whole == pytest.approx(strength * 0.038 * depth / 1.5)
    assert notches.notched_shear_strength(strength, 0.038, depth, left * depth) <= whole * left * (1 + 1e-12)
