"""How facts are written and read at the page's edge: how known, outlines, jobs as TOML."""

from __future__ import annotations

import tomllib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from undercourse.facts.jobs import read_job
from undercourse.files.demo import demo_jobs
from undercourse.files.job_text import job_data, job_json, job_toml
from undercourse.files.reading import Locator
from undercourse.files.shipped import data_root, vocabulary
from undercourse.web.known import read_known, show_known
from undercourse.web.outlines import read_ring, show_ring
from undercourse.web.sheet import find_fact
from undercourse.web.state import empty_state, read_state, write_state

DEMOS = ("cafe", "heated_bath", "laundry", "terrace")


def demo_data(name: str) -> dict[str, object]:
    text = data_root().joinpath("demo").joinpath("jobs").joinpath(f"{name}.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


@pytest.mark.parametrize("name", DEMOS)
def test_job_written_as_toml_reads_back_to_the_same_data(name: str) -> None:
    """What a person downloads is the job that was answered; Python's own TOML reader is the witness."""
    data = job_data(demo_data(name), vocabulary())
    again = job_data(tomllib.loads(job_toml(data, vocabulary())), vocabulary())
    assert again == data


@pytest.mark.parametrize("name", DEMOS)
def test_job_as_data_reads_as_the_file_does(name: str) -> None:
    """The page's form of a job loses no fact, layer, outline or provenance of the file."""
    words = vocabulary()
    whole = dict(demo_jobs(words))[name]
    again = read_job(job_data(demo_data(name), words), words, Locator("x", toml=False))
    for one, other in zip(whole.areas, again.areas, strict=True):
        assert {n: (r.spec, r.how, r.method, r.by, r.on) for n, r in one.readings.items()} == {
            n: (r.spec, r.how, r.method, r.by, r.on) for n, r in other.readings.items()
        }
        assert (one.outline, one.obstacles, one.doors) == (other.outline, other.obstacles, other.doors)
        assert [(p.role, p.product, p.classes, p.thickness) for p in one.proposed] == [
            (p.role, p.product, p.classes, p.thickness) for p in other.proposed
        ]
    assert (whole.name, whole.date, whole.client, whole.note) == (
        again.name,
        again.date,
        again.client,
        again.note,
    )


@settings(max_examples=60, deadline=None)
@given(
    st.dictionaries(st.sampled_from(["name", "client", "note"]), st.text(max_size=30).filter(bool)),
    st.text(max_size=30),
)
def test_any_text_survives_toml(heads: dict[str, str], value: str) -> None:
    """No quote, control character or script breaks the file; Python's TOML reader is the witness."""
    data = {**heads, "facts": {"joist_span": value}, "areas": []}
    assert tomllib.loads(job_toml(data, vocabulary())) == {**heads, "framing": {"joist_span": value}}


def test_job_as_json_is_json() -> None:
    """The JSON download parses with any reader."""
    import json

    data = job_data(demo_data("laundry"), vocabulary())
    assert json.loads(job_json(data)) == data


@pytest.mark.parametrize(
    ("text", "parts"),
    [
        ("measured", {"how": "measured"}),
        ("measured by installer, 2026-11-09", {"how": "measured", "by": "installer", "on": "2026-11-09"}),
        (
            "measured by testing agency, ASTM F2170, 2026-11-10",
            {"how": "measured", "by": "testing agency", "method": "ASTM F2170", "on": "2026-11-10"},
        ),
        ("Told by owner, holds day of tiling", {"how": "told", "by": "owner", "for": "day of tiling"}),
        ("pin meter", {"method": "pin meter"}),
        ("", {}),
    ],
)
def test_how_known_is_read_from_a_line(text: str, parts: dict[str, str]) -> None:
    """One line carries way, person, method, date and for when it holds."""
    assert read_known(text) == parts
    assert read_known(show_known({"value": 1, **parts})) == parts


def test_outline_from_two_sides_is_a_rectangle_in_metres() -> None:
    """12 ft is 3.6576 m by the definition of the foot (NIST SP 811, appendix B)."""
    assert read_ring("12 ft x 9 ft 6 in") == [[0.0, 0.0], [3.6576, 0.0], [3.6576, 2.8956], [0.0, 2.8956]]
    assert read_ring("3.2 m by 2 m") == [[0.0, 0.0], [3.2, 0.0], [3.2, 2.0], [0.0, 2.0]]


def test_outline_of_corners_is_shown_as_it_is_typed() -> None:
    """Corners go in and come back unchanged."""
    text = "0, 0; 3.35, 0; 3.35, 2.8"
    assert show_ring(read_ring(text)) == text


@pytest.mark.parametrize("text", ["12 tons x 3 ft", "0 ft x 3 ft", "a, b; c, d", "1, 2, 3; 4, 5, 6; 7, 8, 9"])
def test_outline_that_cannot_be_read_says_how_to_write_it(text: str) -> None:
    """The message names what is wrong and shows an example."""
    with pytest.raises(ValueError, match="write"):
        read_ring(text)


@pytest.mark.parametrize(
    ("words", "fact"),
    [
        ("span", "joist_span"),
        ("curb", "curb_height"),
        ("joist spacing", "joist_spacing"),
        ("curing compound", "coating"),
    ],
)
def test_a_persons_word_finds_the_fact(words: str, fact: str) -> None:
    """The words that the vocabulary lists lead to their fact."""
    assert find_fact(words, vocabulary()) == f"f-{fact}"


def test_state_of_an_empty_job_comes_back() -> None:
    """The page's hidden text is the whole state."""
    assert read_state(write_state(empty_state()), vocabulary()) == empty_state()
