"""Layouts as files: drawings in true size that read back to the same areas, a workbook that adds up.

Areas are held against general geometry, sizes on paper against the marks in the PDF and SVG themselves, the
workbook against an evaluator of its own and, where one is installed, an office program.
"""

from __future__ import annotations

import importlib.util
import io
import json
import re
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from pypdf import PdfReader
from pypdf.generic import ContentStream
from shapely.geometry import LineString, Polygon
from tests.papers.test_workbook import evaluate, read_workbook, recalculated
from typer.testing import CliRunner

from undercourse.base.problems import Problems
from undercourse.cli.app import app
from undercourse.drawings import draw_cable_plan
from undercourse.drawings.floors import PaperRoom
from undercourse.drawings.sheet import Stroke
from undercourse.files.layout_out import plan_rooms
from undercourse.files.plan_parts import PlanOptions, choose_areas
from undercourse.files.plans import read_plan, read_plan_bytes
from undercourse.layout import AreaPlan, Sheet, lay_out, layout_document
from undercourse.papers.layout_dxf import layout_dxf
from undercourse.papers.layout_geojson import layout_geojson
from undercourse.papers.layout_sheets import FOOT_MM, MARGIN_MM, paper_sheets

DATA = Path(__file__).parents[1] / "data" / "open"
JOBS = Path(__file__).parents[2] / "src" / "undercourse" / "data" / "demo" / "jobs"
POINT_MM = 25.4 / 72
ROOM = [(0, 0), (4.37, 0), (4.37, 3.11), (0, 3.11)]
WITH_IFC = importlib.util.find_spec("ifcopenshell") is not None

OUTLINES = """[[area]]
name = "Hall"
outline = [[0, 0], [6, 0], [6, 2.5], [2.5, 2.5], [2.5, 5], [0, 5]]
obstacles = [[[1, 1], [1.4, 1], [1.4, 1.4], [1, 1.4]]]
doors = [[[3, 0], [3.9, 0]]]
"""
CORNERS = "area,x_m,y_m\nPorch,0,0\nPorch,3,0\nPorch,3.5,2\nPorch,0,2\n"


def run(*arguments: str) -> str:
    """A command of the program that must succeed."""
    done = CliRunner().invoke(app, list(arguments))
    assert done.exit_code == 0, done.output
    return done.output


def plan_of_kind(kind: str, folder: Path) -> Path:
    """A plan of every kind that is read: open data, or written here."""
    shipped = {"dxf": "duplex_level1.dxf", "geojson": "rooms.geojson", "ifc": "duplex.ifc"}
    if kind in shipped:
        return DATA / shipped[kind]
    path = folder / f"plan.{kind}"
    path.write_text({"toml": OUTLINES, "csv": CORNERS}[kind], encoding="utf-8")
    return path


@pytest.mark.parametrize("kind", ["dxf", "geojson", "toml", "csv", "ifc"])
def test_drawing_out_and_in_again_gives_the_same_areas(kind: str, tmp_path: Path) -> None:
    """Names, areas, places, obstacles and doors come back from DXF and GeoJSON, whatever the plan was.

    kind = derived: what is written, read back, is what it was.
    """
    if kind == "ifc" and not WITH_IFC:
        pytest.skip("the optional reader of building models is not installed")
    plan = read_plan(plan_of_kind(kind, tmp_path))
    chosen = choose_areas(plan, [], "")
    if kind == "geojson":  # rooms that each lie at their own origin
        for area in chosen[::4]:
            comes_back([area], plan)
        return
    for storey in sorted({area.storey for area in chosen}):
        comes_back([area for area in chosen if area.storey == storey], plan)


def comes_back(areas: list[Any], plan: Any) -> None:
    """Areas of a plan, written and read again, are the same."""
    document = {"areas": [{"name": area.name, "strips": []} for area in areas], "pieces": []}
    rooms = plan_rooms(areas)
    drawn = layout_dxf(document, rooms, unit=plan.unit, moved_m=plan.moved_m)
    told = layout_geojson(document, rooms, moved_m=plan.moved_m)
    layers = PlanOptions(("AREAS", "OBSTACLES", "DOORS"), "")
    for data, name, options in ((drawn, "a.dxf", layers), (told, "a.geojson", PlanOptions((), "m"))):
        again = read_plan_bytes(data, name, options)
        found = {area.name: area.polygon for area in choose_areas(again, [], "")}
        before = {area.name: area.polygon for area in areas}
        assert set(found) == set(before)
        assert sorted(one.area for one in found.values()) == pytest.approx(
            sorted(one.area for one in before.values()), rel=1e-6, abs=1e-6
        )
        for title, polygon in before.items():
            moved = np.subtract(again.moved_m, plan.moved_m)
            near = [(x - moved[0], y - moved[1]) for x, y in found[title].exterior.coords]
            assert Polygon(near).symmetric_difference(Polygon(polygon.exterior)).area < 1e-4


def test_joints_and_cable_are_on_their_layers(tmp_path: Path) -> None:
    """The DXF and GeoJSON of a job hold its heating cable and movement joints in full length."""
    job = str(JOBS / "heated_bath.toml")
    document = json.loads(run("layout", job, "--json"))
    run("layout", job, "-o", str(tmp_path / "a.geojson"))
    features = json.loads((tmp_path / "a.geojson").read_text(encoding="utf-8"))["features"]
    drawn: dict[str, float] = {}
    for one in features:
        if one["geometry"]["type"] == "LineString":
            length = LineString(one["geometry"]["coordinates"]).length
            kind = one["properties"]["kind"]
            drawn[kind] = drawn.get(kind, 0.0) + length
    cables = [one["heating_cable"] for one in document["areas"] if one.get("heating_cable")]
    sold = sum(circuit["length_m"] for cable in cables for circuit in cable["circuits"])
    assert sold > 30
    assert drawn["heating cable"] == pytest.approx(sold, rel=1e-3)
    joints = [one["movement_joints"] for one in document["areas"] if one.get("movement_joints")]
    soft = sum(one["joint_length_m"] + one["doorway_length_m"] for one in joints)
    assert drawn.get("movement joint", 0.0) == pytest.approx(soft, abs=1e-3)


def paths(page: Any, stream: Any, matrix: np.ndarray) -> Iterator[np.ndarray]:
    """The points of every path of a page in millimetres, forms within forms followed."""
    resources = (stream.get("/Resources") if hasattr(stream, "get") else None) or page["/Resources"]
    resources = resources.get_object()
    stack, points = [], []
    for operands, operator in ContentStream(stream, page.pdf).operations:
        code = operator.decode()
        if code == "q":
            stack.append(matrix)
        elif code == "Q":
            matrix = stack.pop()
        elif code == "cm":
            matrix = _matrix(operands) @ matrix
        elif code in ("m", "l"):
            points.append([float(operands[0]), float(operands[1]), 1.0])
        elif code == "re":
            x, y, wide, high = map(float, operands)
            points += [[x, y, 1.0], [x + wide, y + high, 1.0]]
        elif code in ("S", "s", "f", "f*", "B", "b", "n", "W n") and points:
            yield (np.array(points) @ matrix)[:, :2] * POINT_MM
            points = []
        elif code == "Do":
            form = resources["/XObject"][operands[0]].get_object()
            if form["/Subtype"] == "/Form":
                own = _matrix(form.get("/Matrix", (1, 0, 0, 1, 0, 0)))
                yield from paths(page, form, own @ matrix)


def _matrix(six: Any) -> np.ndarray:
    a, b, c, d, e, f = (float(one) for one in six)
    return np.array([[a, b, 0], [c, d, 0], [e, f, 1]])


def spans(data: bytes, number: int = 0) -> list[tuple[float, float]]:
    """Width and height of every path on a page. [mm]"""
    page = PdfReader(io.BytesIO(data)).pages[number]
    found = paths(page, page["/Contents"].get_object(), np.eye(3))
    return [tuple(np.ptp(one, axis=0)) for one in found]


@pytest.mark.parametrize(("paper", "scale"), [("a4", 50), ("us-letter", 50), ("a3", 20), ("us-tabloid", 100)])
def test_printed_plan_is_true_to_its_scale(tmp_path: Path, paper: str, scale: int) -> None:
    """A room of 4.37 by 3.11 m measures that on paper, divided by the scale; a line of 100 mm is 100 mm.

    kind = derived: length over scale.
    """
    plan = tmp_path / "plan.csv"
    plan.write_text("area,x_m,y_m\n" + "".join(f"Den,{x},{y}\n" for x, y in ROOM), encoding="utf-8")
    out = tmp_path / "plan.pdf"
    run("layout", str(plan), "-o", str(out), "--paper", paper, "--scale", f"1:{scale}")
    data = out.read_bytes()
    sizes = spans(data)
    wanted = (4370 / scale, 3110 / scale)
    assert any(np.allclose(size, wanted, atol=0.02) for size in sizes), sorted(sizes)[-5:]
    assert any(abs(size[0] - 100.0) < 0.4 and size[1] < 4 for size in sizes)
    text = PdfReader(io.BytesIO(data)).pages[0].extract_text()
    assert f"1 : {scale}" in text
    inner = PdfReader(io.BytesIO(data)).pages[0].mediabox
    sides = {"a4": (210, 297), "a3": (297, 420), "us-letter": (215.9, 279.4), "us-tabloid": (279.4, 431.8)}
    page = sorted((float(inner.width) * POINT_MM, float(inner.height) * POINT_MM))
    assert page == pytest.approx(sides[paper], abs=0.1)
    assert all(wide <= float(inner.width) * POINT_MM for wide, _ in sizes)


def test_same_layout_gives_the_same_paper(tmp_path: Path) -> None:
    """Two runs write the same bytes."""
    for kind in ("pdf", "svg", "xlsx", "dxf"):
        done = []
        for number in (1, 2):
            path = tmp_path / f"{number}.{kind}"
            run("layout", str(DATA / "rooms.geojson"), "--area", "A103 Kitchen + obstacles", "-o", str(path))
            done.append(path.read_bytes())
        assert done[0] == done[1], kind


def test_svg_is_in_true_size(tmp_path: Path) -> None:
    """The SVG's size in mm is its own unit, and its room is the room over the scale.

    kind = derived.
    """
    plan, out = tmp_path / "plan.csv", tmp_path / "plan.svg"
    plan.write_text("area,x_m,y_m\n" + "".join(f"Den,{x},{y}\n" for x, y in ROOM), encoding="utf-8")
    run("layout", str(plan), "-o", str(out), "--scale", "1:50")
    text = out.read_text(encoding="utf-8")
    wide, box_wide = re.search(r'width="([\d.]+)mm".*?viewBox="0 0 ([\d.]+)', text).groups()  # type: ignore[union-attr]
    assert wide == box_wide
    first = re.search(r'<path class="room" d="([^"]*)"', text)
    assert first is not None
    points = np.array(
        [[float(one) for one in pair.split()] for pair in re.findall(r"[ML]([-\d. ]+)", first[1])]
    )
    assert np.ptp(points, axis=0) == pytest.approx([4370 / 50, 3110 / 50], abs=0.01)


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (("--scale", "1:10"), ("Den", "1 : 10 does not fit", "use 1 : 20")),
        (("--scale", "1:0"), ("no scale", "1:50")),
        (("--scale", "large"), ("no scale", "1:50")),
        (("--paper", "napkin"), ("--paper", "us-letter")),
    ],
)
def test_scale_that_cannot_be_is_refused_with_one_that_can(
    tmp_path: Path, options: tuple[str, ...], words: tuple[str, ...]
) -> None:
    """The message names the area, the scale and a way out; no file is written."""
    plan, out = tmp_path / "plan.csv", tmp_path / "plan.pdf"
    plan.write_text("area,x_m,y_m\n" + "".join(f"Den,{x / 2},{y / 2}\n" for x, y in ROOM), encoding="utf-8")
    done = CliRunner().invoke(app, ["layout", str(plan), "-o", str(out), *options])
    assert isinstance(done.exception, Problems)
    assert all(word in str(done.exception) for word in words), done.exception
    assert not out.exists()


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> tuple[bytes, dict[str, Any]]:
    """The workbook of a job with two sheets, cable and joints, and its layout as JSON."""
    path = tmp_path_factory.mktemp("layout") / "a.xlsx"
    text = run("layout", str(JOBS / "heated_bath.toml"), "--json", "-o", str(path))
    return path.read_bytes(), json.loads(text)


def test_workbook_adds_up(book: tuple[bytes, dict[str, Any]]) -> None:
    """Every formula gives its stored value; sums are those of the layout; every piece is in the cut list."""
    cells, document = read_workbook(book[0]), book[1]
    formulas = {key: cell for key, cell in cells.items() if cell[0]}
    assert len(formulas) > 60
    for (sheet, cell), (formula, stored) in formulas.items():
        assert evaluate(cells, sheet, formula) == pytest.approx(stored, rel=1e-9, abs=1e-9), (sheet, cell)
    areas = document["areas"]
    last = len(areas) + 2
    assert cells["Areas", f"B{last}"][1] == pytest.approx(sum(one["net_area_m2"] for one in areas))
    assert cells["Areas", f"D{last}"][1] == pytest.approx(sum(one["seam_length_m"] for one in areas))
    kits = [c for one in areas for c in (one["heating_cable"] or {}).get("circuits", ())]
    assert cells["Areas", f"M{last}"][1] == pytest.approx(sum(one["length_m"] for one in kits))
    named = {value for (sheet, cell), (_, value) in cells.items() if sheet == "Cut list" and cell[0] == "C"}
    assert {piece["id"] for piece in document["pieces"]} <= named
    assert kits[0]["item_number"] in str(
        [value for (sheet, _), (_, value) in cells.items() if sheet == "Quantities"]
    )


@pytest.mark.skipif(shutil.which("soffice") is None, reason="no office program is installed")
def test_office_program_works_out_the_same_layout(book: tuple[bytes, dict[str, Any]], tmp_path: Path) -> None:
    """Without stored values the office program must calculate, and gets every number of ours."""
    own, theirs = read_workbook(book[0]), recalculated(book[0], tmp_path)
    for key, (formula, stored) in own.items():
        if formula:
            assert theirs[key][1] == pytest.approx(stored, rel=1e-9, abs=1e-9), key


def test_bare_plan_is_divided_by_movement_joints_on_demand(tmp_path: Path) -> None:
    """Fields of at most 12 ft by their own extent, drawn and told; a length that is none is refused."""
    plan = tmp_path / "plan.toml"
    plan.write_text(OUTLINES, encoding="utf-8")
    document = json.loads(run("layout", str(plan), "--longest-field", "12 ft", "--json"))
    (found,) = (area["movement_joints"] for area in document["areas"])
    for field in found["fields"]:
        assert np.ptp(np.array(field["outline"]), axis=0).max() <= 12 * 0.3048 + 1e-3
    hall = Polygon([(0, 0), (6, 0), (6, 2.5), (2.5, 2.5), (2.5, 5), (0, 5)]).area - 0.16
    assert sum(Polygon(field["outline"]).area for field in found["fields"]) >= hall
    assert found["doorway_length_m"] == pytest.approx(0.9, abs=1e-3)
    assert found["rod_m"] == pytest.approx(found["joint_length_m"] + 22 + 1.6, abs=1e-3)
    assert "movement joints" in run("layout", str(plan), "--longest-field", "12 ft")
    done = CliRunner().invoke(app, ["layout", str(plan), "--longest-field", "long"])
    assert "--longest-field" in str(done.exception)


def test_cable_plan_of_a_turned_room_stands_square_on_paper() -> None:
    """A room under 30 degrees with its cable: on paper the runs lie level or upright, to scale, and every
    kit of many is named; kind = derived, lengths do not change by turning."""
    turn = np.deg2rad(30.0)
    spin = np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
    room = np.array([(0, 0), (4, 0), (4, 2), (0, 2)]) @ spin
    circuits = []
    for number in range(6):
        y = 0.2 + number * 0.3
        path = np.array([(0.2, y), (3.8, y), (3.8, y + 0.1), (0.2, y + 0.1)]) @ spin
        circuits.append(
            {
                "item_number": f"K-{number}", "control": 1, "length_m": 7.3, "power_w": 73.0,
                "voltage_v": 120.0, "amps": 0.6, "spacing_m": 0.1, "power_w_m2": 100.0, "heated_m2": 0.7,
                "path": path.tolist(), "ends_to_control_m": [0.3, 0.4], "sensor": path[0].tolist(),
                "sensor_way": path[:2].tolist(),
            }
        )  # fmt: skip
    cable = {
        "control": room[0].tolist(), "zone": [room.tolist()], "free_m2": 8.0, "heated_m2": 4.2,
        "unheated_m2": 3.8, "wall_gap_m": 0.08, "fixture_gap_m": 0.05, "joint_gap_m": 0.05, "controls": 1,
        "amps": 3.6, "circuits": circuits, "notes": [], "cautions": ["Never cut."],
    }  # fmt: skip
    sheet = draw_cable_plan(
        {"name": "Loft", "outline": room.tolist()}, cable, paper=PaperRoom(180.0, 200.0, 50.0)
    )
    drawn = [mark for mark in sheet.marks if isinstance(mark, Stroke) and mark.name == "cable"]
    assert len(drawn) == 6
    for mark in drawn:
        steps = np.abs(np.diff(np.array(mark.points), axis=0))
        assert steps.min(axis=1).max() < 0.01
        assert steps.sum() == pytest.approx(7300 / 50, rel=1e-6)
    text = " ".join(words.text for words in sheet.texts())
    assert all(f"K-{number}" in text for number in range(6))
    assert "Never cut." in text
    assert "Drawn turned" in text


@pytest.mark.parametrize("name", ["WH floor 5 #0", "WH floor 2 #8", "WH floor 6 #0 rotated 30 deg"])
def test_every_sheet_of_a_curved_room_stays_on_its_page(name: str) -> None:
    """Distances written upright above a plan take height too: what is too tall is drawn smaller."""
    plan = read_plan(DATA / "rooms.geojson", PlanOptions())
    (area,) = choose_areas(plan, [name], "")
    sheet = Sheet(1.0, (30.0,), seam_gap_m=0.004, edge_gap_m=0.006, smallest_piece_m=0.3)
    document = layout_document(lay_out([AreaPlan(area.name, area.polygon)], sheet))
    sheets = paper_sheets(document, plan_rooms([area]))
    assert any(one.drawing.title.startswith("Dry-fit") for one in sheets)
    for one in sheets:
        assert one.drawing.height <= one.high_mm - 2 * MARGIN_MM - FOOT_MM + 1e-6, one.drawing.title
