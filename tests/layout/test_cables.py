"""Heating cable: exact length, margins, spacing, no crossing, never over a joint, ends near the control."""

from __future__ import annotations

import json
import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from shapely import LineString, Point, Polygon, STRtree, box
from shapely.geometry import shape
from test_layout_rooms import floors

from undercourse.base.problems import Problems
from undercourse.layout.cables import CableKit, CableRun, cable_run

ROOMS = Path(__file__).parents[1] / "data" / "open" / "rooms.geojson"
FEATURES = json.loads(ROOMS.read_text(encoding="utf-8"))["features"]
INCH, FOOT = 0.0254, 0.3048
KITS = [CableKit(f"{size} W", size / 10, size, 120.0) for size in (150, 300, 600, 1200, 1800)]


def check(zone: Polygon, kits=KITS, control=None, **options) -> CableRun:
    """Lay a cable and check it with general geometry."""
    options = {"spacing_m": (0.075, 0.1), "wall_margin_m": 0.075, "obstacle_margin_m": 0.05, **options}
    control = control or zone.exterior.coords[0]
    run = cable_run(zone, kits, control, **options)
    path, spacing = run.path, run.spacing_m
    assert options["spacing_m"][0] - 1e-9 <= spacing <= options["spacing_m"][1] + 1e-9
    assert path.is_simple
    assert math.isclose(path.length, run.laid_m, abs_tol=1e-6)
    assert math.isclose(run.laid_m + run.excess_m, run.kit.length_m, abs_tol=1e-6)
    assert zone.contains(path)
    assert path.distance(zone.exterior) >= options["wall_margin_m"] - 1e-4
    for ring in zone.interiors:
        assert path.distance(ring) >= options["obstacle_margin_m"] - 1e-3
    for joint in options.get("joints", ()):
        assert path.distance(joint) >= 0.05 - 1e-4
    for end, index in zip(run.ends_m, (0, -1), strict=True):
        assert math.isclose(end, Point(path.coords[index]).distance(Point(control)), abs_tol=1e-6)
    assert Point(path.coords[0]).distance(Point(path.coords[-1])) <= 5 * spacing + 1e-6
    assert runs_keep_apart(path, spacing)
    return run


def runs_keep_apart(path: LineString, spacing: float) -> bool:
    """No two stretches that do not follow each other come nearer than the spacing."""
    points = np.asarray(path.coords)
    lines = [LineString(points[i : i + 2]) for i in range(len(points) - 1)]
    pairs = STRtree(lines).query(lines, predicate="dwithin", distance=spacing - 1e-6)
    return all(abs(int(a) - int(b)) <= 1 for a, b in pairs.T)


@pytest.mark.parametrize(
    "feature",
    [f for f in FEATURES if f["properties"]["area_m2"] < 18],
    ids=lambda feature: feature["properties"]["name"],
)
def test_open_rooms_take_a_cable(feature):
    """Each open room below 18 m2 takes a whole kit, without crossing, at one spacing."""
    run = check(shape(feature["geometry"]))
    assert run.excess_m == pytest.approx(0, abs=1e-6)


def test_density_and_current_of_a_printed_case():
    """592 W draws about 5 A at 120 V and heats about 50 sq ft at 3 in: 12 W a sq ft.

    kind = published: a heated floor described in the trade press (592 W, 5 A, 50 of 60 sq ft, 3 in).
    """
    kit = CableKit("592 W", 592 / 12 * FOOT**2 / (3 * INCH), 592.0, 120.0)
    zone = box(0, 0, 10 * FOOT, 6 * FOOT)
    run = check(zone, [kit], spacing_m=(3 * INCH, 3 * INCH), wall_margin_m=3 * INCH)
    assert round(run.amps) == 5
    assert run.heated_m2 / FOOT**2 == pytest.approx(50, rel=0.02)
    assert run.density_w_m2 * FOOT**2 == pytest.approx(12, rel=1e-6)
    assert run.excess_m == pytest.approx(0, abs=1e-6)


def test_kit_too_long_has_excess_and_says_so():
    """A cable that does not fit cannot be cut: the excess is told, and a kit that fits is preferred."""
    long, short = CableKit("long", 80.0, 960.0, 120.0), CableKit("short", 10.0, 120.0, 120.0)
    zone = box(0, 0, 1.5, 1.5)
    run = check(zone, [long])
    assert run.excess_m > 40
    assert "nowhere to go" in run.notes[0]
    assert check(zone, [long, short]).kit is short


def test_short_kit_leaves_area_and_says_so():
    """The only kit heats what it can at the widest spacing; the rest is told."""
    run = check(box(0, 0, 3, 3), [CableKit("short", 20.0, 240.0, 120.0)])
    assert run.spacing_m == pytest.approx(0.1)
    assert run.heated_m2 == pytest.approx(2.0)
    assert run.unheated_m2 == pytest.approx(9 - 2.0, abs=1.2)
    assert "without cable" in run.notes[0]


def test_cable_stays_on_one_side_of_a_movement_joint():
    """A joint across the zone is never crossed; the far side is named."""
    joint = LineString([(2, -1), (2, 4)])
    run = check(box(0, 0, 5, 3), joints=[joint], control=(0.0, 0.0))
    assert run.path.bounds[2] < 2
    assert any("a cable of their own" in note for note in run.notes)


def test_spacing_follows_the_studs():
    """With studs of 30 mm the spacing is a whole number of them."""
    run = check(box(0, 0, 3, 2), spacing_m=(0.07, 0.13), spacing_step_m=0.03)
    assert round(run.spacing_m / 0.03, 6) in (3.0, 4.0)


def test_sensor_lies_midway_between_two_runs():
    """The sensor is half a spacing from the nearest cable, and not outside of the run."""
    run = check(box(0, 0, 3, 2))
    assert Point(run.sensor).distance(run.path) == pytest.approx(run.spacing_m / 2, rel=1e-6)


@settings(max_examples=25, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck))
@given(floors(), st.sampled_from([0.08, 0.12]))
def test_random_zones(zone, spacing):
    """Whatever the zone, the cable keeps its rules, or the zone is refused."""
    try:
        check(zone, spacing_m=(spacing, spacing))
    except Problems as refused:
        assert "no loop fits" in str(refused)  # noqa: PT017


@pytest.mark.parametrize(
    "call",
    [
        lambda: cable_run(box(0, 0, 2, 2), [], (0, 0), spacing_m=(0.08, 0.1)),
        lambda: cable_run(box(0, 0, 2, 2), KITS, (0, 0), spacing_m=(0.2, 0.1)),
        lambda: cable_run(box(0, 0, 2, 2), KITS, (0, float("nan")), spacing_m=(0.08, 0.1)),
        lambda: cable_run(box(0, 0, 2, 2), [CableKit("x", 0.0, 1.0, 1.0)], (0, 0), spacing_m=(0.08, 0.1)),
        lambda: cable_run(box(0, 0, 2, 0.2), KITS, (0, 0), spacing_m=(0.08, 0.1)),
        lambda: cable_run(Polygon(), KITS, (0, 0), spacing_m=(0.08, 0.1)),
    ],
)
def test_cable_run_refuses_what_cannot_be(call):
    """Unusable zones, kits and spacings are named."""
    with pytest.raises(Problems):
        call()
