"""Several cable kits in one area: each by the rules of one run, apart from each other, on their controls."""

from __future__ import annotations

import itertools
import json
import math
from dataclasses import replace
from pathlib import Path

import pytest
from shapely import LineString, box
from shapely.geometry import shape
from test_cables import RULES, check_run

from undercourse.layout.cables import CableKit, CableRules
from undercourse.layout.circuits import cable_plan
from undercourse.layout.fields import movement_joints

ROOMS = Path(__file__).parents[1] / "data" / "open" / "rooms.geojson"
FEATURES = json.loads(ROOMS.read_text(encoding="utf-8"))["features"]
FOOT, INCH = 0.3048, 0.0254
# Kits as a line sells them: 3 W a foot, 12 W a square foot at 3 in.
SOLD = [CableKit(f"{size} sq ft", size / 0.25 * FOOT, size * 12.0, 120.0) for size in (25, 50, 100)]
RANGE = CableRules((2.4 * INCH, 3 * INCH))


@pytest.mark.parametrize(
    "name", ["A203 Bedroom 2", "A101 Foyer", "WH floor 5 #3 + obstacles", "WH floor 2 room 3"]
)
def test_open_rooms_with_joints_take_several_kits(name):
    """Every kit keeps the rules of one run; no two lie closer than allowed; none crosses a joint."""
    (feature,) = [f for f in FEATURES if f["properties"]["name"] == name]
    zone = shape(feature["geometry"])
    joints = movement_joints(zone, 12 * FOOT).joints
    control = zone.exterior.coords[0]
    plan = cable_plan(zone, SOLD, control, RANGE, joints, 15.0)
    assert plan.circuits
    for run in plan.circuits:
        check_run(run, zone, control, RANGE, joints)
        assert run.excess_m == 0.0
        assert run.kit in SOLD
    for one, other in itertools.combinations(plan.circuits, 2):
        assert one.path.distance(other.path) >= RANGE.spacing_m[0] - 1e-6
    assert math.isclose(plan.heated_m2 + plan.unheated_m2, plan.free_m2, rel_tol=1e-9)
    assert sorted(itertools.chain(*plan.controls)) == list(range(len(plan.circuits)))
    for group in plan.controls:
        assert sum(plan.circuits[index].amps for index in group) <= 15.0 + 1e-9


def test_one_kit_is_enough_where_it_heats_nine_tenths():
    """No second kit is laid for a strip along a wall."""
    plan = cable_plan(box(0, 0, 2.3, 2.2), SOLD, (0.0, 0.0), RANGE)
    assert [run.kit.name for run in plan.circuits] == ["50 sq ft"]
    assert plan.notes == ()


def test_room_larger_than_the_largest_kit_takes_several():
    """20 m2: two kits of 100 sq ft, 10 A each, so two controls of 15 A; with 20 A one would do."""
    zone = box(0, 0, 5.0, 4.2)
    plan = cable_plan(zone, SOLD, (0.0, 2.0), RANGE, (), 15.0)
    assert sum(run.kit.power_w for run in plan.circuits) == pytest.approx(2400)
    assert len(plan.controls) == 2
    assert len(cable_plan(zone, SOLD, (0.0, 2.0), RANGE, (), 20.0).controls) == 1
    # Both begin at the control's wall.
    assert all(run.path.coords[0][0] < 0.5 for run in plan.circuits)


def test_far_side_of_a_joint_gets_its_own_kit():
    """A movement joint across the room: a cable on either side, none over it."""
    joint = LineString([(2.5, -1), (2.5, 4)])
    plan = cable_plan(box(0, 0, 5, 2.3), SOLD, (0.0, 0.0), RANGE, [joint], 15.0)
    assert sorted(round(run.path.centroid.x) for run in plan.circuits) == [1, 4]
    assert plan.amps == pytest.approx(10.0)


def test_no_kit_fits_is_said():
    """A closet smaller than the smallest kit: no cable, and the reason."""
    plan = cable_plan(box(0, 0, 1, 1), SOLD, (0.0, 0.0), RANGE)
    assert plan.circuits == ()
    assert "No kit fits" in plan.notes[0]
    assert plan.controls == ()


def test_kits_of_one_voltage_share_an_area():
    """Kits of 120 V and 240 V are not mixed; the voltage that heats more is taken."""
    mixed = [*SOLD, CableKit("200 sq ft", 200 / 0.25 * FOOT, 2400.0, 240.0)]
    plan = cable_plan(box(0, 0, 5.0, 4.2), mixed, (0.0, 2.0), RANGE, (), 15.0)
    assert len({run.kit.voltage_v for run in plan.circuits}) == 1
    assert plan.circuits[0].kit.voltage_v == 240.0
    assert plan.amps == pytest.approx(10.0)


def test_kit_beyond_its_control_needs_a_relay():
    """20 A on a control of 15 A is said."""
    kit = CableKit("large", 60.0, 2400.0, 120.0)
    plan = cable_plan(box(0, 0, 3, 2.5), [kit], (0.0, 0.0), replace(RULES, spacing_m=(0.07, 0.1)), (), 15.0)
    assert any("relay" in note for note in plan.notes)
