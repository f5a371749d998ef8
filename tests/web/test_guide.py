"""Questions one at a time, works and the ready reply, as a browser without script uses them."""

from __future__ import annotations

import json
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from starlette.testclient import TestClient
from tests.web.reading import PageForm

JOB: dict[str, Any] = {
    "name": "Kitchen <b>",
    "facts": {
        "exposure": "interior",
        "surface": "floor",
        "base": "sawn joists",
        "finish": "ceramic",
        "wants_uncoupling": True,
    },
    "areas": [{"name": "Floor", "facts": {}}],
}


def carried(state: dict[str, Any] | None = None, **more: str) -> dict[str, str]:
    return {"state": json.dumps(state or JOB), "area": "0", "scope": "area", **more}


def ask(client: TestClient, data: dict[str, Any], stage: str = "verdicts", status: int = 200) -> PageForm:
    """What the script gets for one stage."""
    path = "/" if stage == "verdicts" else "/later"
    page = client.post(path, data=data, headers={"x-stage": stage})
    assert page.status_code == status, page.text[:600]
    assert "Traceback" not in page.text
    return PageForm(page.text)


def go(client: TestClient, form: PageForm, button: str, **fields: Any) -> tuple[PageForm, PageForm]:
    """Press a button of the panel: the verdicts, then the panel that follows."""
    verdicts = ask(client, form.send(go=button, **fields))
    job = {key: verdicts.value(key) for key in ("state", "area", "scope", "guide", "last")}
    panel = ask(client, job, "guide")
    panel.fields = [*job.items(), *panel.fields]
    return verdicts, panel


def begin(client: TestClient, state: dict[str, Any] | None = None) -> PageForm:
    form = PageForm("")
    form.fields = list(carried(state).items())
    return go(client, form, "guide:on")[1]


def facts_of(form: PageForm) -> dict[str, Any]:
    return dict(json.loads(form.value("state"))["facts"])


def asking_for(fact: str, *facts: str) -> PageForm:
    """A panel that asks for a fact, whatever comes first by itself."""
    form = PageForm("")
    form.fields = list(
        carried(guide='{"on": true}', asked=fact, **{"asked.facts": " ".join(facts or (fact,))}).items()
    )
    return form


def test_panel_tells_why_and_how(client: TestClient) -> None:
    """One question with its reason, how to find out, and a field with a way to put it off."""
    panel = begin(client)
    for part in ("Question 1", "Why", "To find out", "Don’t know", "Stop asking"):
        assert part in panel.text
    assert "guide-reply" in panel.ids
    assert "Back" not in panel.text


@pytest.mark.parametrize(
    ("fact", "said", "read"),
    [
        # "about" is five percent either way, as everywhere on the sheet; 1 ft = 304.8 mm (NIST SP 811).
        ("joist_span", "about 14 ft", "about 14 ft"),
        ("joist_span", "4267.2 mm", "4267.2 mm"),
        ("joist_span", "12 to 14 ft", "12 to 14 ft"),
        ("wheels", "none", "none"),
    ],
)
def test_reply_stands_on_the_sheet_as_typed(client: TestClient, fact: str, said: str, read: str) -> None:
    """A reply and the same value typed into the sheet give the same job and the same verdicts."""
    replied, _ = go(client, asking_for(fact), "guide:reply", reply=said)
    assert facts_of(replied)[fact] == read
    state = {**JOB, "facts": {**JOB["facts"], fact: read}}
    typed = ask(client, carried(state))
    assert json.loads(replied.value("last")) == json.loads(typed.value("last"))
    assert json.loads(replied.value("state")) == json.loads(typed.value("state"))
    assert any(fact == name for name, _, _ in json.loads(replied.value("changes")))


def test_choice_is_a_button(client: TestClient) -> None:
    """A pressed choice is the reply."""
    state = {**JOB, "facts": {"finish": "ceramic"}}
    form = begin(client, state)
    form.fields = [pair for pair in form.fields if not pair[0].startswith("asked")]
    form.fields += [("asked", "base"), ("asked.facts", "base")]
    after, _ = go(client, form, "say:slab on ground")
    assert facts_of(after)["base"] == "slab on ground"


def test_several_facts_in_one_reply(client: TestClient) -> None:
    """Joists are told in one line and land in three lines of the sheet."""
    form = asking_for("joist_span", "joist_size", "joist_spacing", "joist_span")
    after, _ = go(client, form, "guide:reply", reply="2x10, 16 in, 14 ft")
    facts = facts_of(after)
    assert (facts["joist_size"], facts["joist_spacing"], facts["joist_span"]) == ("2x10", "16 in", "14 ft")


def test_what_a_reply_leaves_out_is_asked_again(client: TestClient) -> None:
    """Of three facts of the joists one was told: the others stay to be asked for, a ? puts them off."""
    form = asking_for("joist_size", "joist_size", "joist_spacing", "joist_span")
    for reply, apart in (("16 in", {"joist_spacing"}), ("16 in, ?", set(form.value("asked.facts").split()))):
        after, _ = go(client, form, "guide:reply", reply=reply)
        (step,) = json.loads(after.value("guide"))["steps"]
        assert {step[1], *step[2]} == apart


def test_layers_told_are_the_list_of_layers(client: TestClient) -> None:
    """Layers from the top become the rows of the sheet; a question mark leaves the list open."""
    from undercourse.advise.together import LAYERS

    form = asking_for(LAYERS.facts[0], *LAYERS.facts)
    after, panel = go(client, form, "guide:reply", reply="1/4 in cement board, 3/4 in plywood, ?")
    rows = json.loads(after.value("state"))["layer"]
    assert rows == [
        {"kind": "cement board", "thickness": "1/4 in"},
        {"kind": "plywood", "thickness": "3/4 in"},
        {"kind": "?"},
    ]
    back, _ = go(client, panel, "guide:back")
    assert json.loads(back.value("state")) == json.loads(form.value("state"))


def test_back_undoes_and_shows_the_reply_again(client: TestClient) -> None:
    """Back restores what the sheet said before, with how it was known, and the reply can be mended."""
    known = {"value": "12 to 16 ft", "how": "told", "by": "owner"}
    state = {**JOB, "facts": {**JOB["facts"], "joist_span": known}}
    form = asking_for("joist_span")
    form.fields[0] = ("state", json.dumps(state))
    after, panel = go(client, form, "guide:reply", reply="14 ft")
    assert facts_of(after)["joist_span"] == "14 ft"
    assert "Back" in panel.text
    back, again = go(client, panel, "guide:back")
    assert facts_of(back)["joist_span"] == known
    assert json.loads(again.value("guide"))["text"] == "14 ft"
    assert json.loads(again.value("guide"))["steps"] == []


def test_put_off_is_not_asked_again_and_changes_nothing(client: TestClient) -> None:
    """“Don’t know” leads to another question; the job stays as it is."""
    panel = begin(client)
    seen = []
    for _ in range(3):
        if "asked" not in dict(panel.fields):
            break
        seen.append(panel.value("asked"))
        after, panel = go(client, panel, "guide:skip")
        assert json.loads(after.value("state")) == JOB
    assert len(set(seen)) == len(seen) > 1
    assert "Put off so far" in panel.text


def test_asking_is_left_off_and_goes_on_when_pressed(client: TestClient) -> None:
    """Nothing known: the panel lists what is to be sent in, and the button asks for something else."""
    panel = begin(client, {**JOB, "facts": {**JOB["facts"], "base": "slab on ground"}})
    asked = []
    while "asked" in dict(panel.fields):
        assert len(asked) < 20
        asked.append(panel.value("asked"))
        panel = go(client, panel, "guide:skip")[1]
    for part in (
        "Asked enough",
        "would rarely change",
        "Still to send in, most telling first",
        "Not asked yet",
    ):
        assert part in panel.text
    assert "send-in" in panel.ids
    more = go(client, panel, "guide:more")[1]
    assert more.value("asked") not in asked
    again = go(client, go(client, more, "guide:off")[1], "guide:on")[1]
    assert "Asked enough" in again.text


def test_asking_ends_and_says_so(client: TestClient) -> None:
    """On a site that is surely stopped no question is put, and the panel says why."""
    state = {**JOB, "facts": {**JOB["facts"], "base": "suspended slab", "cracks": "structural"}}
    panel = begin(client, state)
    assert "No question is left" in panel.text
    assert "whoever decides" in panel.text
    assert "guide-reply" not in panel.ids


@pytest.mark.parametrize(
    ("reply", "told"),
    [
        ("14 tons", "tons"),
        ("", "Nothing is said"),
        ("-3 ft", ""),
        ("14 ft; drop table", ""),
        ("<script>alert(1)</script>", ""),
        ("joist_spam = 3", "is not a fact"),
        ("9" * 390, ""),
        ("∞ ft", ""),
        ("NaN", ""),
        ("\x00\ud7ff", ""),
    ],
)
def test_reply_that_cannot_be_read_is_told_at_the_field(client: TestClient, reply: str, told: str) -> None:
    """The message stands at the field, what was typed stays, the job is as it was."""
    data = asking_for("joist_span").send(go="guide:reply", reply=reply)
    part = ask(client, data, status=422)
    assert told in part.text
    assert json.loads(part.value("state")) == JOB
    whole = client.post("/", data=data)
    assert whole.status_code == 422
    assert 'data-field="guide-reply"' in whole.text
    assert "<script>alert" not in whole.text


def test_reply_against_the_sheet_is_told(client: TestClient) -> None:
    """A span that the sheet rules out is no reply; nor is one that contradicts another fact."""
    state = {**JOB, "facts": {**JOB["facts"], "joist_span": "12 to 13 ft"}}
    form = asking_for("joist_span")
    form.fields[0] = ("state", json.dumps(state))
    part = ask(client, form.send(go="guide:reply", reply="20 ft"), status=422)
    assert "cannot be" in part.text.lower()
    assert json.loads(part.value("state")) == state


def test_sheet_and_reply_are_taken_together(client: TestClient) -> None:
    """What was typed on the sheet meanwhile is not lost by a reply; with a fault in it both stay as typed."""
    page = PageForm(client.get("/job/empty").text)
    page = PageForm(client.post("/", data=page.send(go="guide:on")).text)
    assert "Question 1" in page.text
    good = page.send(go="guide:reply", reply="slab on ground", asked="base", v__tile_long_edge="12 in")
    good["asked.facts"] = ["base"]
    after = ask(client, good)
    assert facts_of(after) == {"base": "slab on ground", "tile_long_edge": "12 in"}
    bad = client.post("/", data={**good, "v.tile_long_edge": ["12 tons"]})
    assert bad.status_code == 422
    kept = PageForm(bad.text)
    assert kept.value("reply") == "slab on ground"
    assert kept.value("v.tile_long_edge") == "12 tons"


def test_enter_key_without_script_is_the_reply(client: TestClient) -> None:
    """The first button of the form is the one that the Enter key presses (HTML standard, 4.10.21.2)."""
    after = ask(client, asking_for("joist_span").send(go="answer", reply="14 ft"))
    assert facts_of(after)["joist_span"] == "14 ft"


def test_second_area_keeps_its_own_replies(client: TestClient) -> None:
    """With two areas a reply belongs to the one that is shown; dropping it drops its steps."""
    state = {**JOB, "areas": [{"name": "Floor", "facts": {}}, {"name": "Hall", "facts": {}}]}
    form = asking_for("joist_span")
    form.fields[0] = ("state", json.dumps(state))
    after, panel = go(client, form, "guide:reply", reply="14 ft", area="1")
    areas = json.loads(after.value("state"))["areas"]
    assert areas[1]["facts"] == {"joist_span": "14 ft"}
    assert areas[0]["facts"] == {}
    dropped = ask(client, panel.send(go="area-drop"))
    assert json.loads(dropped.value("guide"))["steps"] == []


@pytest.mark.parametrize(
    "guide",
    [
        "[]",
        "{]",
        '{"steps": 3}',
        '{"steps": [[0, "nobody", [], "", {}]]}',
        '{"steps": [["x", "base", [], "", {}]]}',
        '{"on": true, "steps": [[0, "base", ["base"], "x", {"layer": 3}]]}',
        '{"work": 7}',
        "[" * 5000,
    ],
)
def test_steps_made_by_hand_are_let_go(client: TestClient, guide: str) -> None:
    """Steps that the page did not write are forgotten; the answer is the same."""
    after = ask(client, carried(guide=guide, go="guide:back"))
    assert json.loads(after.value("guide"))["steps"] == []
    assert json.loads(after.value("state")) == JOB


def test_value_restored_by_hand_is_read_like_any_other(client: TestClient) -> None:
    """What a step would put back goes through the same reading: nonsense is told, not taken."""
    guide = json.dumps({"on": True, "steps": [[0, "joist_span", ["joist_span"], "x", {"joist_span": ["a"]}]]})
    part = ask(client, carried(guide=guide, go="guide:back"), status=422)
    assert "failed here" not in part.text


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.text(max_size=30), st.sampled_from(["guide:reply", "guide:skip", "say:", "guide:", "work:"]))
def test_nothing_that_is_sent_breaks_the_page(client: TestClient, text: str, button: str) -> None:
    """Whatever is sent, the answer is a page or a message."""
    data = asking_for("joist_span").send(go=button + text, reply=text)
    page = client.post("/", data=data, headers={"x-stage": "verdicts"})
    assert page.status_code in (200, 422)
    assert "failed here" not in page.text


def test_works_on_the_page_are_those_of_the_answer(client: TestClient) -> None:
    """The page names every set that the search finds, with its sum and gates; asked for by product too."""
    import datetime as dt

    from undercourse.advise.prep import prep_job
    from undercourse.files.shipped import rulebook
    from undercourse.web.pages import demo_state, read

    book = rulebook(None)
    state = demo_state("terrace", book)
    assert state is not None
    state["areas"] = state["areas"][1:]
    day = dt.date(2026, 11, 25)
    found = prep_job(read(state, book), book, day, "high-meadow-8")["areas"][0]
    assert found["prep"]
    for guide in ({"work": "high-meadow-8"}, {"work": "any"}, {}):
        page = ask(client, carried(state, guide=json.dumps(guide)), "advice")
        for one in found["prep"] if guide.get("work") != "any" else []:
            assert f"{one['cost']:,.0f} {one['currency']}" in page.text
            assert all(do in page.text for do in one["do"])
            assert all(gate["who"] in page.text for gate in one["gates"])
            assert all(text.rstrip(".") in page.text for text in one["cautions"])
        assert "What work would make" in page.text
    closed = ask(client, carried(state, guide='{"work": "any"}', go="work:off"))
    assert json.loads(closed.value("guide"))["work"] == ""


@pytest.mark.parametrize("work", ["nobody", "proposed", "<b>", "low-meadow-3|x"])
def test_works_for_nobody_are_let_go(client: TestClient, work: str) -> None:
    """A product that the line does not have is not searched for."""
    page = ask(client, carried(guide=json.dumps({"work": work})), "advice")
    assert "would make <b>" not in page.text


def test_letter_is_that_of_the_command(client: TestClient) -> None:
    """The text is the one that ``undercourse reply`` prints; names are shown as text."""
    import datetime as dt

    from undercourse.files.replying import letters
    from undercourse.files.shipped import rulebook
    from undercourse.web.pages import read

    book = rulebook(None)
    written = letters(read(JOB, book), book, dt.date(2026, 11, 25), [0])[0]["text"]
    answer = client.post("/later", data=carried(), headers={"x-stage": "letter"})
    assert " ".join(written.split()) in PageForm(answer.text).text
    assert "Kitchen &lt;b&gt;" in answer.text
    assert 'id="copy"' in answer.text
