"""The plan page in a real browser: drop a file, drag and turn by pointer and keyboard, zoom, stop, print."""

from __future__ import annotations

import base64
import io
import json
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

pytest.importorskip("playwright.sync_api")
from playwright.sync_api import Browser, Page, expect
from tests.web import plans_made
from tests.web.test_browser import AXE, RULES, address, browser, page

__all__ = ["address", "browser", "page"]
pytestmark = pytest.mark.browser

DROP = """([name, packed]) => {
  const bytes = Uint8Array.from(atob(packed), (c) => c.charCodeAt(0));
  const data = new DataTransfer();
  data.items.add(new File([bytes], name));
  for (const kind of ["dragenter", "dragover", "drop"]) {
    document.body.dispatchEvent(new DragEvent(kind, { dataTransfer: data, bubbles: true, cancelable: true }));
  }
}"""


def settle(page: Page) -> None:
    """Wait until the layout is the server's last word."""
    page.wait_for_timeout(60)
    page.wait_for_selector("html[data-stage=done]", state="attached", timeout=30_000)


def drop(page: Page, address: str, data: bytes | None = None, name: str = "rooms.json") -> None:
    """Drop a plan on the page; without data the three rooms."""
    page.goto(f"{address}/plan")
    packed = base64.b64encode(plans_made.outlines() if data is None else data).decode()
    page.evaluate(DROP, [name, packed])
    page.wait_for_selector("#plan-form", timeout=30_000)
    settle(page)


def held(page: Page) -> dict[str, list[float | None]]:
    found: dict[str, list[float | None]] = json.loads(page.locator("[name=held]").input_value())
    return found


def numbers(page: Page) -> str:
    return page.locator(".measures .now").inner_text()


def middle(page: Page, selector: str) -> tuple[float, float]:
    box = page.locator(selector).bounding_box()
    assert box is not None
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def choose(page: Page, name: str) -> None:
    """Take an area in hand."""
    page.select_option("#f-at", name)
    settle(page)


def test_dropped_plan_is_laid_and_drawn(page: Page, address: str) -> None:
    """A dropped file shows its rooms, pieces with numbers, and the answer as a sentence."""
    drop(page, address)
    assert page.locator("#floor .area").count() == len(plans_made.ROOMS)
    assert "3 areas" in page.locator("#sentence").inner_text()
    assert page.locator("text.piece").count() >= 5
    assert page.locator("[name=pick]:checked").count() == 3


def test_contradicted_unit_is_asked_for_and_one_press_answers(page: Page, address: str) -> None:
    """The file stays in the page: a press on the unit reads it again."""
    page.goto(f"{address}/plan")
    packed = base64.b64encode(plans_made.dxf(insunits=6)).decode()
    page.evaluate(DROP, ["rooms.dxf", packed])
    page.wait_for_selector("#ask-unit button", timeout=30_000)
    assert page.evaluate("document.activeElement.value") == "mm"
    page.keyboard.press("Enter")
    page.wait_for_selector("#plan-form", timeout=30_000)
    settle(page)
    assert "129 sq ft (12.0 m²)" in page.locator("#plan-areas").inner_text()


def test_start_line_follows_the_pointer_and_numbers_change(page: Page, address: str) -> None:
    """While the line is dragged the numbers move; let go, it is held where it lies, on 5 mm."""
    drop(page, address)
    choose(page, "Kitchen")
    page.fill("#f-turn", "90.0")
    page.keyboard.press("Tab")
    settle(page)
    before = numbers(page)
    line = held(page)["Kitchen"][1]
    start = page.locator("#f-line").input_value()
    x, y = middle(page, "#line-handle circle:not(.grip)")
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x - 20, y, steps=4)
    expect(page.locator(".against")).to_contain_text("Against the program")
    during = page.locator("#f-line").input_value()
    page.mouse.up()
    settle(page)
    told = held(page)["Kitchen"]
    assert told[0] == 90.0
    assert told[1] is not None
    assert told[1] != line
    assert during != start
    assert abs(told[1] * 200 - round(told[1] * 200)) < 1e-6
    assert numbers(page) != before or "nothing differs" in page.locator(".against").inner_text()
    group = page.locator("#floor .area[data-name=Kitchen]")
    assert float(str(group.get_attribute("data-line"))) == pytest.approx(told[1], abs=1e-4)


def test_a_press_that_slips_along_the_line_moves_nothing(page: Page, address: str) -> None:
    """The line is taken at its handle, drawn along itself and let go: the program's own layout stays."""
    drop(page, address)
    choose(page, "Kitchen")
    page.fill("#f-turn", "90.0")
    page.keyboard.press("Tab")
    settle(page)
    before, line = numbers(page), held(page)["Kitchen"]
    x, y = middle(page, "#line-handle circle:not(.grip)")
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 1, y - 40, steps=4)
    page.mouse.up()
    settle(page)
    assert held(page)["Kitchen"] == line
    assert numbers(page) == before


def test_direction_turns_with_the_pointer_and_catches_on_walls(page: Page, address: str) -> None:
    """The disc is dragged a quarter round the line's middle: strips stand square to where they lay."""
    drop(page, address)
    choose(page, "Kitchen")
    first = float(page.locator("#f-turn").input_value())
    cx, cy = middle(page, "#line-handle circle:not(.grip)")
    x, y = middle(page, "#turn-handle .disc")
    page.mouse.move(x, y)
    page.mouse.down()
    # A quarter turn about the middle, a degree off: it catches on the wall's direction.
    page.mouse.move(cx + (y - cy) + 1, cy - (x - cx), steps=6)
    page.mouse.up()
    settle(page)
    turn = held(page)["Kitchen"][0]
    assert turn is not None
    assert (turn - first) % 180 == pytest.approx(90, abs=1e-6)


def test_keys_move_the_line_and_turn_it_by_told_steps(page: Page, address: str) -> None:
    """Arrows are 10 mm and 1 degree, with Shift 1 mm; the numbers follow, and the focus stays."""
    drop(page, address)
    choose(page, "Kitchen")
    start = int(page.locator("#f-line").input_value().split()[0])
    page.focus("#line-handle")
    for key in ("ArrowDown", "ArrowDown", "Shift+ArrowUp"):
        page.keyboard.press(key)
    value = int(str(page.locator("#line-handle").get_attribute("aria-valuenow")))
    assert value == start - 19
    page.wait_for_timeout(800)
    settle(page)
    line = held(page)["Kitchen"][1]
    assert line == pytest.approx((start - 19) / 1000)
    assert page.evaluate("document.activeElement.id") == "line-handle"
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.id") == "turn-handle"
    before = float(page.locator("#f-turn").input_value())
    page.keyboard.press("ArrowUp")
    page.wait_for_timeout(800)
    settle(page)
    turn = held(page)["Kitchen"][0]
    assert turn == pytest.approx((before + 1) % 180)


def test_typed_numbers_hold_and_a_bad_one_is_told_beside_its_field(page: Page, address: str) -> None:
    """Lengths may be typed in any unit; what cannot be read leaves the drawing as it was."""
    drop(page, address)
    choose(page, "Hall")
    page.fill("#f-line", "2 ft")
    page.keyboard.press("Tab")
    settle(page)
    assert held(page)["Hall"][1] == pytest.approx(0.6096, abs=1e-4)
    # Direction and line typed one after the other: what is being typed stays while the first is laid.
    page.fill("#f-turn", "30")
    page.fill("#f-line", "500 mm")
    page.wait_for_timeout(700)
    assert page.locator("#f-line").input_value() == "500 mm"
    page.keyboard.press("Tab")
    settle(page)
    assert held(page)["Hall"] == [30.0, pytest.approx(0.5)]
    page.fill("#f-turn", "60")
    page.fill("#f-line", "400 mm")
    page.keyboard.press("Tab")
    settle(page)
    assert held(page)["Hall"] == [60.0, pytest.approx(0.4)]
    page.fill("#f-line", "far")
    page.keyboard.press("Tab")
    expect(page.locator("#p-line")).to_be_visible()
    assert page.locator("#floor .area").count() == 3
    page.fill("#f-line", "700 mm")
    page.keyboard.press("Tab")
    settle(page)
    expect(page.locator("#p-line")).to_have_count(0)
    page.click("button[value=free]")
    settle(page)
    assert held(page) == {}


def test_board_zooms_by_wheel_buttons_and_keys(page: Page, address: str) -> None:
    """The wheel belongs to the page until the board is pressed; keys zoom, move and fit."""
    drop(page, address)

    def box() -> list[float]:
        return [float(part) for part in str(page.locator("#plan-svg").get_attribute("viewBox")).split()]

    first = box()
    spot = page.locator("#plan-svg").bounding_box()
    assert spot is not None
    page.mouse.move(spot["x"] + 10, spot["y"] + 10)
    page.mouse.wheel(0, -200)
    assert box() == first
    page.evaluate("window.scrollTo(0, 0)")
    page.focus("#plan-svg")
    page.mouse.wheel(0, -200)
    page.wait_for_timeout(100)
    assert box()[2] < first[2]
    page.keyboard.press("0")
    assert box()[2] == pytest.approx(first[2])
    page.keyboard.press("+")
    page.keyboard.press("ArrowRight")
    assert box()[2] == pytest.approx(0.8 * first[2])
    page.click("[data-zoom=fit]")
    page.click("[data-zoom=hand]")
    assert box()[2] < first[2]


def test_fingers_drag_the_line_and_pinch_the_board(browser: Browser, address: str) -> None:
    """On a tablet one finger moves the start line, two spread to zoom; the handles are 44 px and more."""
    context = browser.new_context(viewport={"width": 820, "height": 1100}, has_touch=True)
    page = context.new_page()
    drop(page, address)
    choose(page, "Kitchen")
    wires = context.new_cdp_session(page)

    def touch(kind: str, *points: tuple[float, float]) -> None:
        spots = [{"x": x, "y": y, "id": number} for number, (x, y) in enumerate(points)]
        wires.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": spots})

    line = page.locator("#line-handle circle.grip").bounding_box()
    assert line is not None
    assert min(line["width"], line["height"]) >= 44
    x, y = middle(page, "#line-handle circle:not(.grip)")
    upright = float(page.locator("#f-turn").input_value()) == 90.0
    touch("touchStart", (x, y))
    for step in (8, 16, 24):
        touch("touchMove", (x - step, y) if upright else (x, y - step))
    touch("touchEnd")
    settle(page)
    assert "Kitchen" in held(page)
    board = page.locator("#plan-svg").bounding_box()
    assert board is not None
    before = [float(part) for part in str(page.locator("#plan-svg").get_attribute("viewBox")).split()]
    x, y = board["x"] + 20, board["y"] + 20
    touch("touchStart", (x, y), (x + 40, y))
    for gap in (50, 70, 90):
        touch("touchMove", (x, y), (x + gap, y))
    touch("touchEnd")
    after = [float(part) for part in str(page.locator("#plan-svg").get_attribute("viewBox")).split()]
    assert after[2] == pytest.approx(before[2] * 40 / 90, rel=0.02)
    context.close()


def test_long_search_shows_its_best_and_stops(page: Page, address: str) -> None:
    """A longer search says what it does and for how long; stopped, the best so far stays."""
    rooms = json.loads((Path(__file__).parents[1] / "data" / "open" / "rooms.geojson").read_text("utf-8"))
    rooms["features"] = rooms["features"][12:30]
    drop(page, address, json.dumps(rooms).encode(), "rooms.geojson")
    page.click("#longer")
    expect(page.locator("#progress")).to_contain_text("Searching longer")
    expect(page.locator("#stop")).to_be_visible(timeout=30_000)
    page.click("#stop")
    settle(page)
    expect(page.locator("#stop")).to_be_hidden()
    assert page.locator("#floor .pieces").count() > 8


def test_plan_page_passes_the_access_rules(page: Page, address: str) -> None:
    """WCAG 2.2 A and AA by axe: the empty page, and the board with an area in hand."""
    for make in (lambda: page.goto(f"{address}/plan"), lambda: drop(page, address)):
        make()
        page.evaluate(AXE)
        found = page.evaluate(f"axe.run({{runOnly: {{type: 'tag', values: {RULES}}}}})")
        faults = [(one["id"], [node["html"][:90] for node in one["nodes"]]) for one in found["violations"]]
        assert faults == []


def test_plan_prints_with_its_numbers_and_without_tools(page: Page, address: str) -> None:
    """The browser's own print holds sentence, numbers, drawing; buttons and handles stay off the paper."""
    import pypdf

    drop(page, address)
    page.emulate_media(media="print")
    assert not page.locator("#tools").is_visible()
    assert not page.locator("#line-handle").is_visible()
    text = pypdf.PdfReader(io.BytesIO(page.pdf(format="Letter"))).pages[0].extract_text()
    assert "3 areas" in text.replace("\n", " ")
    page.emulate_media(media="screen")


@pytest.fixture
def plain(browser: Browser) -> Iterator[Page]:
    """A browser without script."""
    context = browser.new_context(java_script_enabled=False)
    yield context.new_page()
    context.close()


def test_without_script_the_form_opens_chooses_lays_and_holds(
    plain: Page, address: str, tmp_path: Path
) -> None:
    """Upload, choose, lay, type a start line, and take the PDF to scale away."""
    file = tmp_path / "rooms.json"
    file.write_bytes(plans_made.outlines())
    plain.goto(f"{address}/plan")
    plain.set_input_files("#file", file)
    plain.click("text=Read the plan")
    plain.uncheck("[name=pick][value='1']")
    plain.click("#plan-sheet >> text=Lay the ticked areas")
    assert "2 areas" in plain.locator("#sentence").inner_text()
    plain.select_option("#f-at", "Kitchen")
    plain.click("#plan-sheet >> text=Lay the ticked areas")
    plain.fill("#f-turn", "0")
    plain.fill("#f-line", "700 mm")
    plain.click("#plan-sheet >> text=Lay the ticked areas")
    assert held(plain) == {"Kitchen": [0.0, pytest.approx(0.7)]}
    with plain.expect_download() as coming:
        plain.click("text=Plan to scale, PDF")
    assert Path(str(coming.value.path())).read_bytes().startswith(b"%PDF")
    assert re.search(r"Against the program", plain.locator(".against").first.inner_text())
