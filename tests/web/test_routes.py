"""The routes as a browser without script uses them, and the parts that the script asks for."""

from __future__ import annotations

import json
import tomllib
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from starlette.testclient import TestClient
from tests.web.reading import PageForm

from undercourse.facts.jobs import read_job
from undercourse.files.reading import Locator
from undercourse.files.shipped import vocabulary

JOBS = ("laundry", "cafe", "heated_bath", "terrace", "empty")


_OPENED: dict[str, PageForm] = {}


def opened(client: TestClient, job: str = "laundry") -> PageForm:
    """The page of a job; it is the same each time, so it is fetched once."""
    if job not in _OPENED:
        page = client.get(f"/job/{job}")
        assert page.status_code == 200
        _OPENED[job] = PageForm(page.text)
    return _OPENED[job]


def post(client: TestClient, data: dict[str, list[str]]) -> PageForm:
    """The first stage's answer; it holds the sheet as well where a button changes its lines."""
    page = client.post("/", data=data, headers={"x-stage": "verdicts"})
    assert page.status_code == 200, PageForm(page.text).text[:400]
    return PageForm(page.text)


def facts_of(form: PageForm) -> dict[str, Any]:
    """What the job in the page says of its first area: the site's facts under the area's own."""
    state = json.loads(form.value("state"))
    return {**state.get("facts", {}), **state["areas"][0].get("facts", {})}


def verdicts_of(form: PageForm, area: str | None = None) -> dict[str, str]:
    digest = json.loads(form.value("last"))
    return dict(digest[area or next(iter(digest))]["c"])


def test_first_page_lists_the_demo_jobs(client: TestClient) -> None:
    """Four demo jobs, an empty one and a file can be opened."""
    text = client.get("/").text
    assert all(f'href="/job/{job}"' in text for job in JOBS)
    assert 'action="/open"' in text


@pytest.mark.parametrize("job", JOBS)
def test_job_posted_unchanged_is_the_same_job(client: TestClient, job: str) -> None:
    """Reading a sheet that nobody touched changes no fact, no layer and no verdict."""
    form = opened(client, job)
    again = post(client, form.send())
    assert json.loads(again.value("state")) == json.loads(form.value("state"))
    assert json.loads(again.value("last")) == json.loads(form.value("last"))
    assert "Since the last answer" not in again.text


@pytest.mark.parametrize("path", ["/", "/job/laundry", "/nowhere", "/static/page.js", "/fonts/OFL.txt"])
def test_every_answer_carries_the_strict_policy(client: TestClient, path: str) -> None:
    """No inline script or style can run (W3C CSP Level 3: default-src covers both)."""
    headers = client.get(path).headers
    assert headers["content-security-policy"].startswith("default-src 'self';")
    assert "unsafe" not in headers["content-security-policy"]
    assert headers["x-content-type-options"] == "nosniff"


@pytest.mark.parametrize("job", JOBS)
def test_page_has_nothing_inline(client: TestClient, job: str) -> None:
    """The page obeys its own policy: no style attribute, no style element, no script text, no handler."""
    import re

    text = client.get(f"/job/{job}").text
    assert not re.search(r"<style|\sstyle=|\son[a-z]+=|<script(?![^>]*\ssrc=)|javascript:", text)


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("12 ft 4 in", "148 in"),
        # 1 ft is 304.8 mm exactly (NIST SP 811, appendix B.6).
        ("14 ft", "4267.2 mm"),
        ("14 ft", "4.2672 m"),
        ("about 14 ft", "13.3 ft to 14.7 ft"),
    ],
)
def test_either_unit_system_gives_the_same_verdicts(client: TestClient, one: str, other: str) -> None:
    """A length is what it is, whichever way it is written."""
    first = post(client, opened(client).send(v__joist_span=one))
    second = post(client, opened(client).send(v__joist_span=other))
    assert verdicts_of(first) == verdicts_of(second)
    assert facts_of(first)["joist_span"] == one


def test_clearing_a_fact_makes_it_unknown(client: TestClient) -> None:
    """An empty line states nothing, in the whole site's sheet."""
    form = post(client, opened(client).send(go="sheet:site"))
    after = post(client, form.send(v__joist_span="", k__joist_span=""))
    assert "joist_span" not in facts_of(after)


def test_range_is_kept_as_it_was_said(client: TestClient) -> None:
    """“75 to 85 %” is what the sheet shows again, and what the job says."""
    form = opened(client, "cafe")
    after = post(client, form.send(v__slab_rh="75 to 85 %", k__slab_rh="told by owner", go="sheet:area"))
    assert after.value("v.slab_rh") == "75 to 85 %"
    assert facts_of(after)["slab_rh"] == {"value": "75 to 85 %", "how": "told", "by": "owner"}


def test_several_boxes_are_a_set(client: TestClient) -> None:
    """Two ticked boxes leave two values possible; all boxes are the same as not knowing."""
    form = post(client, opened(client).send(go="sheet:site"))
    domain = vocabulary().domains["framing_condition"]
    two = post(client, form.send(v__framing_condition=list(domain.choices[:2])))
    assert facts_of(two)["framing_condition"] == list(domain.choices[:2])
    every = post(client, form.send(v__framing_condition=list(domain.choices)))
    assert "framing_condition" not in facts_of(every)


def test_change_is_marked_in_the_margin(client: TestClient) -> None:
    """A fact that changed shows what it was; a verdict that changed does too."""
    text = client.post("/", data=opened(client).send(v__joist_span="19 ft")).text
    line = text[text.index('id="line-joist_span"') - 60 :][:900]
    assert "changed" in line
    assert "was 12 ft 4 in" in line
    assert "Since the last answer" in text
    assert "it was 12 ft 4 in" in text


def test_saying_how_a_fact_is_known_keeps_the_marks(client: TestClient) -> None:
    """Marks stay until another value changes."""
    first = post(client, opened(client).send(v__joist_span="19 ft"))
    carried = {name: first.value(name) for name in ("state", "last", "compared", "changes")}
    data = opened(client).send(v__joist_span="19 ft", k__joist_span="told by owner", **carried)
    text = client.post("/", data=data, headers={"x-stage": "verdicts"}).text
    assert "it was 12 ft 4 in" in text
    assert 'data-line="line-joist_span" data-was="12 ft 4 in (3.76 m)"' in text


def test_bad_entry_shows_at_its_field_and_keeps_the_last_answer(client: TestClient) -> None:
    """What was typed stays, the message stands at the field, and the answer before it stays in sight."""
    form = opened(client)
    page = client.post("/", data=form.send(v__joist_span="16 tons"))
    after = PageForm(page.text)
    assert page.status_code == 422
    assert after.value("v.joist_span") == "16 tons"
    assert 'aria-invalid="true" aria-describedby="p-joist_span"' in page.text
    assert "tons" in page.text[page.text.index('id="p-joist_span"') :][:300]
    assert json.loads(after.value("state")) == json.loads(form.value("state"))
    assert "The answer below is the last good one" in after.text
    assert 'id="sentence"' in page.text
    assert "Candidates" in after.text


def test_contradiction_shows_at_both_facts(client: TestClient) -> None:
    """Two facts that cannot both be true each carry the message, and the last good answer stays."""
    form = opened(client)
    page = client.post("/", data=form.send(v__tile_long_edge="6 in", v__tile_short_edge="12 in"))
    assert page.status_code == 422
    assert 'id="p-tile_long_edge"' in page.text
    assert 'id="p-tile_short_edge"' in page.text
    assert "Candidates" in page.text


def test_second_area_inherits_and_may_differ(client: TestClient) -> None:
    """A new area takes the site's facts; what it says itself does not touch the other area."""
    two = post(
        client, opened(client, "empty").send(v__exposure="interior", v__joist_span="12 ft", go="area-add")
    )
    state = json.loads(two.value("state"))
    assert [area["name"] for area in state["areas"]] == ["Area 1", "Area 2"]
    assert two.value("area") == "1"
    changed = post(client, two.send(v__joist_span="3 m", go="sheet:area"))
    state = json.loads(changed.value("state"))
    assert state["facts"]["joist_span"] == "12 ft"
    assert state["areas"][1]["facts"]["joist_span"] == "3 m"
    back = post(client, changed.send(go="area-drop"))
    assert len(json.loads(back.value("state"))["areas"]) == 1


def test_existing_layers_are_listed_top_down(client: TestClient) -> None:
    """Layers can be added on top and below, moved and removed; an unticked box leaves the rest open."""
    form = post(client, opened(client, "empty").send(go="layer-below"))
    form = post(
        client, form.send(layer__0__kind="plywood | OSB", layer__0__thickness="3/4 in", go="layer-top")
    )
    form = post(client, form.send(layer__0__kind="sheet vinyl", layer__whole=None, go="sheet:area"))
    state = json.loads(form.value("state"))
    assert state["layer"] == [
        {"kind": "sheet vinyl"},
        {"kind": "plywood | OSB", "thickness": "3/4 in"},
        {"kind": "?"},
    ]
    form = post(client, form.send(go="layer-up:1"))
    assert json.loads(form.value("state"))["layer"][0]["kind"] == "plywood | OSB"
    form = post(client, form.send(go="layer-drop:1"))
    assert [row["kind"] for row in json.loads(form.value("state"))["layer"]] == ["plywood | OSB", "?"]


def test_bad_layer_shows_at_its_row(client: TestClient) -> None:
    """A material that is none of the list is told at the row that names it."""
    form = post(client, opened(client, "empty").send(go="layer-below"))
    page = client.post("/", data=form.send(layer__0__kind="cheese", layer__whole=None))
    assert page.status_code == 422
    assert 'id="p-layer-0"' in page.text


def test_proposed_stack_is_candidate_zero(client: TestClient) -> None:
    """A stack by product name, kind and class is judged beside the line's own."""
    form = opened(client, "cafe")
    start = post(client, form.send(go="stack-clear"))
    assert "proposed" not in verdicts_of(start, "Dining room")
    one = post(client, start.send(go="stack-add"))
    two = post(
        client, one.send(stack__0__product="Hedgerow Crack Isolation Sheet, self-adhering", go="stack-add")
    )
    three = post(
        client, two.send(stack__1__role="mortar above", stack__1__classes="A118.4, A118.11", go="sheet:area")
    )
    assert json.loads(three.value("state"))["areas"][0]["proposed"] == [
        {"role": "membrane", "product": "hedgerow-crack"},
        {"role": "mortar above", "classes": ["A118.4", "A118.11"]},
    ]
    assert "proposed" in verdicts_of(three, "Dining room")
    page = client.post("/", data=three.send(stack__0__product="no such thing"))
    assert page.status_code == 422
    assert 'id="p-stack-0"' in page.text


def test_candidate_can_be_copied_to_the_proposal(client: TestClient) -> None:
    """The recommended assembly becomes the asker's own stack, to change one thing in it."""
    page = client.get("/job/laundry")
    start = page.text.index('value="stack-from:') + len('value="')
    value = page.text[start : page.text.index('"', start)]
    form = post(client, PageForm(page.text).send(go=value))
    stack = json.loads(form.value("state"))["areas"][0]["proposed"]
    assert {"role": "membrane", "product": "low-meadow-3"} in stack


def test_outline_typed_in_feet_gives_a_plan(client: TestClient) -> None:
    """An outline by its two sides lets the sheets be laid."""
    form = opened(client)
    bare = client.post("/", data=form.send(area__outline="", area__obstacles="")).text
    assert "this area has no outline" in bare
    drawn = client.post("/", data=PageForm(bare).send(area__outline="12 ft x 9 ft")).text
    assert "Plan of sheets" in drawn
    assert "12 ft" in drawn


def test_finding_a_fact_puts_the_cursor_there(client: TestClient) -> None:
    """A person's word leads to the field."""
    text = client.post("/", data=opened(client).send(find="curb", go="find")).text
    assert 'data-focus="f-curb_height"' in text


def test_stages_give_verdicts_then_advice_then_drawings(client: TestClient) -> None:
    """The script's first request has no advice and no drawing; the later ones bring them."""
    form = opened(client, "cafe")
    first = client.post("/", data=form.send(go="area:1"), headers={"x-stage": "verdicts"}).text
    assert 'id="top"' in first
    assert "<svg xmlns" not in first
    assert 'id="asking"' not in first
    carried = {name: PageForm(first).value(name) for name in ("state", "area", "scope")}
    second = client.post("/later", data=carried, headers={"x-stage": "advice"}).text
    assert "What relative humidity do probes in the slab read" in second
    third = client.post("/later", data=carried, headers={"x-stage": "drawings"}).text
    assert third.count("<svg xmlns") >= 2
    assert "Section" in third


def test_verdicts_do_not_wait_for_advice(client: TestClient) -> None:
    """What comes at once and what comes later agree on every verdict."""
    form = opened(client, "heated_bath")
    first = PageForm(client.post("/", data=form.send(), headers={"x-stage": "verdicts"}).text)
    assert json.loads(first.value("last")) == json.loads(form.value("last"))


@pytest.mark.parametrize("job", JOBS)
def test_downloads_are_the_job(client: TestClient, job: str) -> None:
    """TOML and JSON read back by Python's own readers and give the job that the page carries."""
    form = opened(client, job)
    words = vocabulary()
    page = client.post("/save/toml", data=form.send())
    assert page.headers["content-disposition"].startswith("attachment")
    toml = read_job(tomllib.loads(page.text), words, Locator("x", page.text))
    data = json.loads(client.post("/save/json", data=form.send()).text)
    assert data == json.loads(form.value("state"))
    other = read_job(data, words, Locator("x", toml=False))
    for one, two in zip(toml.areas, other.areas, strict=True):
        assert {n: r.spec for n, r in one.readings.items()} == {n: r.spec for n, r in two.readings.items()}


def test_report_is_a_pdf_that_names_the_job(client: TestClient) -> None:
    """The report button gives the PDF; a general PDF reader finds the job's name in it."""
    import io

    from pypdf import PdfReader

    page = client.post("/save/pdf", data=opened(client).send())
    assert page.headers["content-type"] == "application/pdf"
    text = PdfReader(io.BytesIO(page.content)).pages[0].extract_text()
    assert "Alder Lane" in text


def test_download_with_a_bad_entry_shows_the_page(client: TestClient) -> None:
    """Nothing is written from a sheet that cannot be read."""
    page = client.post("/save/toml", data=opened(client).send(v__joist_span="16 tons"))
    assert page.status_code == 422
    assert 'id="p-joist_span"' in page.text


def test_job_file_can_be_opened(client: TestClient) -> None:
    """A downloaded job opens again as the same job."""
    form = opened(client)
    toml = client.post("/save/toml", data=form.send()).text
    page = client.post("/open", files={"file": ("laundry.toml", toml.encode())})
    assert page.status_code == 200
    again = json.loads(PageForm(page.text).value("state"))
    assert again == json.loads(form.value("state"))


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "empty"),
        (b"\xff\xfe\x00", "UTF-8"),
        (b"name = \n", "1"),
        (b'[framing]\njoist_span = "16 tons"\n', "bad.toml:2"),
        (b"{" * 3000, "bad.toml"),
        (b'name = "x"\n[framing]\nspeed = 4\n', "speed"),
    ],
)
def test_bad_file_is_told_with_its_line(client: TestClient, content: bytes, words: str) -> None:
    """A file that cannot be read gives the first page with where, what and how to mend it."""
    page = client.post("/open", files={"file": ("bad.toml", content)})
    assert page.status_code == 422
    assert words in PageForm(page.text).text
    assert "Traceback" not in page.text


def test_too_much_is_refused(client: TestClient) -> None:
    """A body beyond the limit is not read to its end."""
    page = client.post("/", data={"state": "x" * 3_000_000})
    assert page.status_code == 413
    assert "What may go between" in page.text


@pytest.mark.parametrize(
    "state",
    [
        "",
        "{",
        "[]",
        "null",
        '{"areas": 3}',
        '{"areas": [3]}',
        '{"facts": []}',
        '{"layer": [1]}',
        "[" * 9000,
        '{"areas": [{"outline": 5}]}',
    ],
)
def test_bad_state_gives_a_page(client: TestClient, state: str) -> None:
    """A forged or cut-off page text gives a page with a message, never a fault."""
    page = client.post("/", data={"state": state})
    assert page.status_code == 422
    assert "What may go between" in page.text
    assert "Traceback" not in page.text


def test_other_hosts_are_refused(client: TestClient) -> None:
    """A name that another machine points at this one is not served (DNS rebinding)."""
    assert client.get("/", headers={"host": "example.org"}).status_code == 400


def test_wrong_method_and_address_give_a_page(client: TestClient) -> None:
    """Even a mistyped address leads somewhere."""
    for page in (client.get("/nope"), client.get("/save/toml"), client.post("/save/exe", data={})):
        assert page.status_code in (404, 405, 422)
        assert "What may go between" in page.text


def test_names_are_shown_as_text(client: TestClient) -> None:
    """What people type is never markup."""
    form = opened(client, "empty")
    page = client.post(
        "/", data=form.send(job__name="<b>x</b>\"'&", area__name="</textarea><script>1</script>")
    )
    assert page.status_code == 200
    assert "<b>x" not in page.text
    assert "<script>1" not in page.text
    assert PageForm(page.text).value("job.name") == "<b>x</b>\"'&"


FIELDS = [
    "v.joist_span",
    "k.joist_span",
    "v.exposure",
    "v.heating",
    "layer.0.kind",
    "layer.0.thickness",
    "layer.count",
]
FIELDS += [
    "stack.count",
    "stack.0.role",
    "stack.0.product",
    "area.outline",
    "area.obstacles",
    "job.date",
    "area",
    "scope",
]
FIELDS += ["go", "last", "find", "area.name", "state"]


@settings(max_examples=15, deadline=None, suppress_health_check=list(HealthCheck))
@given(
    st.dictionaries(
        st.sampled_from(FIELDS),
        st.one_of(
            st.text(max_size=20),
            st.sampled_from(["-1", "9999999999", "2", "area:99", "stack-from:|=|", "1e999 m"]),
        ),
        max_size=6,
    )
)
def test_no_post_makes_the_program_fail(client: TestClient, changed: dict[str, str]) -> None:
    """Whatever is posted, a page comes back: an answer, or messages."""
    data = {**opened(client, "empty").send(), **{k: [v] for k, v in changed.items()}}
    page = client.post("/", data=data, headers={"x-stage": "verdicts"})
    assert page.status_code in (200, 422)
    assert "Traceback" not in page.text
