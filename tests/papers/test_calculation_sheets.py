"""Which calculation sheets a report prints, in what order, and that the paper stays accessible."""

from __future__ import annotations

import copy
import io
import re
from typing import Any

import pytest
from pypdf import PdfReader
from pypdf.generic import DictionaryObject

from papers.fixtures import ANSWER, BATH, TWO_AREAS
from undercourse.files.paper_assets import load_paper_assets
from undercourse.papers import job_report
from undercourse.papers.calculation_sheets import MOST_INFORMING, AreaSheets, calculation_sheets

ASSETS = load_paper_assets()
LIMIT = {
    "limit": "framing-live",
    "capacity_text": "at most L/360",
    "status": "meets",
    "utilisation": 0.5,
    "reason": "",
    "source": "standard:IRC R301.7",
    "by": "trade rule",
}


def sheet(demand: str, **other: Any) -> dict[str, Any]:
    """A sheet of a product of two numbers, as the advice gives them; numbers are invented."""
    row = {"label": "load", "us": "", "range": "", "source": "told"}
    return {
        "demand": demand,
        "title": f"Number of {demand}",
        "subject": "framing",
        "value_text": "8 kPa",
        "open": False,
        "applies": True,
        "remark": "",
        "choices": [{"name": "base", "label": "base", "value_text": "sawn joists"}],
        "inputs": [
            {**row, "name": "p", "symbol": "p", "si": "2 kPa", "us": "41.771 psf", "number": 2000.0},
            {**row, "name": "k", "symbol": "kₙ", "si": "4", "us": "4", "number": 4.0},
        ],
        "steps": [
            {
                "symbol": "q",
                "label": "pressure",
                "formula": "p·kₙ²/(2·kₙ)",
                "numbers": "2,000·4²/(2·4)",
                "plain": "p*k_n**2/(2*k_n)",
                "si": "4 kPa",
                "us": "83.542 psf",
                "source": "statics",
                "number": 4000.0,
            }
        ],
        "valid": [],
        "source": "statics",
        "ground": "published formula and values",
        "cautions": [],
        "unit": "kpa",
        "low": 4000.0,
        "high": 4000.0,
        "limits": [],
        **other,
    }


def report(
    sheets: dict[str, list[dict[str, Any]]], answer: dict[str, Any] = ANSWER, **other: Any
) -> PdfReader:
    pdf = job_report(answer, [], [], assets=ASSETS, timestamp=0, sheets=sheets, **other)
    return PdfReader(io.BytesIO(pdf))


def text_of(reader: PdfReader) -> str:
    texts = (page.extract_text() for page in reader.pages)
    return re.sub(r"\s+", " ", " ".join(texts).replace("\u200b", ""))


def assert_within_margins(reader: PdfReader) -> None:
    """No word below the foot or above the head of any page."""
    for page in reader.pages:
        heights: list[float] = []

        def note(
            words: str, cm: Any, tm: Any, _font: Any, _size: Any, heights: list[float] = heights
        ) -> None:
            if words.strip():
                heights.append(tm[4] * cm[1] + tm[5] * cm[3] + cm[5])

        page.extract_text(visitor_text=note)
        assert min(heights) > 30
        assert max(heights) < float(page.mediabox.height) - 30


def chosen(name: str, sheets: list[dict[str, Any]]) -> AreaSheets:
    return AreaSheets(name, sheets, BATH["candidates"][0])


def test_deciding_sheets_come_first_and_are_never_left_out() -> None:
    """Far more than fit: every one that a limit is held against is printed, the others to their number."""
    many = [sheet(f"inform_{n}") for n in range(60)] + [
        sheet(f"decide_{n}", limits=[LIMIT], subject="panels") for n in range(50)
    ]
    # No two alike, so that none is folded into another.
    for n, one in enumerate(many):
        one["steps"][0] = {**one["steps"][0], "symbol": f"q{n}"}
    data = calculation_sheets([chosen("Bath", many)])
    deciding, informing = (group["sheets"] for group in data["groups"])
    assert [one["number"] for one in deciding] == list(range(1, 51))
    assert len(informing) == MOST_INFORMING
    assert len(data["left"]) == 60 - MOST_INFORMING
    told = {row["title"] for group in data["list"] for row in group["rows"]} | set(data["left"])
    assert told == {one["title"] for one in many}


def test_best_grounded_informing_sheets_stay() -> None:
    """Where not all fit, what rests on memory goes first."""
    many = [sheet(f"recalled_{n}", ground="from memory: it may warn and never allows") for n in range(15)]
    many += [sheet(f"printed_{n}") for n in range(MOST_INFORMING)]
    for n, one in enumerate(many):
        one["steps"][0] = {**one["steps"][0], "symbol": f"q{n}"}
    data = calculation_sheets([chosen("Bath", many)])
    assert all("recalled" in title for title in data["left"])
    assert len(data["left"]) == 15


def test_same_working_in_two_areas_is_printed_once() -> None:
    """With both areas' limits; another working of the same number only where it decides."""
    other = copy.deepcopy(LIMIT) | {"capacity_text": "at most L/480"}
    both = [chosen("Bath", [sheet("a", limits=[LIMIT])]), chosen("Hall", [sheet("a", limits=[LIMIT, other])])]
    data = calculation_sheets(both)
    (one,) = data["groups"][0]["sheets"]
    assert one["areas"] == "all areas"
    assert [row["areas"] for row in one["held"]] == ["", "Hall"]
    assert data["numbers"] == {"Bath": {"a": 1}, "Hall": {"a": 1}}
    moved = sheet("a", low=5000.0, high=5000.0)
    informing = calculation_sheets([chosen("Bath", [sheet("a")]), chosen("Hall", [moved])])
    assert [one["title"] for one in informing["groups"][1]["sheets"]] == ["Number of a"]
    assert [one["number"] for one in informing["elsewhere"]] == [1]


def test_what_is_hardly_known_or_next_to_nothing_is_named_not_worked_out() -> None:
    """Ends more than three times apart; less than a thousandth in both systems."""
    sheets = [sheet("wide", low=1000.0, high=9000.0), sheet("tiny", low=1e-5, high=2e-5), sheet("good")]
    data = calculation_sheets([chosen("Bath", sheets)])
    assert data["vague"] == ["Number of wide"]
    assert data["nothing"] == ["Number of tiny"]
    assert [one["title"] for one in data["groups"][1]["sheets"]] == ["Number of good"]


def test_outside_its_range_no_number_is_printed() -> None:
    """Instead the range and its source."""
    span = {"label": "span", "range": "from 1 m to 3 m", "here": "no", "source": "EN 1995"}
    text = text_of(report({"Bath": [sheet("a", limits=[LIMIT], valid=[span])]}))
    at = text.index("Sheet 1 Number of a")
    assert "Not valid here" in text[at:]
    assert "Holds for: span from 1 m to 3 m, not kept here. EN 1995" in text[at:]
    assert "Written out" not in text[at:]


def test_governing_sheet_is_marked_and_findings_lead_to_it() -> None:
    """The demand that governs the answer of the fixture, in the list, on the sheet and in the findings."""
    own = {**LIMIT, "limit": "joist_total_deflection"}
    text = text_of(report({"Bath": [sheet("joist_total_deflection", limits=[own])]}))
    assert "Governs the answer." in text
    assert text.count("Governs.") == 1
    assert re.search(r"Worked out on sheet 1, page \d+", text)


def test_informing_sheet_says_so() -> None:
    """No verdict hangs on it."""
    text = text_of(report({"Bath": [sheet("a")]}))
    assert "Informs only: held against no limit." in text
    assert "Ground: Published formula and values." in text
    assert "Written out: p·kn²/(2·kn) = 2,000·4²/(2·4) = 4 kPa" in text


def test_report_without_sheets_has_no_such_section() -> None:
    """Nothing is announced that is not there."""
    assert "Calculation sheets" not in text_of(report({}))


@pytest.mark.parametrize("page", ["us-letter", "a4"])
def test_paper_with_sheets_is_tagged_with_alternatives(page: str) -> None:
    """ISO 14289-1:2014, clauses 7.3 and 7.7: alternate text for figures and for formulas; set as PDF/UA-1."""
    svg = '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="40mm" viewBox="0 0 100 40">'
    svg += "<title>t</title><desc>A line that falls &amp; rises.</desc>"
    svg += "<path d='M0 0L100 40' stroke='black'/></svg>"
    reader = report({"Bath": [sheet("a", limits=[LIMIT])]}, charts={"Bath": {"a": svg}}, page=page)
    open_, tags = [reader.trailer["/Root"]["/StructTreeRoot"]], []
    while open_:
        node = open_.pop().get_object()
        if isinstance(node, DictionaryObject):
            tags.append(node)
            kids = node.get("/K", [])
            open_ += kids if isinstance(kids, list) else [kids]
    figures = [str(tag.get("/Alt")) for tag in tags if tag.get("/S") == "/Figure"]
    assert "A line that falls & rises." in figures
    formulas = [str(tag.get("/Alt")) for tag in tags if tag.get("/S") == "/Formula"]
    assert formulas == ["q = p·kₙ²/(2·kₙ)"]


def test_long_sheet_breaks_between_its_rows_and_nothing_runs_off_the_paper() -> None:
    """Fifty inputs and fifty steps: all of them are there, each page within its margins."""
    long = sheet("a", limits=[LIMIT])
    long["inputs"] = [{**long["inputs"][0], "symbol": f"p_{n}x"} for n in range(50)]
    long["steps"] = [{**long["steps"][0], "symbol": f"q_{n}x"} for n in range(50)]
    reader = report({"Bath": [long]})
    text = text_of(reader)
    assert all(f"p{n}x = 2 kPa" in text and f"q{n}x = 4 kPa" in text for n in range(50))
    assert text.count("working of sheet 1") >= 3
    assert_within_margins(reader)


@pytest.mark.parametrize("page", ["us-letter", "a4"])
def test_sheet_of_any_height_stays_within_its_page(page: str) -> None:
    """Whole sheets are kept whole only where they fit, whatever fills them."""
    words = "a caution that takes its time to say what it is about and to whom it is said on this floor "
    sheets = []
    for n in range(1, 26):
        one = sheet(f"d{n}", limits=[LIMIT] * (n % 4 + 1), cautions=[words * (n % 7)] * (n % 3))
        one["inputs"] = [
            {
                **one["inputs"][0],
                "symbol": f"p_{n}i{k}",
                "range": "1 kPa to 2 kPa" * (k % 2),
                "source": "x" * 9 * k,
            }
            for k in range(n)
        ]
        one["steps"] = [{**one["steps"][0], "symbol": f"q_{n}i{k}"} for k in range(n // 2 + 1)]
        sheets.append(one)
    reader = report({"Bath": sheets}, page=page)
    text = text_of(reader)
    assert all(f"p{n}i{k} = 2 kPa" in text for n in range(1, 26) for k in range(n))
    assert all(f"q{n}i{k} = 4 kPa" in text for n in range(1, 26) for k in range(n // 2 + 1))
    assert_within_margins(reader)


def test_sheets_of_odd_words_never_break_a_report() -> None:
    """Words of a job or line are set as they stand; symbols of any alphabet too."""
    odd = sheet("a", title='# & <b> "漢" \x07 $x$', cautions=["*bold* _x_ #panic()"], limits=[LIMIT])
    odd["inputs"][0] = {**odd["inputs"][0], "symbol": "γᵣ", "source": "x" * 200}
    odd["steps"][0] = {**odd["steps"][0], "plain": "f(x) if y else z"}
    text = text_of(report({"Entry hall": [odd]}, TWO_AREAS))
    assert '# & <b> "[U+6F22]" $x$' in text
    assert "*bold* _x_ #panic()" in text
    assert "γr = 2 kPa" in text
