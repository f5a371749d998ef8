"""Plans on the page as a browser without script uses it, and what its script asks for."""

from __future__ import annotations

import asyncio
import csv
import io
import json
import re
import subprocess
import sys
from contextlib import aclosing
from typing import Any

import pytest
import shapely
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from shapely import Polygon
from starlette.testclient import TestClient
from tests.web import plans_made
from tests.web.reading import PageForm

from undercourse.facts.jobs import read_job
from undercourse.files.reading import Locator
from undercourse.files.shipped import vocabulary
from undercourse.web import apart, plans
from undercourse.web.plan_jobs import take_outlines

OWN = {"product": "", "seam_gap": "4 mm", "edge_gap": "6 mm", "smallest_piece": "300 mm"}


def opened(
    client: TestClient, data: bytes | None = None, name: str = "rooms.json", **fields: str
) -> PageForm:
    """The page after a plan was opened."""
    files = {"file": (name, plans_made.outlines() if data is None else data)}
    page = client.post("/plan/open", files=files, data=fields)
    assert page.status_code == 200, PageForm(page.text).text[:300]
    return PageForm(page.text)


def laid(client: TestClient, form: PageForm, **fields: Any) -> PageForm:
    """The page after the chosen areas were laid, with a sheet of 1 m by 30 m."""
    page = client.post("/plan", data=form.send(**{**OWN, **fields}))
    assert page.status_code == 200, PageForm(page.text).text[:300]
    return PageForm(page.text)


def document(client: TestClient, form: PageForm) -> dict[str, Any]:
    """The layout that the page would give as JSON."""
    answer = client.post("/plan/save/json", data=form.send())
    assert answer.status_code == 200
    found: dict[str, Any] = answer.json()
    return found


def pieces_of(layout: dict[str, Any], area: str) -> list[Polygon]:
    return [Polygon(piece["outline"]) for piece in layout["pieces"] if piece["area"] == area]


@pytest.fixture(scope="module")
def page(client: TestClient) -> PageForm:
    """The three rooms, opened."""
    return opened(client)


@pytest.fixture(scope="module")
def done(client: TestClient, page: PageForm) -> PageForm:
    """The three rooms, laid."""
    return laid(client, page)


def test_dxf_in_millimeters_gives_its_rooms_with_their_sizes(client: TestClient) -> None:
    """Areas are width times depth of the drawn rectangles (kind: derived); INSUNITS 4 is millimeters."""
    plan = json.loads(opened(client, plans_made.dxf(), "rooms.dxf").value("plan"))
    found = {area["name"]: area["area_m2"] for area in plan["areas"]}
    assert found == pytest.approx({name: plans_made.area_m2(name) for name in plans_made.ROOMS}, abs=1e-4)


def test_unit_that_the_sizes_contradict_is_asked_for_and_taken(client: TestClient) -> None:
    """Rooms of 4000 by 3000 in a drawing that says meters (INSUNITS 6) are kilometers: nobody lays that."""
    data = plans_made.dxf(insunits=6)
    page = client.post("/plan/open", files={"file": ("rooms.dxf", data)})
    assert page.status_code == 422
    assert "In which unit is this plan drawn?" in page.text
    assert "command line" not in page.text
    for unit in ("mm", "cm", "m", "in", "ft"):
        assert re.search(rf'<button[^>]*name="unit" value="{unit}"', page.text)
    plan = json.loads(opened(client, data, "rooms.dxf", unit="mm").value("plan"))
    assert sum(area["area_m2"] for area in plan["areas"]) == pytest.approx(
        sum(map(plans_made.area_m2, plans_made.ROOMS)), abs=1e-3
    )


BAD = [
    ("plan.dwg", b"AC1032", "save the drawing as DXF"),
    ("plan.dxf", b"no drawing", "DXF"),
    ("plan.dxf", b"", "empty"),
    ("plan.csv", b"a\n1\n", "name the columns"),
    ("plan.json", b'{"areas": [', "not JSON"),
    ("plan.json", b"[" * 100_000, "nested"),
    ("plan.toml", b"= =", "TOML"),
    ("plan.geojson", b"PK\x03\x04" + b"0" * 50, "ZIP"),
    ("plan.ifc", b'<?xml version="1.0"?><!DOCTYPE a [<!ENTITY b "c">]><a>&b;</a>', "XML"),
    ("plan.zip", b"PK\x03\x04", "unpack"),
    ("../../etc/passwd", b"x", "no plan"),
    ("open.json", b'{"unit":"m","areas":[{"name":"A","outline":[[0,0],[1,1]]}]}', ""),
]


@pytest.mark.parametrize(
    ("name", "data", "says"), BAD, ids=[f"{name}-{k}" for k, (name, _, _) in enumerate(BAD)]
)
def test_bad_files_are_told_at_their_field(client: TestClient, name: str, data: bytes, says: str) -> None:
    """What is wrong is named beside the file; no traceback, and no half plan."""
    page = client.post("/plan/open", files={"file": (name, data)})
    text = PageForm(page.text).text
    if name == "open.json":  # the fault is of one area: the plan is shown, with what to mend
        assert page.status_code == 200
        assert "To mend in the drawing" in text
        return
    assert page.status_code == 422
    assert "This plan could not be read" in text
    assert says.casefold() in text.casefold()
    assert "Traceback" not in page.text
    assert 'aria-describedby="plan-problems"' in page.text
    assert 'name="plan"' not in page.text


def test_no_file_says_to_choose_one(client: TestClient) -> None:
    """Pressing the button alone is answered in words."""
    page = client.post("/plan/open", data={"unit": ""})
    assert page.status_code == 422
    assert "no file was chosen" in page.text


def test_upload_beyond_the_limit_is_refused_while_it_comes(
    client: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The guard counts bytes as they come; other addresses keep their smaller limit."""
    page = client.post("/plan/open", files={"file": ("a.csv", b"0" * (plans.MOST_UPLOAD + 1000))})
    assert page.status_code == 413
    assert client.post("/open", files={"file": ("a.toml", b"#" * 2_100_000)}).status_code == 413


def test_repairs_are_listed_at_their_area(client: TestClient) -> None:
    """A corner drawn twice, 0.2 mm apart, is mended and said."""
    form = opened(client, plans_made.outlines(gap_m=0.0002))
    assert form.text.count("Mended:") == len(plans_made.ROOMS)


def test_storeys_are_chosen_by_a_button(client: TestClient) -> None:
    """Without script a button ticks the areas of one storey and lays them."""
    form = opened(client, plans_made.outlines(storeys=True))
    assert "Only Level 1" in form.text
    one = laid(client, form, go="storey:Level 1")
    assert one.values("pick") == ["1"]
    assert [area["name"] for area in document(client, one)["areas"]] == ["Hall"]


def test_layout_covers_the_rooms_within_its_gaps(client: TestClient, done: PageForm) -> None:
    """Pieces lie in the room, not on each other, and leave but edge and seam gaps (kind: derived)."""
    layout = document(client, done)
    for name in plans_made.ROOMS:
        room = Polygon(plans_made.corners(name))
        shapes = pieces_of(layout, name)
        assert all(room.buffer(1e-6).contains(shape) for shape in shapes)
        union = shapely.union_all(shapes)
        assert union.area == pytest.approx(sum(shape.area for shape in shapes), abs=1e-6)
        bare = room.buffer(-0.006, join_style="mitre").difference(union)
        # Seam gaps of 4 mm; where two cross, a disc of 2 mm times the root of 2 has room.
        assert bare.buffer(-0.00284).is_empty


def test_numbers_on_the_page_are_those_of_the_rolls(client: TestClient, page: PageForm) -> None:
    """Waste by the definition: whole rolls but the last and the used length of the last, less the floor."""
    form = laid(client, page, roll_width="1.3 m", roll_lengths="10 m", head_joints=None)
    rolls = document(client, form)["roll_plan"]
    used = sum(roll["length_m"] for roll in rolls[:-1]) + rolls[-1]["used_m"]
    waste = 1 - sum(map(plans_made.area_m2, plans_made.ROOMS)) / (used * 1.3)
    assert waste > 0.01
    assert f"{100 * waste:.1f} %" in form.text
    assert f"{used:.2f} m" in form.text


@pytest.mark.parametrize("line", [0.31, 0.7, 1.0, 1.45])
@pytest.mark.parametrize("turn", ["0", "90"])
def test_start_line_that_is_typed_is_kept(client: TestClient, done: PageForm, turn: str, line: float) -> None:
    """No piece of the room lies across the told line, one ends on it, and its direction is as told."""
    form = laid(client, done, at="Kitchen", shown_at="Kitchen", turn=turn, line=f"{line} m", shown_turn="x")
    layout = document(client, form)
    _, low, right, _ = plans_made.ROOMS["Kitchen"]
    # Upright strips count from the wall on their right, looking up.
    place = low + line if turn == "0" else right - line
    axis = 1 if turn == "0" else 0
    boxes = [shape.bounds for shape in pieces_of(layout, "Kitchen")]
    assert not any(box[axis] < place - 0.0021 and box[axis + 2] > place + 0.0021 for box in boxes)
    assert any(abs(edge - place) < 1e-4 for box in boxes for edge in (box[axis], box[axis + 2]))
    assert "Against the program" in form.text
    assert json.loads(form.value("held")) == {"Kitchen": [float(turn), pytest.approx(line)]}


def test_letting_go_brings_the_programs_own_layout_back(client: TestClient, done: PageForm) -> None:
    """What was held by hand is dropped, and the numbers are the first ones again."""
    held = laid(client, done, turn="45", line=done.value("line"))
    assert json.loads(held.value("held"))
    free = laid(client, held, go="free")
    assert json.loads(free.value("held")) == {}
    assert document(client, free)["objective"] == pytest.approx(document(client, done)["objective"])


@pytest.mark.parametrize(
    ("field", "text", "says"),
    [
        ("roll_width", "banana", "does not begin with a number"),
        ("roll_width", "900 m", "no width of a roll"),
        ("roll_lengths", "10 m, 10 m", "same length twice"),
        ("roll_prices", "1, 2", "2 prices for 1 length"),
        ("seam_gap", "3 m", "no gap or lap"),
        ("joints", "1 mm", "No field is so short"),
        ("part_rolls", "3 miles", "is not a unit"),
        ("turn", "up", "no direction"),
        ("line", "far", "does not begin with a number"),
    ],
)
def test_entries_that_cannot_be_read_are_told_at_their_field(
    client: TestClient, done: PageForm, field: str, text: str, says: str
) -> None:
    """The page comes back with the entry, and the message beside it."""
    page = client.post("/plan", data=done.send(**{**OWN, field: text}))
    assert page.status_code == 422
    assert says in PageForm(page.text).text
    assert re.search(rf'id="f-{field}"[^>]*aria-invalid="true"', page.text)


def test_no_area_ticked_says_so(client: TestClient, done: PageForm) -> None:
    """An empty choice is a message, not a fault."""
    page = client.post("/plan", data=done.send(pick=None))
    assert page.status_code == 422
    assert "tick at least one area" in page.text


def test_areas_on_each_other_are_not_laid_twice(client: TestClient) -> None:
    """The second of two that overlap is left unticked; ticking both is refused with both names."""
    ring, other = [[0, 0], [4, 0], [4, 3], [0, 3]], [[2, 0], [6, 0], [6, 3], [2, 3]]
    data = {"unit": "m", "areas": [{"name": "A", "outline": ring}, {"name": "B", "outline": other}]}
    far = {"name": "C", "outline": [[8, 8], [9, 8], [9, 9], [8, 9]]}
    data["areas"].append(far)  # type: ignore[attr-defined]
    form = opened(client, json.dumps(data).encode())
    assert form.values("pick") == ["0", "2"]
    page = client.post("/plan", data=form.send(pick=["0", "1"]))
    assert page.status_code == 422
    assert "overlap over 6.00 m²" in page.text


def test_quick_answer_keeps_the_areas_that_are_not_in_hand(client: TestClient, done: PageForm) -> None:
    """While one area is dragged the others lie as they were shown."""
    frozen = json.dumps({name: [90.0, 0.5] for name in plans_made.ROOMS})
    held = json.dumps({"Kitchen": [0.0, 0.7]})
    page = client.post("/plan/quick", data=done.send(**OWN, frozen=frozen, held=held))
    assert page.status_code == 200
    groups = re.findall(r'data-name="(\w+)"[^>]*data-direction="([\d.]+)"\s*data-line="([\d.]+)"', page.text)
    found = {name: (float(turn), float(line)) for name, turn, line in groups}
    assert found == {"Kitchen": (0.0, 0.7), "Hall": (90.0, 0.5), "Bath": (90.0, 0.5)}


def events(answer: Any) -> list[dict[str, Any]]:
    return [json.loads(line) for line in answer.text.splitlines()]


@pytest.mark.parametrize("apart_too", [False, True], ids=["at once", "in its own process"])
def test_search_tells_its_best_and_ends(
    client: TestClient, done: PageForm, monkeypatch: pytest.MonkeyPatch, apart_too: bool
) -> None:
    """Lines of JSON: what changed on the page, then that it is over; in a process for larger work."""
    if apart_too:
        monkeypatch.setattr(plans, "SMALL_M", 0.0)
    told = events(client.post("/plan/solve", data=done.send(**OWN, joints="3 m")))
    assert told[-1] == {"done": True, "over": False}
    pages = [line["html"] for line in told if "html" in line]
    assert 'class="joint"' in pages[-1]
    assert ": 1 roll," in pages[-1]


def test_search_beyond_its_time_says_so(
    client: TestClient, done: PageForm, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Without any result in the time there is a message, not silence."""
    monkeypatch.setattr(plans, "SMALL_M", 0.0)
    monkeypatch.setattr(plans, "LAY_S", 0.01)
    told = events(client.post("/plan/solve", data=done.send(**OWN)))
    assert told[-1]["over"]
    assert any(line.get("bad") and "takes too long" in line["html"] for line in told)


def test_process_ends_when_nobody_listens_or_the_time_is_over(monkeypatch: pytest.MonkeyPatch) -> None:
    """A stopped or late search leaves no process behind."""
    made: list[asyncio.subprocess.Process] = []
    start = asyncio.create_subprocess_exec

    async def kept(*args: Any, **more: Any) -> asyncio.subprocess.Process:
        made.append(await start(*args, **more))
        return made[-1]

    monkeypatch.setattr(asyncio, "create_subprocess_exec", kept)
    orders = {"do": "read", "file": "rooms.json", "layers": [], "unit": ""}

    async def stopped() -> None:
        async with aclosing(apart.work_apart(orders, 60, asyncio.Semaphore(1), b"{}")) as work:
            async for _ in work:
                return

    async def late() -> None:
        async with aclosing(apart.work_apart(orders, 0.01, asyncio.Semaphore(1), b"{}")) as work:
            async for _ in work:
                pass

    asyncio.run(stopped())
    with pytest.raises(apart.TimeUpError):
        asyncio.run(late())
    assert len(made) == 2
    assert all(process.returncode is not None for process in made)


NOISY = """
import os
from undercourse.files import plan_worker
quiet = plan_worker.read_document
def noisy(*given):
    os.write(1, b"a library prints this\\n")
    return quiet(*given)
plan_worker.read_document = noisy
plan_worker.main()
"""


def test_what_libraries_print_does_not_stand_between_what_is_told() -> None:
    """Solvers write to the process's own output now and then; the page reads nothing but JSON."""
    orders = json.dumps({"do": "read", "file": "rooms.json", "layers": [], "unit": ""}).encode()
    given = orders + b"\n" + plans_made.outlines()
    done = subprocess.run([sys.executable, "-c", NOISY], input=given, capture_output=True, check=True)
    (line,) = done.stdout.splitlines()
    assert len(json.loads(line)["plan"]["areas"]) == 3
    assert b"a library prints this" in done.stderr


def test_layout_that_the_server_did_not_seal_is_refused(client: TestClient, done: PageForm) -> None:
    """What is written to a file is what was laid here, not what somebody posts."""
    sealed = done.value("layout")
    for text in ("", "x", sealed[:-3] + "AAA", "0" * 64 + sealed[64:]):
        page = client.post("/plan/save/json", data=done.send(layout=text))
        assert page.status_code == 422
        assert "Lay it again first" in page.text


_JSON = st.recursive(
    st.none() | st.booleans() | st.integers(-5, 5) | st.floats(allow_nan=True) | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3),
    max_leaves=8,
)


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.data())
def test_plan_that_was_changed_on_the_way_never_breaks_the_page(
    client: TestClient, page: PageForm, data: st.DataObject
) -> None:
    """Any JSON in place of any part of the carried plan gives a page or a message."""
    plan = json.loads(page.value("plan"))
    spot: Any = plan
    key: Any = data.draw(st.sampled_from(sorted(plan)))
    while isinstance(spot[key], dict | list) and spot[key] and data.draw(st.booleans()):
        spot = spot[key]
        key = data.draw(st.sampled_from(sorted(spot))) if isinstance(spot, dict) else 0
    spot[key] = data.draw(_JSON)
    answer = client.post("/plan", data=page.send(**OWN, plan=json.dumps(plan)))
    assert answer.status_code in (200, 422)


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(held=_JSON, turn=st.text(max_size=6), line=st.text(max_size=6), pick=st.text(max_size=6))
def test_any_form_gets_a_page(
    client: TestClient, done: PageForm, held: Any, turn: str, line: str, pick: str
) -> None:
    """Held places, numbers and choices that nobody would send are answered in words."""
    fields = {"held": json.dumps(held), "turn": turn, "line": line, "pick": ["0", pick]}
    answer = client.post("/plan/quick", data=done.send(**OWN, **fields))
    assert answer.status_code in (200, 422)


def test_dxf_taken_away_has_the_rooms_and_pieces(client: TestClient) -> None:
    """Read back by ezdxf: rooms in the plan's meters on their layer, one closed line a piece."""
    import ezdxf

    form = laid(client, opened(client, plans_made.outlines(), "rooms.json"))
    layout = document(client, form)
    data = client.post("/plan/save/dxf", data=form.send()).content
    drawing = ezdxf.read(io.StringIO(data.decode()))  # type: ignore[attr-defined]
    space = drawing.modelspace()
    rooms = [Polygon([(x, y) for x, y, *_ in line]) for line in space.query('LWPOLYLINE[layer=="AREAS"]')]
    expected = sorted(plans_made.area_m2(name) for name in plans_made.ROOMS)
    assert sorted(room.area for room in rooms) == pytest.approx(expected, rel=1e-6)
    assert len(space.query('LWPOLYLINE[layer=="PIECES"]')) == len(layout["pieces"])


def test_cut_list_holds_every_piece_within_its_roll(client: TestClient, done: PageForm) -> None:
    """Python's own reader is the witness; inches are millimeters by 25.4 (NIST SP 811)."""
    layout = document(client, done)
    data = client.post("/plan/save/csv", data=done.send()).content.decode("utf-8-sig")
    rows = list(csv.DictReader(io.StringIO(data)))
    assert {row["Piece"] for row in rows} == {piece["id"] for piece in layout["pieces"]}
    for row in rows:
        roll = layout["roll_plan"][int(row["Roll"]) - 1]
        end = float(row["From the free end, mm"]) + float(row["Length, mm"])
        assert end <= roll["length_m"] * 1000 + 0.2
        assert float(row["Length, in"]) * 25.4 == pytest.approx(float(row["Length, mm"]), abs=0.1)


def test_every_kind_of_file_can_be_taken_away(client: TestClient, done: PageForm) -> None:
    """Each starts as its format does; an unknown kind is told."""
    heads = {"xlsx": b"PK", "geojson": b"{", "sheets": b"%PDF", "pdf": b"%PDF"}
    for kind, head in heads.items():
        answer = client.post(f"/plan/save/{kind}", data=done.send(scale="50", paper="a4"))
        assert answer.status_code == 200
        assert answer.content.startswith(head)
        assert "attachment" in answer.headers["content-disposition"]
    assert client.post("/plan/save/exe", data=done.send()).status_code == 422
    assert client.post("/plan/save/pdf", data=done.send(scale="7", paper="a4")).status_code == 422


def test_outline_goes_from_a_plan_into_a_job_and_back(client: TestClient) -> None:
    """A job's area takes the room's corners; opened as a plan again it has the room's size."""
    job = PageForm(client.get("/job/laundry").text)
    plan = PageForm(client.post("/plan/from-job", data=job.send()).text)
    fields = {"state": plan.value("state"), "area": "1"}
    form = opened(client, **fields)
    names = [area["name"] for area in json.loads(form.value("plan"))["areas"]]
    many = client.post("/plan/to-job", data=form.send(go="fill:1"))
    assert many.status_code == 422
    filled = client.post("/plan/to-job", data=form.send(go="fill:1", pick=str(names.index("Hall"))))
    assert filled.status_code == 200
    state = json.loads(PageForm(filled.text).value("state"))
    assert Polygon(state["areas"][1]["outline"]).equals(Polygon(plans_made.corners("Hall")))
    again = PageForm(client.post("/plan/from-job", data=PageForm(filled.text).send()).text)
    sizes = {area["name"]: area["area_m2"] for area in json.loads(again.value("plan"))["areas"]}
    assert sizes[state["areas"][1]["name"]] == pytest.approx(plans_made.area_m2("Hall"))


def test_job_begins_with_the_ticked_areas(page: PageForm) -> None:
    """Every ticked area is an area of a new job, with its outline; names that are taken get a number."""
    plan = json.loads(page.value("plan"))
    state, row = take_outlines(None, plan, [0, 2], "begin")
    assert [area["name"] for area in state["areas"]] == ["Kitchen", "Bath"]
    assert Polygon(state["areas"][0]["outline"]).area == pytest.approx(12.0)
    assert row == 0
    more, row = take_outlines(state, plan, [0, 1], "add")
    assert [area["name"] for area in more["areas"]] == ["Kitchen", "Bath", "Kitchen (2)", "Hall"]
    assert row == 2
    assert read_job(more, vocabulary(), Locator("x", toml=False)).areas[3].outline is not None


def test_start_line_goes_into_the_job_and_comes_back(client: TestClient) -> None:
    """Kept in the plan's own terms: the strip's right edge from the origin, square to the strips."""
    job = PageForm(client.get("/job/laundry").text)
    plan = PageForm(client.post("/plan/from-job", data=job.send()).text)
    first = json.loads(plan.value("plan"))["areas"][0]
    done = PageForm(client.post("/plan", data=plan.send()).text)
    held = json.dumps({first["name"]: [90.0, 0.4]})
    page = client.post("/plan/to-job", data=done.send(go="hold", held=held))
    assert page.status_code == 200
    form = PageForm(page.text)
    area = json.loads(form.value("state"))["areas"][0]
    assert area["strip_direction"] == 90.0
    # Upright strips: left of the origin is minus x; the first wall is the rightmost, the sheet 1 m wide.
    right = max(x for x, _ in first["outline"])
    assert area["strip_start"] == pytest.approx(-right + 0.4 - 1.0)
    again = PageForm(client.post("/plan/from-job", data=form.send()).text)
    assert json.loads(again.value("held")) == {first["name"]: [90.0, pytest.approx(0.4)]}


def test_comparison_has_shorter_seams_for_more_sheet(client: TestClient, page: PageForm) -> None:
    """From way to way there is more sheet and less seam: none is worse in both (kind: derived)."""
    told = events(client.post("/plan/solve", data=page.send(**OWN, go="compare")))
    html = next(line["html"] for line in reversed(told) if "html" in line)
    assert "Material against seams" in html
    table = html[html.index("Material against seams") :]
    sheets = [float(text) for text in re.findall(r"<td>[\d,]+ sq ft \(([\d.]+) m²\)</td>", table)]
    assert len(sheets) >= 1
    assert sheets == sorted(sheets)


def test_prices_of_rolls_are_summed(client: TestClient, page: PageForm) -> None:
    """Rolls of 10 m at 120 each, and nothing said of a currency that nobody named."""
    form = laid(client, page, roll_lengths="10 m", roll_prices="120")
    rolls = len(document(client, form)["roll_plan"])
    assert f"<strong>{120 * rolls}</strong>" in client.post("/plan", data=form.send()).text


def test_part_roll_on_site_is_used_and_said(client: TestClient, page: PageForm) -> None:
    """A part roll that is paid for replaces bought sheet; the cut list takes it as a roll of its length."""
    form = laid(client, page, part_rolls="20 m")
    assert "1 on site" in form.text
    lengths = [roll["length_m"] for roll in document(client, form)["roll_plan"]]
    assert 20.0 in lengths


def test_joints_and_cable_are_layers_where_the_job_has_them(client: TestClient) -> None:
    """The heated bath has a cable to switch on; a bare plan has no such box."""
    job = PageForm(client.get("/job/heated_bath").text)
    page = client.post("/plan/from-job", data=job.send())
    assert page.status_code == 200
    assert 'id="show_cable"' in page.text
    assert '<g class="cable">' in page.text


def test_floors_with_the_same_origin_are_drawn_side_by_side(client: TestClient) -> None:
    """Areas of three storeys over each other do not lie on each other in the drawing."""
    over = {name: [[0, 0], [5, 0], [5, 4], [0, 4]] for name in ("A", "B", "C")}
    rows = [{"name": name, "outline": ring, "storey": f"Level {name}"} for name, ring in over.items()]
    text = client.post(
        "/plan/open", files={"file": ("a.json", json.dumps({"unit": "m", "areas": rows}).encode())}
    ).text
    shapes = [Polygon(json.loads(found)) for found in re.findall(r'data-outline="([^"]+)"', text)]
    assert len(shapes) == 3
    assert all(one.disjoint(other) for k, one in enumerate(shapes) for other in shapes[:k])


def test_other_sites_cannot_set_work_going(client: TestClient, page: PageForm) -> None:
    """A form on another site is refused before it is read (Fetch Metadata, Sec-Fetch-Site)."""
    for place in ("/plan", "/plan/quick", "/plan/solve", "/plan/open"):
        answer = client.post(place, data=page.send(), headers={"sec-fetch-site": "cross-site"})
        assert answer.status_code == 403


def test_search_ends_itself_with_its_best(
    client: TestClient, done: PageForm, monkeypatch: pytest.MonkeyPatch
) -> None:
    """With next to no time of its own the process still tells one whole layout."""
    monkeypatch.setattr(plans, "SMALL_M", 0.0)
    monkeypatch.setattr(plans, "SOFT", 1e-4)
    told = events(client.post("/plan/solve", data=done.send(**OWN)))
    assert told[-1] == {"done": True, "over": False}
    assert sum("html" in line for line in told) == 1
    assert any(line.get("over") for line in told)


def test_page_obeys_its_own_content_policy(client: TestClient, done: PageForm) -> None:
    """No style and no script inside the markup: the policy would drop them."""
    text = client.post("/plan", data=done.send(**OWN)).text
    assert not re.search(r"\sstyle=|\son\w+=|<style|<script(?! src=)", text)
