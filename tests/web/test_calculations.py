"""Calculation sheets on the page: opened from a finding, listed by subject, also as pages of their own."""

from __future__ import annotations

import datetime as dt
import html
import json
import re
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from starlette.testclient import TestClient
from tests.web.reading import PageForm

from undercourse.advise.area_sheets import area_sheets
from undercourse.advise.evaluating import evaluate
from undercourse.base.formula_trees import formula_tree
from undercourse.demands import DEMANDS
from undercourse.files.demo import demo_jobs
from undercourse.files.shipped import rulebook
from undercourse.web.mathml import math_markup

STATE = {
    "name": "Shop <b>floor</b>",
    "facts": {"base": "slab on ground", "finish": "porcelain"},
    "areas": [
        {
            "name": "Sales floor",
            "facts": {
                "cracks": "in plane",
                "crack_growth": "0.02 in",
                "tile_long_edge": "24 in",
                "tile_thickness": "3/8 in",
            },
        }
    ],
}
JOIST = "low-meadow-3:joist_live_deflection"


def carried(form: PageForm) -> dict[str, str]:
    return {name: form.value(name) for name in ("state", "area", "scope", "drawn")}


@pytest.fixture(scope="module")
def laundry(client: TestClient) -> dict[str, str]:
    """What the laundry's page carries."""
    return carried(PageForm(client.get("/job/laundry").text))


def sheet(client: TestClient, data: dict[str, Any], asked: str, part: bool = True) -> str:
    headers = {"x-stage": "calculation"} if part else {}
    page = client.post("/calculation", data={**data, "calculation": asked}, headers=headers)
    assert page.status_code == 200, page.text[:600]
    return page.text


def listed(text: str) -> list[str]:
    """Keys of the list of calculations, in order."""
    found = text[text.index('id="calculations"') :]
    return re.findall(r'name="calculation" value="([^"]+)"', found[: found.index("</section>")])


def words(text: str) -> str:
    """What a person reads, entities and tags resolved."""
    joined = re.sub(r'<span class="whole[^>]*>([^<]*)</span>', r"\1", text)
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", joined)).split())


def numbers(text: str) -> dict[str, float]:
    """SI numbers of a sheet's tables by symbol, as they are printed."""
    found = {}
    for row in re.findall(r'<tr><th scope="row">.*?</tr>', text, re.DOTALL):
        symbol = words(row[: row.index("</th>")]).replace(" ", "_")
        first = re.search(r'<td class="quantity">(.*?)</td>', row, re.DOTALL)
        assert first is not None
        printed = words(first.group(1)).partition(" ")[0].replace(",", "").replace("−", "-")
        if re.fullmatch(r"-?\d+(\.\d+)?", printed):
            found[symbol] = float(printed)
    return found


@pytest.mark.parametrize("job", ["laundry", "heated_bath"])
def test_list_holds_every_calculation_of_the_answer(client: TestClient, job: str) -> None:
    """What the report works out for the recommended candidate stands on the page, each with its result."""
    text = client.get(f"/job/{job}").text
    form = PageForm(text)
    book = rulebook(None)
    read = dict(demo_jobs(book.vocabulary))[job]
    judged = evaluate(read.areas, book, read.date or dt.date(2026, 11, 25))
    sheets = area_sheets(judged, book, 0, form.value("drawn"))
    keys = listed(text)
    assert {key.partition(":")[2] for key in keys} == {one["demand"] for one in sheets}
    deciding = [one["demand"] for one in sheets if one["limits"]]
    assert {key.partition(":")[2] for key in keys[: len(deciding)]} == set(deciding)
    assert deciding


def test_list_comes_as_a_stage_of_its_own(client: TestClient, laundry: dict[str, str]) -> None:
    """The script asks for the list last and gets the same list that the whole page has."""
    whole = client.get("/job/laundry").text
    later = client.post("/later", data=laundry, headers={"x-stage": "calculations"}).text
    assert listed(later) == listed(whole)
    assert words(later) in words(whole)


def test_every_computed_finding_leads_to_its_calculation(client: TestClient) -> None:
    """Findings on a computed number have the button, those on a fact of the floor have not."""
    text = client.get("/job/laundry").text
    part = text[text.index('id="all-low-meadow-3"') : text.index('id="others-title"')]
    keys = re.findall(r'name="calculation" value="([^"]+)"', part)
    assert JOIST in keys
    assert all(key.startswith("low-meadow-3:") for key in keys)
    assert all(key.partition(":")[2] in DEMANDS for key in keys)
    rows = re.findall(r'<th scope="row">Joist spacing</th>.*?</tbody>', part, re.DOTALL)
    assert rows
    assert not any("calculation" in row for row in rows)


@pytest.mark.parametrize("job", ["cafe", "heated_bath", "laundry", "terrace"])
def test_every_listed_calculation_opens(client: TestClient, job: str) -> None:
    """No button of the list leads nowhere; the sheet repeats the list's own result."""
    text = client.get(f"/job/{job}").text
    data = carried(PageForm(text))
    found = text[text.index('id="calculations"') :]
    for row in re.findall(r"<tr><th scope=\"row\">.*?</tr>", found, re.DOTALL):
        key = re.search(r'value="([^"]+)"', row)
        assert key is not None
        result = words(re.findall(r"<td>(.*?)</td>", row, re.DOTALL)[0])
        assert result in words(sheet(client, data, key.group(1)))


def test_deflection_can_be_followed_by_hand(client: TestClient, laundry: dict[str, str]) -> None:
    """5 w L^4 / (384 E I) over L (beam formula tables) from the printed inputs gives the printed result."""
    read = numbers(sheet(client, laundry, JOIST))
    load = read["p"] * 1000 * read["s"]
    bend = 5 * load * read["L"] ** 4 / (384 * (read["n"] * read["EI"] + read["EI_s"]))
    assert bend / read["L"] == pytest.approx(read["r"], rel=2e-4)
    assert "L/738" in words(sheet(client, laundry, JOIST))


def test_sheet_shows_units_ground_limits_and_a_chart(client: TestClient, laundry: dict[str, str]) -> None:
    """Both unit systems, the standard, what it is held against, the caution and the floor on its chart."""
    text = sheet(client, laundry, JOIST)
    seen = words(text)
    for part in ("0.4064 m", "1.3333 ft", "NDS 2018", "Meets : at most L/360", "Caution.", "Inputs"):
        assert part in seen, part
    assert "this floor: 12 ft 4 in" in seen
    assert "<math" in text
    assert "<mfrac>" in text


def test_part_for_the_script_is_no_page(client: TestClient, laundry: dict[str, str]) -> None:
    """The script gets the sheet alone; without its header the same sheet is a page of its own."""
    part, page = sheet(client, laundry, JOIST), sheet(client, laundry, JOIST, part=False)
    assert "<html" not in part
    assert "<h1>Joist deflection under live load</h1>" in page
    assert words(part).partition("How far")[2] in words(page)
    assert "Alder Lane" in page


def test_page_of_its_own_obeys_the_policy(client: TestClient, laundry: dict[str, str]) -> None:
    """No inline style, script or handler; the strict policy is on it (W3C CSP Level 3)."""
    page = client.post("/calculation", data={**laundry, "calculation": JOIST})
    assert page.headers["content-security-policy"].startswith("default-src 'self';")
    assert not re.search(r"<style|\sstyle=|\son[a-z]+=|<script|javascript:", page.text)


def test_page_of_its_own_leads_back_to_the_same_answer(client: TestClient, laundry: dict[str, str]) -> None:
    """Its form carries the job: the answer that comes back is the one that was left."""
    back = PageForm(sheet(client, laundry, JOIST, part=False))
    answer = client.post("/", data=back.send(go="answer"))
    assert answer.status_code == 200
    assert json.loads(PageForm(answer.text).value("state")) == json.loads(laundry["state"])


def test_entries_not_yet_answered_count(client: TestClient) -> None:
    """Without script the button sends the sheet of facts along: a span just typed is worked with."""
    form = PageForm(client.get("/job/laundry").text)
    text = client.post("/calculation", data=form.send(v__joist_span="10 ft", calculation=JOIST)).text
    assert numbers(text)["L"] == pytest.approx(3.048)
    page = client.post("/calculation", data=form.send(v__joist_span="16 tons", calculation=JOIST))
    assert page.status_code == 422
    assert 'id="p-joist_span"' in page.text


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"calculation": "low-meadow-3:joist_life_deflection"}, 'did you mean "joist_live_deflection"?'),
        ({"calculation": "low-meadow-3:joist_span"}, "is no number that is worked out"),
        ({"calculation": "meadow-of-mine:joist_bending"}, "is no candidate of this area"),
        ({"calculation": "joist_bending"}, "names no candidate and number"),
        ({"calculation": ""}, "names no candidate and number"),
        ({"area": "2"}, "“2” is no area of this job"),
        ({"area": "-1"}, "“-1” is no area of this job"),
        ({"area": "one"}, "“one” is no area of this job"),
        ({"area": ""}, "is no area of this job"),
        ({"area": "9999999999"}, "is no area of this job"),
        ({"state": "{}]"}, "cannot be read"),
        ({"state": '{"areas": [{"facts": {"joist_span": "long"}}]}'}, "“long” does not begin with a number"),
    ],
)
@pytest.mark.parametrize("part", [True, False])
def test_what_is_asked_by_hand_and_wrong_is_told(
    client: TestClient, laundry: dict[str, str], changed: dict[str, str], said: str, part: bool
) -> None:
    """Unknown numbers, candidates, areas and jobs get a message that says what to do, never a traceback."""
    headers = {"x-stage": "calculation"} if part else {}
    page = client.post("/calculation", data={**laundry, "calculation": JOIST, **changed}, headers=headers)
    assert page.status_code == 422
    told = words(page.text).replace('"', "”").replace("“", "”")
    assert said.replace('"', "”").replace("“", "”") in told
    assert "Traceback" not in page.text
    assert ("<html" in page.text) is not part


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.text(max_size=40), st.text(max_size=6))
def test_no_value_of_the_button_breaks_the_program(
    client: TestClient, laundry: dict[str, str], asked: str, area: str
) -> None:
    """Whatever is sent, the answer is a message."""
    page = client.post("/calculation", data={**laundry, "calculation": asked, "area": area})
    assert page.status_code == 422
    assert "failed here" not in page.text


def test_calculations_of_a_stage_name_a_known_candidate(client: TestClient, laundry: dict[str, str]) -> None:
    """A list asked for by hand of a candidate that is none gets a message too."""
    page = client.post("/later", data={**laundry, "drawn": "nobody"}, headers={"x-stage": "calculations"})
    assert page.status_code == 422
    assert "is no candidate of this area" in words(page.text)


def test_address_without_a_form_is_told(client: TestClient) -> None:
    """Opening the address itself shows the first page with a message."""
    page = client.get("/calculation")
    assert page.status_code == 405
    assert "this address does not take that" in page.text


def test_crack_chart_on_the_page_compares_the_candidates(client: TestClient) -> None:
    """The chart of a crack names other membranes of the line; a job's name is shown as text."""
    data = {"state": json.dumps(STATE), "area": "0", "calculation": "low-meadow-3:crack_tile_stress"}
    page = client.post("/calculation", data=data)
    assert page.status_code == 200
    chart = page.text[page.text.index("<svg xmlns") : page.text.index("</svg>")]
    for name in ("Low Meadow", "High Meadow", "Hedgerow", "fully bonded"):
        assert name in chart
    assert "Shop &lt;b&gt;floor&lt;/b&gt;" in page.text
    assert "<b>floor</b>" not in page.text


def test_own_stack_has_calculations_of_its_own(client: TestClient) -> None:
    """The asker's own stack is a candidate like the others."""
    state = {**STATE, "proposed": [{"role": "membrane", "product": "hedgerow-crack"}]}
    data = {"state": json.dumps(state), "area": "0", "calculation": "proposed:crack_tile_stress"}
    own = client.post("/calculation", data=data)
    assert own.status_code == 200
    line = client.post("/calculation", data={**data, "calculation": "hedgerow-crack:crack_tile_stress"})
    assert numbers(own.text) == numbers(line.text)


def test_area_without_a_proposal_has_no_such_candidate(client: TestClient) -> None:
    """Nothing is worked out for a stack that nobody proposed."""
    data = {"state": json.dumps(STATE), "area": "0", "calculation": "proposed:crack_tile_stress"}
    page = client.post("/calculation", data=data)
    assert page.status_code == 422
    assert "is no candidate of this area" in words(page.text)


def test_contradictory_facts_are_told(client: TestClient) -> None:
    """Facts that cannot both be true give a message, not a sheet."""
    facts = {"tile_long_edge": "6 in", "tile_short_edge": "12 in"}
    state = {"name": "x", "areas": [{"name": "a", "facts": facts}]}
    data = {"state": json.dumps(state), "area": "0", "calculation": JOIST}
    page = client.post("/calculation", data=data)
    assert page.status_code == 422
    assert "tile_long_edge" in page.text or "long" in words(page.text)


@pytest.mark.parametrize(
    ("formula", "markup"),
    [
        ("w/2", "<mfrac><mi>w</mi><mn>2</mn></mfrac>"),
        ("sqrt(E_t)", "<mrow><mo>√</mo><mo>(</mo><msub><mi>E</mi><mi>t</mi></msub><mo>)</mo></mrow>"),
        (
            "(a + b)**2",
            "<msup><mrow><mo>(</mo><mi>a</mi><mo>+</mo><mi>b</mi><mo>)</mo></mrow><mn>2</mn></msup>",
        ),
        (
            "min(x, y)",
            "<mrow><mi>min</mi><mo>(</mo><mi>x</mi><mo>,</mo><mi>y</mi><mo>)</mo></mrow>",
        ),
    ],
)
def test_formula_is_set_as_math(formula: str, markup: str) -> None:
    """Fractions, powers and indices by the elements of MathML Core (W3C); roots by sign and brackets."""
    tree = formula_tree(formula)
    assert tree is not None
    found = str(math_markup(tree)).replace(' mathvariant="normal"', "")
    assert found == f'<math display="inline">{markup}</math>'


def test_no_text_of_a_formula_becomes_markup() -> None:
    """Whatever stands in a tree is shown as text."""
    found = str(math_markup({"kind": "symbol", "base": "<b>", "index": "&"}))
    assert "<b>" not in found
    assert "&lt;b&gt;" in found
    assert "&amp;" in found
