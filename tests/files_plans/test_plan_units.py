"""Units: a drawing that contradicts its own header is asked about, never guessed.

1 in is 25.4 mm and 1 ft is 12 in (international yard and pound, 1959); codes as in the format's reference.
"""

from __future__ import annotations

import pytest

from .made import SQUARE, areas_of, collection, drawing, plan_of, told


def room(unit: int, scale: float, name: str = "Bedroom", texts: tuple[str, ...] = ()):
    """A drawing of one room of 4 x 3 in units of ``scale``."""
    document, space = drawing(unit)
    space.add_lwpolyline([(x * scale, y * scale) for x, y in SQUARE], close=True)
    space.add_text(name, height=0.2 * scale).set_placement((scale, scale))
    for number, text in enumerate(texts):
        space.add_text(text, height=0.1 * scale).set_placement((scale, (1.5 + number / 2) * scale))
    return document, space


@pytest.mark.parametrize(
    ("unit", "scale", "shown", "proposed"),
    [
        (4, 1.0, "4 mm across", "m"),  # drawn in meters, header in millimeters: a bedroom 4 mm wide
        (6, 1000.0, "4 km across", "mm"),  # drawn in millimeters, header in meters: 4 km
        (4, 39.37, "0.16 m", "in"),  # drawn in inches, header in millimeters
        (1, 1000.0, "", "mm"),  # drawn in millimeters, header in inches: 102 m is a hall, so dimensions tell
    ],
)
def test_room_of_an_impossible_size_is_asked_about(unit, scale, shown, proposed):
    """The question names the room, its size by the header, and the unit that would make it a room."""
    document, space = room(unit, scale)
    if not shown:
        space.add_linear_dim(base=(0, -500), p1=(0, 0), p2=(4000, 0), text="4.00 m").render()
        shown = "4.00 m"
    text = told(lambda: plan_of(document), shown, f'plan_unit = "{proposed}"', f"--unit {proposed}")
    if proposed != "in":
        assert "Bedroom" in text
    areas = areas_of(document, unit=proposed)
    assert areas[0].polygon.area == pytest.approx(12.0, rel=1e-3)


def test_told_unit_is_not_questioned():
    """A person who says millimeters of a model railway has it."""
    document, _ = room(6, 150.0)
    [area] = areas_of(document, unit="mm")
    assert area.polygon.bounds[2] == pytest.approx(0.6)


@pytest.mark.parametrize("text", ["3.50 m", "3500", "350 cm", "11'-5 25/32\"", "3,50 m"])
def test_dimensions_that_agree_with_the_header_ask_nothing(text):
    """A length of 3.5 m, written in any unit, agrees with a drawing in millimeters that is right."""
    document, space = room(4, 1000.0)
    space.add_linear_dim(base=(0, -500), p1=(0, 0), p2=(3500, 0), text=text).render()
    [area] = areas_of(document)
    assert area.polygon.area == pytest.approx(12.0)


@pytest.mark.parametrize(
    ("unit", "scale", "text", "proposed"),
    [
        (5, 1000.0, "3.50 m", "mm"),  # by the header 40 m x 30 m, a hall that could be
        (1, 1000.0, "3.50 m", "mm"),
        (6, 3.28084, "11'-5 25/32\"", "ft"),  # by the header 13 x 10 m
        (2, 1.0, "3,50 m", "m"),  # by the header 4 x 3 ft
    ],
)
def test_dimensions_that_contradict_the_header_are_asked_about(unit, scale, text, proposed):
    """What is written at a line of known length tells the unit better than a header that nobody looks at."""
    document, space = room(unit, scale)
    space.add_linear_dim(base=(0, -scale), p1=(0, 0), p2=(3.5 * scale, 0), text=text).render()
    said = told(lambda: plan_of(document), "says otherwise", f"--unit {proposed}", "dimension")
    assert "1 more" not in said
    [area] = areas_of(document, unit=proposed)
    assert area.polygon.area == pytest.approx(12.0, rel=1e-3)


def test_one_odd_dimension_among_right_ones_is_told_not_asked():
    """Two dimensions agree, one was overwritten by hand: the plan is read, the odd one is in the notes."""
    document, space = room(4, 1000.0)
    for place, text in enumerate(("3.50 m", "3.50 m", "35.0 m")):
        space.add_linear_dim(base=(0, -500 * place), p1=(0, 0), p2=(3500, 0), text=text).render()
    plan = plan_of(document)
    assert len(plan.areas) == 1
    assert any("do not fit" in note and "35.0 m" in note for note in plan.notes)


def test_area_written_in_the_room_contradicts_the_header():
    """12 m2 are written in a room that would have 0.12 ha by the header."""
    document, _ = room(5, 1000.0, texts=("12.0 m²",))
    told(lambda: plan_of(document), "12.0 m²", "--unit mm")
    document, _ = room(4, 1000.0, texts=("12.0 m²",))
    assert len(areas_of(document)) == 1
    document, _ = room(2, 3.28084, texts=("129 sq ft",))
    assert len(areas_of(document)) == 1


def test_total_written_in_one_room_asks_nothing():
    """The floor area of a whole apartment written in its hall fits no unit, and is only told."""
    document, _ = room(4, 1000.0, texts=("Total 96.5 m2",))
    plan = plan_of(document)
    assert len(plan.areas) == 1


@pytest.mark.parametrize(("code", "name"), [(0, "does not say its unit"), (3, "miles"), (13, "microns")])
def test_header_without_a_unit_of_rooms_is_asked_about(code, name):
    """The question proposes the unit that would make the outline a room."""
    document, _ = room(code, 1000.0)
    told(lambda: plan_of(document), name, "--unit mm", "4.00 m")


def test_loose_lines_of_an_impossible_size_are_asked_about():
    """Four lines of 4 and 3 mm would all be one corner within the tolerance."""
    document, space = drawing(4)
    for one, other in zip(SQUARE, SQUARE[1:] + SQUARE[:1], strict=True):
        space.add_line(one, other)
    told(lambda: plan_of(document), "4 mm across", "--unit m")
    assert areas_of(document, unit="m")[0].polygon.area == pytest.approx(12.0)


def test_polygons_of_an_impossible_size_are_asked_about():
    """Polygons drawn in millimeters, read as meters."""
    ring = [[[x * 1000, y * 1000] for x, y in SQUARE]]
    told(lambda: plan_of(collection(ring)), "4 km across", "--unit mm")
    assert areas_of(collection(ring), unit="mm")[0].polygon.area == pytest.approx(12.0)


@pytest.mark.parametrize("crs", ["urn:ogc:def:crs:OGC:1.3:CRS84", "urn:ogc:def:crs:EPSG::4326", "EPSG:4326"])
def test_degrees_are_refused_with_a_hint(crs):
    """Said by the document, or plain from a room of 40 millionths of a degree in a town."""
    ring = [[[13.4 + x * 1e-5, 52.5 + y * 1e-5] for x, y in SQUARE]]
    told(lambda: plan_of(collection(ring)), "degrees", "metric grid")
    ring = [[[x, y] for x, y in SQUARE]]
    named = {**collection(ring), "crs": {"type": "name", "properties": {"name": crs}}}
    told(lambda: plan_of(named), "degrees", "crs")
