"""The job report: tagged, embedded, the same bytes, and it says what the answer says."""

from __future__ import annotations

import copy
import hashlib
import io
import os
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pypdf import PdfReader
from pypdf.generic import DictionaryObject

from papers.fixtures import ANSWER, BATH, ENTRY, LAYOUT, ROOM, STEPS, TAKEOFF, TWO_AREAS
from undercourse.base.problems import Problems
from undercourse.files.paper_assets import load_paper_assets
from undercourse.papers import answer_hash, job_report
from undercourse.papers.characters import breakable, is_settable, settable, settable_text

ASSETS = load_paper_assets()
TESTS = str(Path(__file__).resolve().parent.parent)
STAMP = 1_795_000_000


def _report(answer: dict[str, Any] = ANSWER, **other: Any) -> bytes:
    given_: dict[str, Any] = {
        "assets": ASSETS,
        "timestamp": STAMP,
        "steps": {"Bath": STEPS},
        "rooms": {"Bath": ROOM},
    }
    return job_report(answer, [LAYOUT], [TAKEOFF], **{**given_, **other})


def _pages(pdf: bytes) -> list[str]:
    """Text of every page with its white space joined and break marks taken out."""
    texts = [page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages]
    return [re.sub(r"\s+", " ", text.replace("\u200b", "")) for text in texts]


ONE = _report()
PAGES = _pages(ONE)
ALL = " ".join(PAGES)


def _structure(pdf: bytes) -> list[DictionaryObject]:
    """All structure elements of the tag tree."""
    root = PdfReader(io.BytesIO(pdf)).trailer["/Root"]
    found, open_ = [], [root["/StructTreeRoot"]]
    while open_:
        node = open_.pop().get_object()
        if isinstance(node, DictionaryObject):
            found.append(node)
            kids = node.get("/K", [])
            open_ += kids if isinstance(kids, list) else [kids]
    return found


def test_pdf_is_tagged_and_marked_as_pdf_ua() -> None:
    """ISO 14289-1:2014 (PDF/UA-1), clauses 5, 7.1, 7.2: identifier, marked, title shown, language."""
    root = PdfReader(io.BytesIO(ONE)).trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"] == True  # noqa: E712  a PDF boolean, not Python's
    assert "/StructTreeRoot" in root
    assert str(root["/Lang"]).lower().startswith("en")
    assert root["/ViewerPreferences"]["/DisplayDocTitle"] == True  # noqa: E712
    metadata = root["/Metadata"].get_object().get_data().decode()
    assert re.search(r"pdfuaid:part(>|=\")1", metadata)
    assert "Alder Lane 14, ground floor" in metadata


def test_every_figure_has_an_alternative_and_every_table_its_headers() -> None:
    """ISO 14289-1, clauses 7.3 and 7.5: alternate text for figures, headers for tables."""
    tags = _structure(ONE)
    figures = [tag for tag in tags if tag.get("/S") == "/Figure"]
    assert len(figures) == 6  # shares, section, plan, cut map, dry fit, pieces cut to shape
    assert all(str(tag.get("/Alt", "")).strip() for tag in figures)
    tables = [tag for tag in tags if tag.get("/S") == "/Table"]
    assert len(tables) >= 5
    assert any(tag.get("/S") == "/TH" for tag in tags)
    levels = [int(str(tag["/S"])[2:]) for tag in tags if re.fullmatch(r"/H\d", str(tag.get("/S")))]
    assert levels
    assert max(levels) <= 3


def test_all_fonts_are_embedded() -> None:
    """ISO 14289-1, clause 7.21.4: font programs are embedded; the text face among them."""
    names = set()
    for page in PdfReader(io.BytesIO(ONE)).pages:
        for font in page["/Resources"].get("/Font", {}).values():
            for descendant in font.get_object()["/DescendantFonts"]:
                descriptor = descendant.get_object()["/FontDescriptor"]
                assert any(key in descriptor for key in ("/FontFile", "/FontFile2", "/FontFile3"))
                names.add(str(descriptor["/FontName"]))
    assert any("AtkinsonHyperlegibleNext-Regular" in name for name in names)
    assert any("AtkinsonHyperlegibleNext-Bold" in name for name in names)


def test_same_input_gives_same_bytes_and_other_input_other_bytes() -> None:
    """Twice in one process, once in another with another hash seed."""
    assert _report() == ONE
    assert _report(timestamp=STAMP + 1) != ONE
    program = (
        f"import sys, hashlib; sys.path.insert(0, {TESTS!r}); from papers.fixtures import *;"
        "from undercourse.papers import job_report;"
        "from undercourse.files.paper_assets import load_paper_assets;"
        "print(hashlib.sha256(job_report(ANSWER, [LAYOUT], [TAKEOFF], assets=load_paper_assets(),"
        f"timestamp={STAMP}, steps={{'Bath': STEPS}}, rooms={{'Bath': ROOM}})).hexdigest())"
    )
    run = subprocess.run(
        [sys.executable, "-c", program],
        env={**os.environ, "PYTHONHASHSEED": "7"},
        capture_output=True,
        check=True,
        text=True,
    )
    assert run.stdout.strip() == hashlib.sha256(ONE).hexdigest()


@pytest.mark.parametrize(("page", "size"), [("us-letter", (612.0, 792.0)), ("a4", (595.28, 841.89))])
def test_paper_sizes(page: str, size: tuple[float, float]) -> None:
    """ANSI/ASME Y14.1 size A is 8.5 x 11 in; ISO 216 A4 is 210 x 297 mm (kind = published)."""
    box = PdfReader(io.BytesIO(_report(page=page))).pages[0].mediabox
    assert (float(box.width), float(box.height)) == pytest.approx(size, abs=0.02)


def test_unknown_paper_size_is_a_problem_with_a_fix() -> None:
    """No traceback for a person."""
    with pytest.raises(Problems, match="use us-letter or a4"):
        _report(page="legal")


def test_answer_stands_on_the_first_page() -> None:
    """Site, verdict as a sentence, assembly, conditions, what decides, cautions; then the drawings."""
    first = PAGES[0]
    for part in (
        "Ready",
        "Suitable, provided three things are made so: Quarrybeck Parting 3.",
        "Quarrybeck Bedding Mortar M",
        "3/16 in (4.8 mm)",
        "Substrate flatness: within 1/8 in in 10 ft",
        "Joist total deflection decides: it uses 91 % of what the product allows.",
        "a stone tub on this floor was not counted",
    ):
        assert part in first, part
    assert "Section" not in first
    assert PAGES[1].count("Section") >= 1


def test_running_head_names_job_date_revision_and_page_of_pages() -> None:
    """A lost page finds its file."""
    for number, text in enumerate(PAGES, 1):
        assert "Alder Lane 14, ground floor" in text
        assert "2026-11-25" in text
        assert "Line revision 2026.3" in text
        assert f"Page {number} of {len(PAGES)}" in text


@pytest.mark.parametrize(
    "part",
    [
        "Quarrybeck Seam Band 5",
        "Item QB-SB-30",
        "60 ft 4-3/8 in",
        "377.50 USD",
        "Prices of 2026-10-01",
        "Bed the sheet.",
        "Flood test only after the mortar in the seams has set.",
        "ANSI A108.05, 3.3",
        "16 in (406 mm)",
        "Wider bays bend the panel between joists more than the test floor did.",
        "evidence: floor-load-2026-02",
        "Not suitable",
        "The new floor would stand 1 in high under a door that clears 13/16 in.",
        "The maker does not state: seam waterproofness, wheel load.",
        "before mortar is mixed, with a 10 ft straightedge",
        "What does a pin meter read in the subfloor panel?",
        "40 psf (1.92 kPa)",
        "Carried by",
        "Quarrybeck technical desk",
        "6f1c7ad09e5b4c21a0d3f4c9aa10b7e2",
        "7 ft 10-1/4 in (2394 mm)",
        "1 roll for all areas of this layout; fewer are not possible.",
        "10.8 °F",  # a margin of 6 K is 10.8 degrees Fahrenheit of difference, not 42.8
    ],
)
def test_report_says(part: str) -> None:
    """Numbers, sources, steps, reasons, conditions, questions, overrides, basis."""
    assert part.replace(" ", "") in ALL.replace(" ", "")  # a line may break at a hyphen


def test_caution_stands_beside_its_number() -> None:
    """In the findings the caution follows its own limit before the next limit begins."""
    findings = ALL[ALL.index("Limit, why it is there, source") :]
    at = findings.index("a stone tub on this floor was not counted")
    assert findings.index("Joist total deflection") < at < findings.index("Panel moisture")


def test_stop_on_site_recommends_nothing() -> None:
    """A stop comes before any verdict and names who decides."""
    pages = _pages(_report(TWO_AREAS))
    stop = next(text for text in pages if "The site says stop." in text)
    assert "Nothing is recommended until the stop on site is cleared." in stop
    assert "Who decides: structural engineer." in stop
    assert "Recommended" not in stop
    assert "Bath" in pages[0]
    assert "Entry hall" in pages[0]


@pytest.mark.parametrize(
    ("verdict", "words"),
    [
        ("suitable", "Suitable: Quarrybeck Parting 3 may be used here as shown."),
        ("suitable_if", "Suitable, provided three things are made so: Quarrybeck Parting 3."),
        ("needs_facts", "Need facts: the answer on Quarrybeck Parting 3 turns on one fact not known yet."),
        ("needs_ruling", "Not stated by the maker: a limit of Quarrybeck Parting 3 needs a ruling."),
        ("not_suitable", "Not suitable: Quarrybeck Parting 3 must not be used here."),
    ],
)
def test_every_verdict_is_said_in_its_words(verdict: str, words: str) -> None:
    """The five verdicts of the contract."""
    area = copy.deepcopy(BATH)
    area["candidates"][0]["verdict"] = verdict
    assert words in _pages(_report({**ANSWER, "areas": [area]}))[0]


def test_nothing_suitable_is_said_of_the_area_not_of_one_assembly() -> None:
    """Without a recommendation the best that failed is shown as what came closest."""
    area = copy.deepcopy(BATH)
    area["recommended"] = None
    for candidate in area["candidates"]:
        candidate["verdict"] = "not_suitable"
    first = _pages(_report({**ANSWER, "areas": [area]}))[0]
    assert "Not suitable: no assembly that was judged may be used here." in first
    assert "Came closest" in first
    assert "Recommended" not in first


ODD = 'A & B <b> #panic("no") $5 @ref "q" \'a\' \\ `c` *b* _i_ [x] {y} // /* */ ~ = - '
ODD += "漢字 😀 \x07\u202e\ufffe "


def _mangled(value: Any, kept: tuple[str, ...]) -> Any:
    """The same document with odd characters and an endless word behind every text."""
    if isinstance(value, dict):
        return {key: inner if key in kept else _mangled(inner, kept) for key, inner in value.items()}
    if isinstance(value, list):
        return [_mangled(inner, kept) for inner in value]
    return f"{value} {ODD}{'Endless' * 12}" if isinstance(value, str) else value


def test_odd_characters_and_endless_words_never_break_a_report() -> None:
    """Nothing of a job's own words is read as markup; what has no shape is told by its number."""
    kept = ("status", "verdict", "id", "recommended", "strip", "roll", "area", "name")
    answer, layout = _mangled(ANSWER, kept), _mangled(LAYOUT, kept)
    takeoff, steps = _mangled(TAKEOFF, kept), _mangled(STEPS, kept)
    pdf = job_report(answer, [layout], [takeoff], assets=ASSETS, timestamp=0, steps={"Bath": steps})
    text = " ".join(_pages(pdf))
    assert '#panic("no") $5 @ref' in text
    assert "[U+6F22]" in text
    assert "Characters that the fonts at hand lack" in text
    for page in PdfReader(io.BytesIO(pdf)).pages:  # nothing runs off the paper
        right = float(page.mediabox.width)
        places: list[float] = []
        page.extract_text(visitor_text=lambda _t, _c, m, _f, _s, places=places: places.append(m[4]))
        assert all(0 <= x <= right for x in places)


@pytest.mark.parametrize(
    "answer",
    [
        {},
        {"areas": []},
        {"areas": [{}]},
        {"areas": [{"area": "x", "candidates": [{}]}]},
        {"job": None, "basis": None, "areas": [{"area": "", "candidates": None, "site": None}]},
        {"job": "j", "areas": [{"area": "x", "site": {"status": "open", "stops": []}, "candidates": []}]},
    ],
)
def test_empty_answers_give_a_report(answer: dict[str, Any]) -> None:
    """Nothing known is said, not crashed on."""
    text = " ".join(_pages(job_report(answer, [], [], assets=ASSETS, timestamp=0)))
    assert "Basis of this answer" in text


def test_empty_layout_and_takeoff_give_a_report() -> None:
    """An area with a layout of nothing."""
    pdf = job_report(ANSWER, [{"areas": [{"name": "Bath"}]}], [{"area": "Bath"}], assets=ASSETS, timestamp=0)
    assert "Quantities" in " ".join(_pages(pdf))


def test_hash_of_an_answer_is_its_own_or_follows_from_its_content() -> None:
    """The order of keys does not matter; one digit does."""
    turned = dict(reversed(list(ANSWER.items())))
    assert answer_hash(turned) == answer_hash(ANSWER)
    assert answer_hash({**ANSWER, "job": "Alder Lane 15"}) != answer_hash(ANSWER)
    assert answer_hash({"basis": {"answer": "abc"}}) == "abc"
    assert answer_hash(ANSWER)[:12] in ALL


@settings(max_examples=100, deadline=None, derandomize=True)
@given(st.text())
def test_any_text_becomes_settable(text: str) -> None:
    """Every character that remains has a shape, and no letter of the face is lost."""
    clean = settable_text(text)
    assert all(is_settable(character) for character in clean)
    assert breakable(clean).replace("\u200b", "") == clean
    assert settable({"a": [text]}) == {"a": [clean]}


@settings(max_examples=8, deadline=None, derandomize=True)
@given(st.text(min_size=1, max_size=200))
def test_any_job_name_is_set(name: str) -> None:
    """The typesetter refuses characters without a shape: none may reach it."""
    pdf = job_report({"job": name, "areas": [{"area": name}]}, [], [], assets=ASSETS, timestamp=0)
    assert pdf.startswith(b"%PDF")


def test_entry_fixture_is_open_where_it_says_so() -> None:
    """An open band and a missing thickness reach the paper as such."""
    text = " ".join(_pages(_report({**ANSWER, "areas": [ENTRY]})))
    assert "thickness not stated" in text
    assert "0.0197 to 0.315 in" in text
    assert "0 to 0.118 in" in text
    assert "17 to 260" not in text  # a share beyond the axis says no more than open


@pytest.mark.parametrize("page", ["us-letter", "a4"])
@pytest.mark.parametrize("size", [4, 20])
def test_answer_keeps_to_one_page_however_much_there_is(page: str, size: int) -> None:
    """What does not fit is counted on the first page and told in full behind it."""
    area = copy.deepcopy(BATH)
    chosen = area["candidates"][0]
    words = "a long condition that takes its time to say what it wants from the people on site " * (
        1 + size // 8
    )
    chosen["provided"] = [
        {**chosen["provided"][0], "fact": f"fact_{i}", "must_be": words} for i in range(size)
    ]
    area["cautions"] = [f"Caution number {i} of many: {words}" for i in range(size)]
    pages = _pages(_report({**ANSWER, "areas": [area]}, page=page))
    assert "What decides" in pages[0]
    assert "Caution number 0 of many" in pages[0]
    assert "Section" in pages[1]
    behind = " ".join(pages)
    assert all(f"Caution number {i} of many" in behind for i in range(size))
    assert all(f"Fact {i}" in behind for i in range(size))
