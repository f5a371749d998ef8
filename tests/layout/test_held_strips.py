"""Strips held to a direction and a start line, kept off lines, laid one way; explained, compared, stopped."""

from __future__ import annotations

import itertools
import math
from dataclasses import asdict, replace

import pytest
import shapely
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from layout_validator import faults
from shapely import LineString, Polygon, box, union_all
from shapely.affinity import rotate

from undercourse.base.problems import Problems
from undercourse.layout import AreaPlan, PartRoll, Sheet, compare_layouts, lay_out, layout_document

SHEET = Sheet(1.0, (14.0,), seam_gap_m=0.004, edge_gap_m=0.006, smallest_piece_m=0.3)
ROOM = Polygon([(0, 0), (6, 0), (6, 2.3), (3.4, 2.3), (3.4, 5), (0, 5)])


def check(plans: list[AreaPlan], sheet: Sheet, **options: object) -> dict:
    """Lay out, validate and return the document."""
    document = layout_document(lay_out(plans, sheet, **options))
    assert faults(document, {plan.name: plan.outline for plan in plans}, asdict(sheet)) == []
    return document


@settings(max_examples=40, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck))
@given(st.floats(-7, 7), st.sampled_from([0.0, 90.0, 33.0, 180.0, 200.0, -45.0]), st.booleans())
def test_start_line_holds_every_strip(start, angle, one_way):
    """Arithmetic: lower edges of full strips lie at the start and whole pitches to its left and right."""
    sheet = replace(SHEET, one_direction=one_way)
    document = check([AreaPlan("room", ROOM, angle, start)], sheet)
    ways = {strip["id"]: strip for strip in document["areas"][0]["strips"]}
    wide = document["areas"][0]["strip_width_m"]
    assert wide in (1.0, 0.5)
    pitch, whole = wide + sheet.seam_gap_m, 0
    for piece in document["pieces"]:
        _, low, _, high = rotate(Polygon(piece["outline"]), -angle, origin=(0, 0)).bounds
        if not ways[piece["strip"]]["across"] and high - low > wide - 1e-4:
            off = (low - start) % pitch
            assert min(off, pitch - off) < 1e-4
            whole += 1
    assert whole
    if one_way:
        assert {strip["direction_deg"] for strip in ways.values()} == {angle % 360}


def test_start_lines_a_pitch_apart_lay_the_same():
    """A start line moved by whole pitches lies on another strip of the same layout, and is told as laid."""
    one, other = (
        check([AreaPlan("room", ROOM, 0.0, start)], SHEET) for start in (0.25, 0.25 + 3 * (1.0 + 0.004))
    )
    for piece, twin in zip(one["pieces"], other["pieces"], strict=True):
        assert shapely.hausdorff_distance(Polygon(piece["outline"]), Polygon(twin["outline"])) < 1e-5
    again = check([AreaPlan("room", ROOM, 0.0, one["areas"][0]["start_m"])], SHEET)
    assert again["pieces"] == one["pieces"]


def test_start_line_without_a_direction_is_refused():
    """What is wrong with held strips and lines is told all at once, by area."""
    plans = [
        AreaPlan("a", ROOM, start_m=0.3),
        AreaPlan("b", ROOM, 0.0, math.nan),
        AreaPlan("c", ROOM, keep_off=(((0.0, 1.0),),)),
    ]
    with pytest.raises(Problems) as caught:
        lay_out(plans, SHEET)
    assert ["a" in caught.value.problems[0].where, len(caught.value.problems)] == [True, 3]
    assert lay_out([plans[0]], SHEET, direction=90.0).areas[0].strips


def seams_along(document: dict, room: Polygon, line: LineString, edge_m: float) -> float:
    """Distance from a line to the nearest inner edge of a piece that runs along it, by general geometry."""
    (ax, ay), (bx, by) = line.coords
    way = math.atan2(by - ay, bx - ax)
    nearest = math.inf
    for piece in document["pieces"]:
        points = Polygon(piece["outline"]).exterior.coords
        for one, other in itertools.pairwise(points):
            side = LineString([one, other])
            turned = math.atan2(other[1] - one[1], other[0] - one[0]) - way
            if abs(math.sin(turned)) < 0.4 and side.centroid.distance(room.boundary) > edge_m + 1e-3:
                nearest = min(nearest, side.distance(line))
    return nearest


@pytest.mark.parametrize("angle", [None, 0.0, 90.0])
@pytest.mark.parametrize("turned", [0.0, 25.0])
def test_seams_are_kept_off_panel_joints(angle, turned):
    """No seam or head joint runs along a panel joint nearer than the sheet's least distance from it."""
    room = rotate(box(0, 0, 6, 4.6), turned, origin=(0, 0))
    joints = [LineString([(-1, y), (7, y)]) for y in (1.22, 2.44, 3.66)]
    joints += [LineString([(x, -1), (x, 5)]) for x in (2.44, 4.88)]
    joints = [rotate(line, turned, origin=(0, 0)) for line in joints]
    lines = tuple(tuple(line.coords) for line in joints)
    held = None if angle is None else angle + turned
    document = check([AreaPlan("room", room, held, keep_off=lines)], SHEET)
    assert document["areas"][0]["seam_on_lines_m"] == 0.0
    for line in joints:
        assert seams_along(document, room, line, SHEET.edge_gap_m) >= SHEET.line_clear_m - 1e-5


def test_seams_that_cannot_clear_a_line_are_told():
    """Lines every 40 mm leave no room for any seam: the length on them is reported and noted."""
    lines = tuple(((-1.0, y / 25), (7.0, y / 25)) for y in range(130))
    document = check([AreaPlan("room", ROOM, 0.0, keep_off=lines)], replace(SHEET, one_direction=True))
    area = document["areas"][0]
    # Some seam must run along the strips over the whole length of the room.
    assert area["seam_on_lines_m"] >= 6 - 2 * SHEET.edge_gap_m - 1e-6
    assert any("to be kept off" in note for note in area["notes"])


def test_one_area_that_cannot_be_covered_leaves_the_others():
    """The area whose strips are longer than any roll is named with what would do; the others are laid."""
    sheet = replace(SHEET, roll_lengths_m=(5.0,), head_joints_allowed=False)
    plans = [AreaPlan("hall", box(0, 0, 9, 8)), AreaPlan("bath", box(0, 0, 3, 2))]
    document = check(plans, sheet)
    (told,) = document["uncovered"]
    assert told["area"] == 'area "hall"'
    assert "7.988 m" in told["why"]
    assert "8 m" in told["fix"]
    assert [bool(area["strips"]) for area in document["areas"]] == [False, True]


def test_search_stops_when_told_and_is_still_whole():
    """A search told to stop at once gives a valid layout of every area, the same each time."""
    plans = [AreaPlan(str(n), rotate(ROOM, 17.0 * n, origin=(0, 0))) for n in range(5)]
    told = []

    def stop(state):
        told.append(state)
        return False

    first = check(plans, SHEET, progress=stop)
    assert first == check(plans, SHEET, progress=lambda state: False)
    assert all(area["strips"] for area in first["areas"])
    full = check(plans, SHEET, progress=lambda state: told.append(state))
    assert full == check(plans, SHEET)
    assert full["objective"] <= first["objective"] + 1e-9
    done = told[-1]
    assert (done.areas, done.areas_laid) == (5, 5)
    assert 0 < done.least <= done.best


def test_more_effort_and_another_seed_stay_valid():
    """Every effort and seed gives a valid layout; the same twice."""
    plans = [AreaPlan("a", ROOM), AreaPlan("b", rotate(ROOM, 90, origin=(0, 0)))]
    for effort in ("quick", "normal", "thorough"):
        for seed in (0, 7):
            one = check(plans, SHEET, effort=effort, seed=seed)
            assert one == check(plans, SHEET, effort=effort, seed=seed)


def test_part_rolls_on_site_save_what_is_bought():
    """A paid part roll is cut first and shortens what is bought; one dearer than a new roll stays whole."""
    room = [AreaPlan("room", box(0, 0, 6, 5))]
    plain = check(room, SHEET)
    paid = check(room, replace(SHEET, part_rolls=(PartRoll(7.0),)))
    assert [roll["on_site"] for roll in paid["roll_plan"]].count(True) == 1
    assert paid["objective_terms"]["sheet"] <= plain["objective_terms"]["sheet"] - 6.0
    dear = check(room, replace(SHEET, part_rolls=(PartRoll(7.0, 50.0),)))
    assert not any(roll["on_site"] for roll in dear["roll_plan"])


def test_layouts_compared_trade_sheet_for_seams():
    """From one to the next more sheet buys shorter seams; each can be laid again as it says it was."""
    plans = [AreaPlan("room", ROOM)]
    ways = compare_layouts(plans, SHEET)
    assert len(ways) > 1
    for way, following in itertools.pairwise(ways):
        assert way.consumed_area_m2 <= following.consumed_area_m2 + 1e-4
        assert way.seam_length_m > following.seam_length_m
    for way in ways:
        sheet = replace(
            SHEET,
            seam_cost_m=SHEET.seam_cost_m * way.seam_weight,
            cut_cost=SHEET.cut_cost * way.seam_weight,
            head_joints_allowed=way.head_joints,
        )
        laid = check(plans, sheet, direction=way.direction_deg)
        assert math.isclose(laid["consumed_area_m2"], way.consumed_area_m2, abs_tol=1e-5)
        assert len(laid["pieces"]) == way.pieces


def winged_rooms() -> list[Polygon]:
    """Rooms with wings, a slanted wall or a column; sizes step by primes, so that none fits by luck."""
    rooms = []
    for k in range(12):
        wide, deep = 2.3 + (k * 7 % 11) * 0.37, 1.9 + (k * 5 % 13) * 0.29
        room = box(0, 0, wide, deep)
        if k % 2:
            room = union_all([room, box(wide - 0.05, 0.2, wide + 1.1 + k * 0.07, 0.2 + deep * 0.45)])
        if k % 3 == 1:
            room = room.difference(Polygon([(0, deep), (wide * 0.4, deep), (0, deep * 0.6)]))
        if k % 4 == 3:
            room = room.difference(box(wide * 0.4, deep * 0.5, wide * 0.4 + 0.3, deep * 0.5 + 0.3))
        rooms.append(rotate(room, 19.0 * (k % 5 == 4), origin=(0, 0)))
    return rooms


def test_made_rooms_use_little_more_than_any_layout_must():
    """The bound of any layout is proven, so that sheet beyond it is at most what was wasted: 6 % here."""
    used = least = 0.0
    for number, room in enumerate(winged_rooms()):
        document = check([AreaPlan(f"room {number}", room)], replace(SHEET, roll_lengths_m=(30.0,)))
        used += document["consumed_area_m2"]
        least += document["bounds"]["any_layout_m2"]
    assert least <= used <= 1.06 * least


def test_without_head_joints_the_proven_bound_is_reached():
    """In nine rooms of ten strips of one piece are cut from as little roll as is proven for them."""
    sheet = replace(SHEET, roll_lengths_m=(30.0,), head_joints_allowed=False)
    reached = 0
    for room in winged_rooms():
        document = check([AreaPlan("room", room)], sheet)
        reached += document["consumed_area_m2"] <= document["bounds"]["these_strips_m2"] + 1e-4
    assert reached >= 11


def test_validator_sees_rolls_that_are_not_there_and_third_cuts():
    """The validator's checks of rolls can fail."""
    sheet = replace(SHEET, part_rolls=(PartRoll(7.0),))
    good = check([AreaPlan("room", box(0, 0, 6, 5))], sheet)
    areas, data = {"room": box(0, 0, 6, 5)}, asdict(sheet)
    spoiled = {**good, "roll_plan": [{**roll, "on_site": not roll["on_site"]} for roll in good["roll_plan"]]}
    assert any("on site" in fault for fault in faults(spoiled, areas, data))
    terms = {**good["objective_terms"], "sheet": good["objective_terms"]["sheet"] + 1.0}
    assert any("sheet costs" in fault for fault in faults({**good, "objective_terms": terms}, areas, data))
