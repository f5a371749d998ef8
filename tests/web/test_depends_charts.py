"""Numbers that decide together, drawn beside the candidate that turns on them; derived from the answer."""

from __future__ import annotations

import copy
import datetime as dt
import io
import json
import re
from dataclasses import replace
from typing import Any

import pytest
from pypdf import PdfReader
from starlette.testclient import TestClient

from papers.fixtures import ANSWER, LAYOUT, TAKEOFF
from undercourse.advise.answers import answer
from undercourse.files.demo import demo_jobs
from undercourse.files.job_text import job_json
from undercourse.files.paper_assets import load_paper_assets
from undercourse.files.shipped import rulebook
from undercourse.papers import job_report
from undercourse.web.pages import demo_state

BOOK = rulebook(None)
GONE = ("joist_spacing", "joist_span", "live_load", "existing_dead_load")
SHEET = "low-meadow-3"


def known_less() -> dict[str, Any]:
    """The laundry's state without the numbers of its joists and loads."""
    state = demo_state("laundry", BOOK)
    assert state is not None
    found: dict[str, Any] = json.loads(job_json(state))
    for facts in (found["facts"], *(area["facts"] for area in found["areas"])):
        for name in GONE:
            facts.pop(name, None)
    return found


@pytest.fixture(scope="module")
def entry() -> dict[str, Any]:
    """What the answer itself says of the pair."""
    job = dict(demo_jobs(BOOK.vocabulary))["laundry"]
    kept = {name: r for name, r in job.areas[0].readings.items() if name not in GONE}
    found = answer(replace(job, areas=(replace(job.areas[0], readings=kept),)), BOOK, dt.date(2026, 11, 25))
    candidate = next(one for one in found["areas"][0]["candidates"] if one["id"] == SHEET)
    return next(one for one in candidate["depends_on"] if "curve" in one)


def test_the_chart_stands_with_the_opened_candidate_and_nowhere_else(
    client: TestClient, entry: dict[str, Any]
) -> None:
    """The candidate that is opened has its pair's chart, named by both numbers; others are not drawn."""
    data = {"state": json.dumps(known_less()), "area": "0", "candidate": SHEET}
    text = client.post("/later", data=data, headers={"x-stage": "candidate"}).text
    (figure,) = re.findall(r'<figure class="drawing pair">(.*?)</figure>', text, re.DOTALL)
    assert figure.lstrip().startswith("<svg")
    assert f"{entry['label'].capitalize()} by {entry['with_label']}" in figure
    assert text.index("It depends on") < text.index("drawing pair")
    assert entry["suitable_when"] in text
    advice = client.post("/later", data=data, headers={"x-stage": "advice"}).text
    assert "drawing pair" not in advice


def test_values_that_are_not_all_shown_to_suit_are_marked(client: TestClient) -> None:
    """A star at the value, and what it means below the table; none where everything is proven."""
    data = {"state": json.dumps(known_less()), "area": "0", "candidate": SHEET}
    text = client.post("/later", data=data, headers={"x-stage": "candidate"}).text
    table = text[text.index('class="depends"') : text.index("drawing pair")]
    assert ("&#160;*</td>" in table) == ("* What does not suit is proven" in table)


def text_of(pdf: bytes) -> str:
    """All that a report says."""
    return " ".join(" ".join(page.extract_text().split()) for page in PdfReader(io.BytesIO(pdf)).pages)


def test_the_report_shows_the_pair_of_its_candidate(entry: dict[str, Any]) -> None:
    """Its chart is in the report with the pair and not without."""
    given: dict[str, Any] = {"assets": load_paper_assets(), "timestamp": 1_795_000_000}
    document = copy.deepcopy(ANSWER)
    chosen = next(
        c for c in document["areas"][0]["candidates"] if c["id"] == document["areas"][0]["recommended"]
    )
    plain = job_report(document, [LAYOUT], [TAKEOFF], **given)
    chosen["depends_on"].append(entry)
    drawn = job_report(document, [LAYOUT], [TAKEOFF], **given)
    title = f"{entry['label'].capitalize()} by {entry['with_label']}"
    assert [title in text_of(pdf) for pdf in (plain, drawn)] == [False, True]
