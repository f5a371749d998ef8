"""Joists over several spans and under part loads, and panels over joists, against PyNiteFEA."""

from __future__ import annotations

from itertools import pairwise
from typing import NamedTuple

import numpy as np
import pytest
from Pynite import FEModel3D

from undercourse.physics import joist_floors, spans, supports

from .agreement import agree
from .beams import FORCE_N, LOAD_N_M, SPAN_M, STIFFNESS_NM2, Beam, loaded

DEFLECTION = LOAD_N_M * SPAN_M**4 / STIFFNESS_NM2
MOMENT, SHEAR = LOAD_N_M * SPAN_M**2, LOAD_N_M * SPAN_M


class Worst(NamedTuple):
    """Largest of each with the spans loaded that make it largest, over its unit."""

    deflection: float
    moment: float
    shear: float


def worst(count: int) -> Worst:
    """Each span loaded alone; what helps is left out place by place."""
    points = 240 * count + 1
    alone = [Beam(count).spread(LOAD_N_M, i * SPAN_M, (i + 1) * SPAN_M).solve() for i in range(count)]

    def most(parts: list[np.ndarray]) -> float:
        table = np.array(parts)
        up, down = np.maximum(table, 0.0).sum(axis=0), np.minimum(table, 0.0).sum(axis=0)
        return float(max(up.max(), -down.min()))

    sinking = np.maximum([beam.deflections(points) for beam in alone], 0.0).sum(axis=0).max()
    return Worst(
        float(sinking) / DEFLECTION,
        most([beam.moments(points) for beam in alone]) / MOMENT,
        most([beam.end_shears() for beam in alone]) / SHEAR,
    )


@pytest.mark.parametrize("count", [1, 2, 3, 4, 5])
def test_coefficients_of_equal_spans(count: int) -> None:
    """Deflection with all spans loaded; deflection, moment and shear with the worst of them loaded.

    Routes: coefficients kept as numbers and fractions; stiffness method, span by span, signs picked place by
    place. Tolerance: 3e-5, as 240 places to a span find the largest.
    """
    ours, outside = spans.span_coefficients(count), worst(count)
    agree(ours.all_loaded, loaded(count).largest_deflection() / DEFLECTION, 3e-5)
    agree([ours.worst_loaded, ours.moment, ours.shear], outside, 3e-5)
    agree(
        spans.uniform_span_deflection(LOAD_N_M, SPAN_M, STIFFNESS_NM2, ours.worst_loaded),
        outside.deflection * DEFLECTION,
        3e-5,
    )


@pytest.mark.parametrize("count", [6, 7])
def test_longer_runs_stay_under_the_last_values(count: int) -> None:
    """Longer members take the deflections of five spans, the moment and shear of six.

    Routes: coefficients kept; stiffness method. Tolerance: never less than outside, and within 0.7 %.
    """
    ours, outside = spans.span_coefficients(count), worst(count)
    pairs = zip([ours.worst_loaded, ours.moment, ours.shear], outside, strict=True)
    for mine, other in [(ours.all_loaded, loaded(count).largest_deflection() / DEFLECTION), *pairs]:
        assert float(mine) > other * (1 - 3e-5)
        agree(mine, other, 0.007, sees=0.02)


@pytest.mark.parametrize("count", [1, 2, 3])
def test_spans_and_spacings_for_a_limit(count: int) -> None:
    """A limit set to what the beam does; the formulas must find its span, and its spacing of 0.4 m.

    Routes: formulas solved for span and spacing; deflection, moment and shear of the stiffness method.
    Tolerance: 5e-5.
    """
    most, found = worst(count), spans.span_coefficients(count)
    ratio, area, depth, spacing = 1 / (most.deflection * DEFLECTION / SPAN_M), 0.00895, 0.235, 0.4
    load = LOAD_N_M / spacing
    agree(spans.uniform_deflection_span(STIFFNESS_NM2, LOAD_N_M, ratio, found.worst_loaded), SPAN_M, 5e-5)
    agree(spans.deflection_spacing(STIFFNESS_NM2, load, SPAN_M, ratio, found.worst_loaded), spacing, 5e-5)
    moment = most.moment * MOMENT
    agree(spans.bending_spacing(moment / 3.5e-4, 3.5e-4, load, SPAN_M, found.moment), spacing, 5e-5)
    agree(joist_floors.moment_spacing(moment, load, SPAN_M, found.moment), spacing, 5e-5)
    agree(joist_floors.moment_span(moment, LOAD_N_M, found.moment), SPAN_M, 5e-5)
    shear = most.shear * SHEAR - LOAD_N_M * depth
    agree(spans.shear_spacing(1.5 * shear / area, area, depth, load, SPAN_M, found.shear), spacing, 5e-5)
    agree(joist_floors.shear_limited_spacing(shear, depth, load, SPAN_M, found.shear), spacing, 5e-5)
    agree(joist_floors.shear_limited_span(shear, depth, LOAD_N_M, found.shear), SPAN_M, 5e-5)


@pytest.mark.parametrize(("start", "end"), [(0.0, 0.9), (0.5, 1.4), (1.0, 2.6), (2.7, 3.6)])
def test_footprint_in_place_of_area_load(start: float, end: float) -> None:
    """A tub of 2.5 kN/m on its stretch, the area load on the rest and none under the tub.

    Routes: closed form with halving for the largest place; stiffness method with three loads, 3601 places.
    Tolerance: 1e-6 for deflections; 2 mm for the place.
    """
    tub = 2500.0
    beam = Beam(1).spread(tub, start, end)
    for left, right in ((0.0, start), (end, SPAN_M)):
        if right > left:
            beam.spread(LOAD_N_M, left, right)
    sunk = beam.solve().deflections(3601)
    ours = spans.footprint_deflection(LOAD_N_M, tub, start, end, SPAN_M, STIFFNESS_NM2)
    agree([ours.midspan_m, ours.largest_m], [beam.deflection(SPAN_M / 2), sunk.max()], 1e-6)
    agree(ours.largest_at_m, np.argmax(sunk) * SPAN_M / 3600, 0.002, scale=1.0)


@pytest.mark.parametrize(("start", "end"), [(0.0, 0.9), (1.0, 2.6)])
def test_share_of_a_stretch(start: float, end: float) -> None:
    """Part of the full-load deflection at midspan that one stretch makes.

    Routes: polynomial over 5/384; stiffness method, part load over full load. Tolerance: 1e-6.
    """
    part = Beam(1).spread(LOAD_N_M, start, end).solve().deflection(SPAN_M / 2)
    agree(joist_floors.footprint_share(start, end, SPAN_M), part / loaded(1).deflection(SPAN_M / 2), 1e-6)


@pytest.mark.parametrize("place", [0.3, 1.2, 1.8, 2.9])
def test_force_at_any_place(place: float) -> None:
    """An island's foot, a column of a tub.

    Routes: closed forms; stiffness method, 3601 places. Tolerance: 1e-6 for deflections; 2 mm for the place.
    """
    beam = Beam(1).press(FORCE_N, place).solve()
    sunk = beam.deflections(3601)
    ours = spans.point_load_anywhere(FORCE_N, place, SPAN_M, STIFFNESS_NM2)
    agree([ours.midspan_m, ours.largest_m], [beam.deflection(SPAN_M / 2), sunk.max()], 1e-6)
    agree(ours.largest_at_m, np.argmax(sunk) * SPAN_M / 3600, 0.002, scale=1.0)


@pytest.mark.parametrize("length", [1.2, 2.4, 3.6])
def test_sister_over_part_of_the_span(length: float) -> None:
    """A joist doubled in the middle only.

    Routes: virtual work in closed form; stiffness method with a stiffer member in the middle. Tolerance:
    1e-6.
    """
    sister, beyond = 0.6, (SPAN_M - length) / 2
    model = FEModel3D()
    model.add_material("wood", STIFFNESS_NM2, 1.0, 0.0, 0.0)
    places = sorted({0.0, beyond, SPAN_M / 2, SPAN_M - beyond, SPAN_M})
    for index, place in enumerate(places):
        model.add_node(f"N{index}", place, 0.0, 0.0)
        ends = place in (0.0, SPAN_M)
        model.def_support(f"N{index}", index == 0, ends, True, index == 0, False, False)
    for index, (left, right) in enumerate(pairwise(places)):
        doubled = left >= beyond - 1e-9 and right <= SPAN_M - beyond + 1e-9
        model.add_section(f"S{index}", 1.0, 1.0, 1.0 + sister if doubled else 1.0, 1.0)
        model.add_member(f"M{index}", f"N{index}", f"N{index + 1}", "wood", f"S{index}")
        model.add_member_dist_load(f"M{index}", "Fy", -LOAD_N_M, -LOAD_N_M)
    model.analyze_linear(check_statics=False)
    outside = -float(model.nodes[f"N{places.index(SPAN_M / 2)}"].DY["Combo 1"])
    ours = spans.part_sister_deflection(LOAD_N_M, SPAN_M, STIFFNESS_NM2, sister * STIFFNESS_NM2, length)
    agree(ours, outside, 1e-6)


def test_capacity_beside_a_weak_sister() -> None:
    """Moment that a joist may carry when its sister is used up first.

    Routes: shares by stiffness; moments of two members joined at quarter points, scaled until one is used up.
    Tolerance: 1e-6, both are exact where loads enter at joints.
    """
    model, parts = FEModel3D(), (1.0, 0.7)
    model.add_material("wood", STIFFNESS_NM2, 1.0, 0.0, 0.0)
    for index in range(5):
        model.add_node(f"N{index}", index * SPAN_M / 4, 0.0, 0.0)
        model.def_support(f"N{index}", index == 0, index in (0, 4), True, index == 0, False, False)
        model.add_node_load(f"N{index}", "FY", -FORCE_N if index in (1, 2, 3) else 0.0)
    for name, part in zip("ab", parts, strict=True):
        model.add_section(name, 1.0, 1.0, part, 1.0)
        for index in range(4):
            model.add_member(f"{name}{index}", f"N{index}", f"N{index + 1}", "wood", name)
    model.analyze_linear(check_statics=False)
    length = SPAN_M / 4
    joist, sister = (abs(float(model.members[f"{name}1"].moment("Mz", length))) for name in "ab")
    stiffness = [part * STIFFNESS_NM2 for part in parts]
    ours = joist_floors.sistered_capacity(4000.0, stiffness[0], 1800.0, stiffness[1])
    agree(ours, joist * min(4000.0 / joist, 1800.0 / sister), 1e-6)


@pytest.mark.parametrize("count", [2, 3])
def test_panel_over_a_joist(count: int) -> None:
    """Curvature over the first inner joist under uniform load, rotation there and at the end.

    Routes: fractions of beam theory; moment over stiffness and node rotations of the stiffness method.
    Tolerance: 1e-6; the inner joist of two spans does not turn and is left out.
    """
    beam = loaded(count)
    over = abs(float(beam.moments(count + 1)[1]))
    case = (LOAD_N_M, SPAN_M, STIFFNESS_NM2, count)
    agree(supports.support_curvature(*case), over / STIFFNESS_NM2, 1e-6)
    agree(supports.support_rotation(*case, True), beam.rotation(0), 1e-6)
    if count == 3:
        agree(supports.support_rotation(*case, False), beam.rotation(1), 1e-6)


@pytest.mark.parametrize(("count", "end_bay", "bay"), [(2, True, 0), (3, True, 0), (3, False, 1)])
def test_panel_over_a_joist_under_a_force(count: int, end_bay: bool, bay: int) -> None:
    """Greatest curvature over a joist under a force in the middle of a bay, on half a meter of panel.

    Routes: three-moment equation; stiffness method, largest moment over a support. Tolerance: 1e-6.
    """
    beam = Beam(count).press(FORCE_N, (bay + 0.5) * SPAN_M).solve()
    over = float(np.max(np.abs(beam.moments(count + 1)[1:-1])))
    width = 0.5
    ours = supports.support_curvature_under_force(
        FORCE_N, SPAN_M, STIFFNESS_NM2 / width, width, count, end_bay
    )
    agree(ours, over / STIFFNESS_NM2, 1e-6)


def test_simple_span_seam() -> None:
    """Two simple panels that end on one joist.

    Routes: rotation by beam theory twice, times the depth; node rotations of the stiffness method. Tolerance:
    1e-6.
    """
    turn = supports.support_rotation(LOAD_N_M, SPAN_M, STIFFNESS_NM2, 1, True)
    outside = loaded(1).rotation(0) + loaded(1).rotation(1)
    agree(supports.seam_opening(turn, turn, 0.018), outside * 0.018, 1e-6)
