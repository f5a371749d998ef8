"""Joints and cable of an area from its facts, against the guideline's table and arithmetic done by hand."""

from __future__ import annotations

import copy
import json
import math
from pathlib import Path
from typing import Any

import pytest
from shapely import LineString, Point, Polygon

from undercourse.facts.jobs import read_job
from undercourse.files.reading import parse_toml
from undercourse.files.reporting import JobPapers, prepare
from undercourse.files.shipped import rulebook

BOOK = rulebook(None)
JOBS = Path(__file__).parents[2] / "src" / "undercourse" / "data" / "demo" / "jobs"
BATH = parse_toml((JOBS / "heated_bath.toml").read_text("utf-8"), "heated_bath.toml")
FOOT, INCH = 0.3048, 0.0254


def papers(**area: Any) -> JobPapers:
    """The heated bath's first area with other outlines, lines or facts."""
    data = copy.deepcopy(BATH)
    first = data["area"][0]
    facts = area.pop("facts", {})
    first.update(area)
    data["area"] = [first]
    for name, value in facts.items():
        group = BOOK.vocabulary[name].group
        for part in (data, first):
            part.get(group, {}).pop(name, None)
        if value is not None:
            first.setdefault(group, {})[name] = value
    return prepare(read_job(data, BOOK.vocabulary, str), BOOK, None, False)


LONG_ROOM = {
    "outline": [[0.0, 0.0], [9.0, 0.0], [9.0, 3.0], [0.0, 3.0]],
    "obstacles": [],
    "doors": [[[0.5, 0.0], [1.3, 0.0]]],
}
COLD = {"heating": "none", "heating_position": None, "heating_power": None, "heating_spacing": None,
        "heating_sensor_limit": None, "wants_heating": False, "rug_resistance": None,
        "floor_insulation": None}  # fmt: skip


@pytest.mark.parametrize(
    ("facts", "feet"),
    [
        (COLD, 25),
        ({**COLD, "direct_sun": True}, 12),
        ({**COLD, "wet_exposure": "wet"}, 12),
        ({**COLD, "base": "suspended slab", "grade_level": "above grade"}, 12),
        ({**COLD, "exposure": "exterior open"}, 12),
        ({}, 12),  # heated: from memory
        ({**COLD, "direct_sun": None}, 12),  # not known: the closer one
    ],
)
def test_field_is_what_the_guideline_allows_for_the_place(facts: dict[str, Any], feet: int) -> None:
    """Greatest spacing by place: kind = published, guideline EJ171 as quoted by trade magazines, 2018."""
    found = papers(**LONG_ROOM, facts=facts).joints["Bath floor"]
    assert found["longest_field_m"] == pytest.approx(feet * FOOT, abs=1e-3)
    assert all(field["long_m"] <= feet * FOOT + 1e-3 for field in found["fields"])
    assert len(found["fields"]) >= math.ceil(9.0 / (feet * FOOT))


def test_stated_spacing_is_kept_but_never_beyond_the_guideline() -> None:
    """Stated 8 ft: drawn at 8 ft. Stated 30 ft inside: drawn at the guideline's 25 ft, and said."""
    near = papers(**LONG_ROOM, facts={**COLD, "movement_joint_spacing": "8 ft"}).joints["Bath floor"]
    assert near["longest_field_m"] == pytest.approx(8 * FOOT, abs=1e-3)
    assert near["longest_field_from"] == "as stated for this area"
    far = papers(**LONG_ROOM, facts={**COLD, "movement_joint_spacing": "30 ft"}).joints["Bath floor"]
    assert far["longest_field_m"] == pytest.approx(25 * FOOT, abs=1e-3)
    assert any("30 ft" in note for note in far["notes"])


def test_sealant_is_length_by_width_by_depth_and_rod_fills_the_joint() -> None:
    """9 x 3 m, joints 3/8 in wide: 3/8 x 1/4 in over edges and joints; kind = derived by arithmetic."""
    found = papers(**LONG_ROOM, facts={**COLD, "movement_joint_width": "3/8 in"}).joints["Bath floor"]
    length = found["joint_length_m"] + 24.0
    assert found["edge_length_m"] + found["doorway_length_m"] == pytest.approx(24.0)
    assert found["doorway_length_m"] == pytest.approx(0.8)
    assert found["width_m"] == pytest.approx(3 / 8 * INCH, abs=1e-5)
    assert found["sealant_l"] == pytest.approx(length * 3 / 8 * INCH * INCH / 4 * 1000, rel=1e-3)
    assert found["rod_m"] == pytest.approx(length, abs=1e-3)
    # A quarter over 3/8 in is 15/32 in: the next eighth is 1/2 in.
    assert found["rod_diameter_m"] == pytest.approx(INCH / 2, abs=1e-5)


def test_take_off_buys_sealant_by_volume() -> None:
    """Packs are the volume with 10 % over 20 fl oz a pack (29.5735 ml each, NIST SP 811)."""
    made = papers()
    (taken,) = made.takeoffs
    line = next(line for line in taken["lines"] if line["role"] == "sealant")
    volume = made.joints["Bath floor"]["sealant_l"] * 1.1
    assert line["need"] == pytest.approx(volume, abs=2e-3)
    assert line["packs"] == math.ceil(volume / (20 * 0.0295735296))
    assert any("backing rod" in one["what"] for one in taken["also"])


def test_joints_stand_over_base_joints_and_changes_of_material() -> None:
    """Given lines are carried through where they are, whatever the spacing."""
    lines = {"base_joint_lines": [[[4.0, -1.0], [4.0, 4.0]]], "material_lines": [[[-1.0, 2.0], [4.0, 2.0]]]}
    found = papers(**LONG_ROOM, **lines, facts=COLD).joints["Bath floor"]
    kinds = {joint["kind"]: LineString(joint["line"]) for joint in found["joints"]}
    assert kinds["base joint"].equals(LineString([(4, 0), (4, 3)]))
    assert kinds["change of material"].length == pytest.approx(4.0, abs=0.01)


def test_joints_lie_on_the_lines_of_the_tile() -> None:
    """12 in tile, 1/8 in grout joints, from the tile start: each joint is a whole number of modules off."""
    found = papers(**LONG_ROOM, tile_start=[0.1, 0.05], facts=COLD | {"direct_sun": True}).joints[
        "Bath floor"
    ]
    module = 12.125 * INCH
    assert found["joints"]
    for joint in found["joints"]:
        (x, _), (end, _) = joint["line"]
        if abs(x - end) < 1e-6:
            off = (x - 0.1) / module
            assert abs(off - round(off)) < 1e-2


def test_cable_lies_in_the_heated_zone_of_the_demo_bath() -> None:
    """The kit whole, 3 in off walls, 2 in off fixed parts, never closer than the asked power allows.

    Distances: published for one heated floor in a trade case. 12 W a sq ft of a cable of 3 W a ft is 3 in.
    """
    made = papers()
    found = made.cables["Bath floor"]
    floor = Polygon(BATH["area"][0]["outline"])
    fixed = [Polygon(ring) for ring in BATH["area"][0]["obstacles"]]
    (circuit,) = found["circuits"]
    path = LineString(circuit["path"])
    assert path.length == pytest.approx(200 * FOOT, abs=0.02)
    assert path.distance(floor.exterior) >= 3 * INCH - 1e-3
    assert all(path.distance(one) >= 2 * INCH - 1e-3 for one in fixed)
    assert circuit["spacing_m"] >= 3 * INCH - 1e-6
    # Whole studs of half an inch.
    assert circuit["spacing_m"] / (INCH / 2) == pytest.approx(round(circuit["spacing_m"] / (INCH / 2)))
    assert circuit["heated_m2"] == pytest.approx(path.length * circuit["spacing_m"], rel=1e-3)
    assert circuit["amps"] == pytest.approx(600 / 120)
    assert any("never cut" in text for text in found["cautions"])
    assert any("licensed electrician" in text for text in found["cautions"])


def test_take_off_buys_the_kits_and_controls_of_the_plan() -> None:
    """A larger room: kits by item as drawn, and as many controls as their current needs."""
    room = {"outline": [[0.0, 0.0], [6.0, 0.0], [6.0, 4.0], [0.0, 4.0]], "obstacles": [], "doors": []}
    made = papers(**room)
    found = made.cables["Bath floor"]
    (taken,) = made.takeoffs
    bought = {
        line["item_number"]: line["packs"] for line in taken["lines"] if line["role"] == "heating cable"
    }
    drawn = [circuit["item_number"] for circuit in found["circuits"]]
    assert bought == {item: drawn.count(item) for item in set(drawn)}
    controls = next(line["packs"] for line in taken["lines"] if line["role"] == "heating control")
    assert controls == found["controls"] >= math.ceil(found["amps"] / 15.0 - 1e-9)
    for joint in made.joints["Bath floor"]["joints"]:
        for circuit in found["circuits"]:
            assert LineString(circuit["path"]).distance(LineString(joint["line"])) >= 2 * INCH - 1e-3


def test_unheated_place_and_given_control_are_kept() -> None:
    """No cable under the cupboard; the run begins at the control."""
    made = papers(unheated=[[[1.3, 2.2], [2.7, 2.2], [2.7, 2.9], [1.3, 2.9]]], control=[0.3, 0.0])
    (circuit,) = made.cables["Bath floor"]["circuits"]
    path = LineString(circuit["path"])
    assert not path.intersects(Polygon([(1.3, 2.2), (2.7, 2.2), (2.7, 2.9), (1.3, 2.9)]))
    assert Point(circuit["path"][0]).distance(Point(0.3, 0.0)) < 0.4


def test_closet_without_room_for_a_kit_says_so() -> None:
    """A kit is never cut: where none fits nothing is drawn, nothing bought, and the reason stands there."""
    made = papers(outline=[[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]], obstacles=[], doors=[])
    found = made.cables["Bath floor"]
    assert found["circuits"] == []
    assert any("No kit fits" in note for note in found["notes"])
    line = next(line for line in made.takeoffs[0]["lines"] if line["role"] == "heating cable")
    assert line["packs"] is None


def test_pipes_get_collars_and_drains_do_not() -> None:
    """A pipe of 4 in is a collar in place of four corners; the shower's drain is the drain's own."""
    pipe = [[2.0, 0.6], [2.1, 0.6], [2.1, 0.7], [2.0, 0.7]]
    made = papers(obstacles=[*BATH["area"][0]["obstacles"], pipe])
    corners = next(line for line in made.takeoffs[0]["lines"] if line["role"] == "corners and collars")
    assert corners["what"].endswith("1 collar")
    plain = papers().takeoffs[0]
    before = next(line for line in plain["lines"] if line["role"] == "corners and collars")
    assert corners["need"] == before["need"] + 1
    whole = prepare(read_job(copy.deepcopy(BATH), BOOK.vocabulary, str), BOOK, None, False)
    shower = next(one for one in whole.takeoffs if one["area"] == "Shower floor")
    line = next(line for line in shower["lines"] if line["role"] == "corners and collars")
    assert line["need"] == 4


def test_band_counts_every_seam_once() -> None:
    """Seams of the document hold its head joints: band is seams, edges, 2 in a corner; nothing twice."""
    made = papers()
    area = made.layouts[0]["areas"][0]
    line = next(line for line in made.takeoffs[0]["lines"] if line["role"] == "seam tape")
    corners = area["inside_corners"] + area["outside_corners"]
    wanted = area["seam_length_m"] + area["edge_length_m"] + corners * 2 * INCH
    assert line["measured"] == pytest.approx(wanted, abs=1e-3)
    assert json.loads(json.dumps(made.joints))  # plain data throughout
