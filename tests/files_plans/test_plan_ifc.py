"""IFC models: spaces with holes, storeys, units, names, doors and columns; and models that are none.

The models made here are written as text by hand, entity by entity after ISO 16739 and ISO 10303-21, so that
what the reader makes of them is not compared with itself. The open duplex model (buildingSMART, CC BY 4.0;
see the note beside the data) states its room areas, and they are the other side for it.
"""

from __future__ import annotations

import importlib.util
import re
import sys

import pytest

from undercourse.base.problems import Problem, Problems
from undercourse.files import plan_ifc
from undercourse.files.plans import PlanOptions, choose_areas, read_plan, read_plan_bytes

from .made import OPEN, told

HAS_READER = importlib.util.find_spec(plan_ifc.READER) is not None
needs_reader = pytest.mark.skipif(not HAS_READER, reason="the optional extra ifc is not installed (make ifc)")

L_SHAPE = [(0, 0), (6, 0), (6, 2), (3, 2), (3, 4), (0, 4)]
HOLE = [(1, 1), (2, 1), (2, 2), (1, 2)]


class Model:
    """A model as STEP text."""

    def __init__(self, unit: str = "IFCSIUNIT(*,.LENGTHUNIT.,$,.METRE.)", scale: float = 1.0) -> None:
        self.lines: list[str] = []
        self.scale = scale
        self.origin = self.add("IFCCARTESIANPOINT((0.,0.,0.))")
        axes = self.add(f"IFCAXIS2PLACEMENT3D({self.origin},$,$)")
        self.place = self.add(f"IFCLOCALPLACEMENT($,{axes})")
        self.context = self.add(f"IFCGEOMETRICREPRESENTATIONCONTEXT($,'Model',3,1.E-5,{axes},$)")
        self.up = self.add("IFCDIRECTION((0.,0.,1.))")
        length = self.add(unit)
        if "CONVERSION" in unit:
            meter = self.add("IFCSIUNIT(*,.LENGTHUNIT.,$,.METRE.)")
            size = self.add("IFCDIMENSIONALEXPONENTS(1,0,0,0,0,0,0)")
            factor = self.add(f"IFCMEASUREWITHUNIT(IFCLENGTHMEASURE(0.3048),{meter})")
            length = self.add(f"IFCCONVERSIONBASEDUNIT({size},.LENGTHUNIT.,'FOOT',{factor})")
        units = self.add(f"IFCUNITASSIGNMENT(({length}))")
        self.project = self.add(f"IFCPROJECT('{self.guid()}',$,'P',$,$,$,$,({self.context}),{units})")
        self.building = self.add(f"IFCBUILDING('{self.guid()}',$,'B',$,$,{self.place},$,$,.ELEMENT.,$,$,$)")
        self.join(self.project, [self.building])

    def add(self, text: str) -> str:
        self.lines.append(text)
        return f"#{len(self.lines)}"

    def guid(self) -> str:
        return f"{len(self.lines):022d}"

    def join(self, whole: str, parts: list[str]) -> None:
        self.add(f"IFCRELAGGREGATES('{self.guid()}',$,$,$,{whole},({','.join(parts)}))")

    def number(self, value: float) -> str:
        return repr(float(value / self.scale))

    def ring(self, corners: list) -> str:
        points = [self.add(f"IFCCARTESIANPOINT(({self.number(x)},{self.number(y)}))") for x, y in corners]
        return self.add(f"IFCPOLYLINE(({','.join([*points, points[0]])}))")

    def body(self, corners: list, z: float, height: float, holes: list = ()) -> str:
        edge = self.ring(corners)
        if holes:
            inner = ",".join(self.ring(hole) for hole in holes)
            profile = self.add(f"IFCARBITRARYPROFILEDEFWITHVOIDS(.AREA.,$,{edge},({inner}))")
        else:
            profile = self.add(f"IFCARBITRARYCLOSEDPROFILEDEF(.AREA.,$,{edge})")
        foot = self.add(f"IFCCARTESIANPOINT((0.,0.,{self.number(z)}))")
        axes = self.add(f"IFCAXIS2PLACEMENT3D({foot},$,$)")
        solid = self.add(f"IFCEXTRUDEDAREASOLID({profile},{axes},{self.up},{self.number(height)})")
        shape = self.add(f"IFCSHAPEREPRESENTATION({self.context},'Body','SweptSolid',({solid}))")
        return self.add(f"IFCPRODUCTDEFINITIONSHAPE($,$,({shape}))")

    def storey(self, name: str, spaces: list[str]) -> None:
        storey = self.add(f"IFCBUILDINGSTOREY('{self.guid()}',$,'{name}',$,$,{self.place},$,$,.ELEMENT.,0.)")
        self.join(self.building, [storey])
        self.join(storey, spaces)

    def space(self, number: str, name: str, corners: list, z: float = 0.0, holes: list = ()) -> str:
        body = self.body(corners, z, 2.5, holes)
        return self.add(
            f"IFCSPACE('{self.guid()}',$,'{number}',$,$,{self.place},{body},'{name}',.ELEMENT.,.INTERNAL.,$)"
        )

    def door(self, corners: list, z: float = 0.0) -> str:
        body = self.body(corners, z, 2.0)
        return self.add(f"IFCDOOR('{self.guid()}',$,'D',$,$,{self.place},{body},$,$,$)")

    def column(self, corners: list, z: float = 0.0) -> str:
        body = self.body(corners, z, 2.5)
        return self.add(f"IFCCOLUMN('{self.guid()}',$,'C',$,$,{self.place},{body},$)")

    def data(self) -> bytes:
        head = "ISO-10303-21;\nHEADER;\nFILE_DESCRIPTION((''),'2;1');\nFILE_NAME('','',(''),(''),'','','');\n"
        head += "FILE_SCHEMA(('IFC2X3'));\nENDSEC;\nDATA;\n"
        body = "".join(f"#{number}={line};\n" for number, line in enumerate(self.lines, 1))
        return f"{head}{body}ENDSEC;\nEND-ISO-10303-21;\n".encode()


UNITS = {
    "m": ("IFCSIUNIT(*,.LENGTHUNIT.,$,.METRE.)", 1.0),
    "mm": ("IFCSIUNIT(*,.LENGTHUNIT.,.MILLI.,.METRE.)", 0.001),
    "ft": ("IFCSIUNIT(*,.LENGTHUNIT.,$,.METRE.) /*CONVERSION*/", 0.3048),
}


def small_model(unit: str = "m") -> bytes:
    """Two storeys: an L-shaped room with a shaft, one beside it with a door between, one above."""
    model = Model(*UNITS[unit])
    hall = model.space("1", "Hall", L_SHAPE, holes=[HOLE])
    den = model.space("2", "Den", [(6.1, 0), (9, 0), (9, 2), (6.1, 2)])
    loft = model.space("", "Loft", [(0, 0), (6, 0), (6, 4), (0, 4)], z=2.8)
    model.storey("Ground", [hall, den])
    model.storey("Upper", [loft])
    model.door([(6, 0.5), (6.1, 0.5), (6.1, 1.4), (6, 1.4)])
    model.column([(4, 0.5), (4.3, 0.5), (4.3, 0.8), (4, 0.8)], z=2.8)
    return model.data()


@needs_reader
@pytest.mark.parametrize("unit", UNITS)
def test_spaces_have_outlines_holes_storeys_and_names(unit):
    """The L of 18 m2 less a shaft of 1 m2, whatever the unit of the file: 17 m2, six corners and one hole."""
    plan = read_plan_bytes(small_model(unit), "a.ifc")
    hall, den, loft = choose_areas(plan)
    assert plan.unit == unit
    assert [(area.name, area.storey) for area in plan.areas] == [
        ("1 Hall", "Ground"), ("2 Den", "Ground"), ("Loft", "Upper"),
    ]  # fmt: skip
    assert hall.polygon.area == pytest.approx(17.0, abs=1e-4)
    assert len(hall.polygon.exterior.coords) == 7
    assert len(hall.polygon.interiors) == 1
    assert den.polygon.area == pytest.approx(5.8, abs=1e-4)
    assert loft.polygon.area == pytest.approx(24 - 0.09, abs=1e-4)


@needs_reader
def test_doors_stand_on_their_storey_and_columns_are_obstacles():
    """The door of 0.9 m is in both rooms of its storey and not in the one above, where the column is."""
    hall, den, loft = choose_areas(read_plan_bytes(small_model(), "a.ifc"))
    assert [sorted(line) for line in hall.doors] == [[pytest.approx((6, 0.5)), pytest.approx((6, 1.4))]]
    assert [sorted(line) for line in den.doors] == [[pytest.approx((6.1, 0.5)), pytest.approx((6.1, 1.4))]]
    assert not loft.doors
    assert any("1 columns" in note for note in loft.notes)
    assert not hall.notes


@needs_reader
def test_storey_and_room_are_chosen():
    """By storey, by name, by pattern."""
    plan = read_plan_bytes(small_model(), "a.ifc")
    assert [area.name for area in choose_areas(plan, storey="upper")] == ["Loft"]
    assert [area.name for area in choose_areas(plan, ["*den"])] == ["2 Den"]
    told(lambda: choose_areas(plan, storey="Cellar"), "Cellar", "Ground")


@needs_reader
def test_wrong_unit_is_asked_about_and_can_be_told():
    """Rooms in millimeters in a file that says meters are 6 km wide; told, they are rooms."""
    model = Model(UNITS["m"][0], 0.001)
    model.storey("G", [model.space("1", "Hall", L_SHAPE)])
    told(lambda: read_plan_bytes(model.data(), "a.ifc"), "6 km", "--unit mm", "1 Hall")
    [hall] = read_plan_bytes(model.data(), "a.ifc", PlanOptions(unit="mm")).areas
    assert hall.polygon.area == pytest.approx(18.0)


def stated_areas(text: str) -> dict[str, float]:
    """Number of a space to the floor area that the model states for it, read from the text itself. [m2]"""
    areas = dict(re.findall(r"#(\d+)=IFCQUANTITYAREA\('GSA BIM Area',\$,\$,([\d.]+)\)", text))
    sets = dict(re.findall(r"#(\d+)=IFCELEMENTQUANTITY\([^;]*\(#(\d+)\)\);", text))
    spaces = dict(re.findall(r"#(\d+)=IFCSPACE\('[^']*',#\d+,'(\w+)'", text))
    relations = re.findall(r"IFCRELDEFINESBYPROPERTIES\('[^']*',#\d+,\$,\$,\(#(\d+)\),#(\d+)\)", text)
    return {
        spaces[one]: float(areas[sets[many]]) for one, many in relations if one in spaces and many in sets
    }


@needs_reader
def test_open_model_has_the_areas_that_it_states():
    """All 21 spaces; the areas that the model states reach to the middle of the walls around each.

    So a stated area less the area of the outline, over the length of its edge, is half a wall: the walls of
    the drawing cut from the model are 0.124 m to 0.417 m thick, and the kitchen has an open side.
    """
    text = (OPEN / "duplex.ifc").read_text(encoding="utf-8")
    stated = stated_areas(text)
    plan = read_plan(OPEN / "duplex.ifc")
    assert {area.storey for area in plan.areas} == {"Level 1", "Level 2", "Roof"}
    assert sorted(stated) == sorted(area.name.split()[0] for area in plan.areas)
    assert len(stated) == 21
    for area in plan.areas:
        half_wall = (stated[area.name.split()[0]] - area.polygon.area) / area.polygon.length
        assert 0.055 < half_wall < 0.215, area.name


@needs_reader
def test_open_model_and_its_drawing_agree_room_by_room():
    """Outlines of level 1 of the model are those of the drawing that was cut from it, doors included."""
    drawn = {area.name: area for area in choose_areas(read_plan(OPEN / "duplex_level1.dxf"))}
    model = {a.name: a for a in choose_areas(read_plan(OPEN / "duplex.ifc"), storey="Level 1")}
    assert set(drawn) == set(model)
    for name, area in drawn.items():
        assert area.polygon.symmetric_difference(model[name].polygon).area < 0.01
        assert len(area.doors) == len(model[name].doors)


@needs_reader
@pytest.mark.parametrize("share", [0.1, 0.5, 0.9, 0.99])
def test_model_cut_off_is_told_or_read_as_far_as_it_goes(share):
    """A model that was cut off gives areas or a problem; never a traceback."""
    data = small_model()
    told_of: tuple[Problem, ...] = ()
    areas = 0
    try:
        areas = len(read_plan_bytes(data[: int(len(data) * share)], "a.ifc").areas)
    except Problems as error:
        told_of = error.problems
    assert 0 < areas <= 3 or all(problem.where and problem.fix for problem in told_of)
    assert areas or told_of


@needs_reader
def test_model_that_refers_to_itself_does_not_take_the_program_along():
    """A placement relative to itself has no end: it ends in a problem or without areas, in this process."""
    text = small_model().decode().replace("IFCLOCALPLACEMENT($,#2)", "IFCLOCALPLACEMENT(#3,#2)")
    told(lambda: read_plan_bytes(text.encode(), "a.ifc"), "a.ifc")


@needs_reader
def test_model_without_spaces_says_so():
    """A model of walls only is no plan of rooms."""
    told(lambda: read_plan_bytes(Model().data(), "a.ifc"), "no space", "IfcSpace")


def test_without_the_extra_the_message_says_how_to_install(monkeypatch):
    """The package is looked for only when a model is read."""
    monkeypatch.setattr(plan_ifc, "READER", "no_such_reader")
    told(lambda: read_plan_bytes(small_model(), "a.ifc"), "no_such_reader", "make ifc", "pip install")
    assert plan_ifc.READER not in sys.modules


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"PK\x03\x04" + bytes(100), ("ZIP", ".ifc")),
        (b'<?xml version="1.0"?><!DOCTYPE a [<!ENTITY b "' + b"c" * 100 + b'">]><ifc/>', ("XML", ".ifc")),
        (b"\xef\xbb\xbf<?xml ?>", ("XML",)),
        (b"hello", ("no IFC model",)),
        (b"ISO-10303-21;\nDATA;\n#1=IFCX(" + b"(" * 5000 + b")" * 5000 + b");", ("nested",)),
        (b"ISO-10303-21;\nDATA;\n#1=IFCX(" + b"(1,(2," * 400 + b");", ("nested",)),
    ],
)
def test_bombs_and_other_files_are_refused_before_the_reader_sees_them(data, words):
    """Packed, XML or deeply nested: nothing is unpacked, no entity expanded."""
    told(lambda: read_plan_bytes(data, "a.ifc"), *words)


@pytest.mark.parametrize("name", ["a.ifczip", "a.ifcxml", "a.zip", "a.dwg", "a.xml"])
def test_other_forms_are_refused_by_name(name):
    """The message says which form to save instead."""
    told(lambda: read_plan_bytes(b"x", name), "no plan that can be read")
