"""What a look at a line must find, each on a line that holds just that fault.

The expected faults follow from the rows written in the test itself (kind = derived): two numbers for one
floor, a claim beyond its test, a circle. Nothing here is compared with earlier output of the program.
"""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Any

import pytest
from small_line import bound, product

from undercourse.advise.auditing import audit
from undercourse.files.samples import sample_areas
from undercourse.files.shipped import rulebook, vocabulary

DAY = dt.date(2026, 11, 25)
TEST = """
[[evidence]]
id = "load"
standard = "ASTM C627"
laboratory = "Invented"
report = "1"
date = 2025-01-01
rating = "light"
respects = [
  { fact = "joist_spacing", at_most = "16 in" },
  { fact = "top_surface", one_of = ["plywood", "OSB"] },
  { fact = "panel_total_thickness", at_least = "5/8 in" },
]
"""


def limit(demand: str, capacity: str, more: str = "", basis: str = "maker's statement") -> str:
    """One limit row."""
    return f'\n[[limit]]\ndemand = "{demand}"\n{capacity}\n{more}\nbecause = "So it is."\nbasis = "{basis}"\n'


def look(tmp_path: Path, files: dict[str, str], day: dt.date | None = DAY) -> list[dict[str, Any]]:
    """The faults and notes of a small line."""
    faults: list[dict[str, Any]] = audit(bound(tmp_path / "line", files), [], day)["faults"]
    # The folder's own name carries the test's name, which may hold the words looked for.
    return [{**row, "where": row["where"].replace(f"{tmp_path}/line/", "")} for row in faults]


def found(faults: list[dict[str, Any]], *words: str) -> list[dict[str, Any]]:
    """The faults whose text holds all words."""
    return [row for row in faults if all(word in f"{row['where']}: {row['what']}" for word in words)]


def only(faults: list[dict[str, Any]], severity: str, *words: str) -> dict[str, Any]:
    """The one fault that holds all words."""
    rows = found(faults, *words)
    assert len(rows) == 1, [row["what"] for row in faults]
    assert rows[0]["severity"] == severity
    assert rows[0]["fix"]
    return rows[0]


def test_two_numbers_for_the_same_floors_are_a_fault(tmp_path: Path) -> None:
    """Two rows without a condition: the stricter counts, and that is said."""
    text = product(
        "x", limit("joist_spacing", 'at_most = "16 in"') + limit("joist_spacing", 'at_most = "24 in"')
    )
    row = only(look(tmp_path, {"x.toml": text}), "fault", "both hold where always")
    assert "at most 16 in (406 mm) counts" in row["what"]


def test_rows_whose_conditions_meet_in_part_are_a_note_that_says_which_counts(tmp_path: Path) -> None:
    """Neither row is the other's special case."""
    first = limit("joist_spacing", 'at_most = "16 in"', 'when = { top_surface = ["plywood", "OSB"] }')
    second = limit("joist_spacing", 'at_most = "24 in"', 'when = { finish = "ceramic" }')
    row = only(look(tmp_path, {"x.toml": product("x", first + second)}), "note", "both hold where")
    assert "plywood or OSB" in row["what"]
    assert "the stricter, at most 16 in (406 mm), counts" in row["what"]


def test_a_stricter_special_case_is_on_purpose(tmp_path: Path) -> None:
    """The general row and its tightening for stone are no fault."""
    text = limit("joist_live_deflection", 'at_most = "1/360"')
    text += limit("joist_live_deflection", 'at_most = "1/720"', 'when = { finish = "natural stone" }')
    assert not found(look(tmp_path, {"x.toml": product("x", text)}), "both hold")


def test_a_looser_special_case_never_counts(tmp_path: Path) -> None:
    """The row for ceramic allows more, yet the general row holds there too."""
    text = limit("joist_spacing", 'at_most = "16 in"')
    text += limit("joist_spacing", 'at_most = "24 in"', 'when = { finish = "ceramic" }')
    row = only(look(tmp_path, {"x.toml": product("x", text)}), "fault", "both hold")
    assert "never does" in row["what"]
    assert "unless" in row["fix"]


@pytest.mark.parametrize(
    ("first", "second"),
    [
        ('when = { finish = "ceramic" }', 'when = { finish = "porcelain" }'),
        ('when = { tile_short_edge = "under 5 in" }', 'when = { tile_short_edge = "at least 5 in" }'),
        ('unless = { finish = "ceramic" }', 'when = { finish = "ceramic" }'),
        (
            'unless = { panel_total_thickness = "at least 3/4 in" }',
            'when = { panel_total_thickness = "over 3/4 in" }',
        ),
    ],
)
def test_conditions_that_exclude_each_other_are_no_overlap(tmp_path: Path, first: str, second: str) -> None:
    """Different choices, touching but open ends, and unless."""
    text = limit("joist_spacing", 'at_most = "16 in"', first) + limit(
        "joist_spacing", 'at_most = "24 in"', second
    )
    assert not found(look(tmp_path, {"x.toml": product("x", text)}), "both hold")


def test_ends_that_share_one_number_overlap_there(tmp_path: Path) -> None:
    """Up to 5 in and at least 5 in both hold at 5 in."""
    text = limit("joist_spacing", 'at_most = "16 in"', 'when = { tile_short_edge = "up to 5 in" }')
    text += limit("joist_spacing", 'at_most = "24 in"', 'when = { tile_short_edge = "at least 5 in" }')
    row = only(look(tmp_path, {"x.toml": product("x", text)}), "note", "both hold")
    assert "shortest edge is 5 in (127 mm)" in row["what"]


def test_lower_and_upper_limits_do_not_overlap(tmp_path: Path) -> None:
    """At least and at most are two sides of one range."""
    text = limit("base_temperature", 'at_least = "40 F"') + limit("base_temperature", 'at_most = "95 F"')
    assert not found(look(tmp_path, {"x.toml": product("x", text)}), "both hold")


def test_stated_and_not_stated_at_once_is_noted(tmp_path: Path) -> None:
    """A floor has one answer."""
    text = limit("finish", 'none_of = ["glass"]') + limit(
        "finish", "not_stated = true", 'when = { finish = "gauged panel" }'
    )
    only(look(tmp_path, {"x.toml": product("x", text)}), "note", "stated and not stated at once")


def test_claims_beyond_the_test_are_faults(tmp_path: Path) -> None:
    """Wider spacing, thinner panels, more surfaces and a heavier class than the test had."""
    text = product(
        "x",
        limit("joist_spacing", 'at_most = "19.2 in"', basis="evidence:load")
        + limit("panel_total_thickness", 'at_least = "1/2 in"', basis="evidence:load")
        + limit("top_surface", 'one_of = ["plywood", "OSB", "concrete"]', basis="evidence:load")
        + limit("floor_load_class", 'at_most = "heavy"', basis="evidence:load")
        + TEST,
    )
    faults = look(tmp_path, {"x.toml": text})
    only(faults, "fault", "joist_spacing", "claims at most 19.2 in (488 mm)", "tested at at most 16 in")
    only(faults, "fault", "panel_total_thickness", "claims at least", "tested at at least 5/8 in")
    assert "among them concrete" in only(faults, "fault", "top_surface", "claims")["what"]
    only(faults, "fault", "claims the heavy class, but load reached light")


def test_claims_within_the_test_are_no_faults(tmp_path: Path) -> None:
    """At the tested value and on the safe side of it."""
    text = product(
        "x",
        limit("joist_spacing", 'at_most = "16 in"', basis="evidence:load")
        + limit("panel_total_thickness", 'at_least = "3/4 in"', basis="evidence:load")
        + limit("top_surface", 'one_of = ["OSB"]', basis="evidence:load")
        + limit("floor_load_class", 'at_most = "light"', basis="evidence:load")
        + TEST,
    )
    assert not found(look(tmp_path, {"x.toml": text}), "claims")


def test_a_claim_for_floors_that_the_test_never_saw_is_a_fault(tmp_path: Path) -> None:
    """Its condition excludes every tested spacing."""
    text = limit(
        "floor_load_class", 'at_most = "light"', 'when = { joist_spacing = "over 16 in" }', "evidence:load"
    )
    row = only(look(tmp_path, {"x.toml": product("x", text + TEST)}), "fault", "valid nowhere")
    assert "joist spacing is over 16 in" in row["what"]


def test_a_test_without_respects_is_a_fault(tmp_path: Path) -> None:
    """It would carry over to any floor."""
    bare = '\n[[evidence]]\nid = "t"\nstandard = "ANSI A118.12"\n'
    text = limit("crack_width", 'at_most = "1/8 in"', basis="evidence:t")
    faults = look(tmp_path, {"x.toml": product("x", text + bare)})
    only(faults, "fault", "names no respect")
    only(faults, "note", "names no laboratory and no report and no date")


NEED = '\n[[need]]\nrole = "{}"\n{}\nbecause = "So."\nbasis = "maker\'s statement"\n'


def need(role: str, what: str) -> str:
    """One need row."""
    return NEED.format(role, what)


def test_need_that_nothing_meets_is_a_fault(tmp_path: Path) -> None:
    """A class that no mortar has, and a role that no product has."""
    text = product("x", need("mortar above", 'classes = ["A118.15"]') + need("primer", ""))
    mortar = product("m", 'classes = ["A118.4TE"]', role="mortar above")
    faults = look(tmp_path, {"x.toml": text, "m.toml": mortar})
    row = only(faults, "fault", "x.toml", "needs a mortar above of A118.15")
    assert "A118.4TE" in row["what"]
    only(faults, "fault", "x.toml", "needs a primer", "no product of that role")


def test_need_met_by_a_better_class_is_no_fault(tmp_path: Path) -> None:
    """A118.4TE meets A118.4."""
    text = product("x", need("mortar above", 'classes = ["A118.4"]'))
    mortar = product("m", 'classes = ["A118.4TE"]', role="mortar above")
    assert not found(look(tmp_path, {"x.toml": text, "m.toml": mortar}), "x.toml", "needs a mortar above")


def test_need_of_a_withdrawn_product_is_a_fault(tmp_path: Path) -> None:
    """Withdrawn before the day of the look; not before."""
    files = {
        "x.toml": product("x", need("primer", 'products = ["p"]')),
        "p.toml": product("p", "withdrawn = 2026-06-30", role="primer"),
        "q.toml": product("q", role="primer"),
    }
    only(look(tmp_path, files), "fault", "x.toml", "needs p, withdrawn")
    assert not found(look(tmp_path, files, dt.date(2026, 6, 1)), "x.toml", "needs p")


def test_products_that_need_each_other_are_a_fault(tmp_path: Path) -> None:
    """Over two and over three, by id and by the only class; a free choice breaks the circle."""
    files = {
        "a.toml": product("a", need("primer", 'products = ["b"]')),
        "b.toml": product("b", need("sealant", ""), role="primer"),
        "c.toml": product("c", need("membrane", 'classes = ["uncoupling sheet"]'), role="sealant", kind=""),
    }
    row = only(look(tmp_path, files), "fault", "nothing else will do")
    assert row["what"].startswith("a needs b needs c needs a")
    files["d.toml"] = product("d", role="sealant")
    (tmp_path / "again").mkdir()
    assert not found(look(tmp_path / "again", files), "nothing else will do")


def test_a_line_without_membranes_is_a_fault(tmp_path: Path) -> None:
    """There is nothing to answer with."""
    only(look(tmp_path, {"p.toml": product("p", role="primer")}), "fault", "no membrane is on sale")


def test_succession_is_looked_through(tmp_path: Path) -> None:
    """Withdrawn without an heir, superseded but still sold, last buy too late, a circle."""
    files = {
        "a.toml": product("a", "withdrawn = 2026-01-01"),
        "b.toml": product("b"),
        "c.toml": product("c", 'supersedes = "b"'),
        "d.toml": product("d", "withdrawn = 2026-01-01\nlast_buy = 2026-02-01"),
        "e.toml": product("e", 'supersedes = "d"'),
        "f.toml": product("f", 'supersedes = "g"\nwithdrawn = 2027-01-01'),
        "g.toml": product("g", 'supersedes = "f"\nwithdrawn = 2027-01-01'),
    }
    faults = look(tmp_path, files)
    only(faults, "note", "a is withdrawn", "nothing supersedes it")
    only(faults, "fault", "b is superseded by c and still on sale")
    only(faults, "fault", "last buy 2026-02-01 is after the withdrawal")
    assert len(found(faults, "comes back to itself")) == 2


RULING = """
[[ruling]]
id = "r"
demand = "top_surface"
one_of = ["OSB"]
scope = { top_surface = "OSB" }
who = "desk"
date = 2026-01-01
EXPIRES
because = "So."
"""


def test_rulings_are_looked_at_by_date(tmp_path: Path) -> None:
    """Expired by the day given; in force on its last day; without an end."""
    ends = {"x.toml": product("x", RULING.replace("EXPIRES", "expires = 2026-06-30"))}
    only(look(tmp_path, ends), "fault", "expired on 2026-06-30")
    assert not found(look(tmp_path, ends, dt.date(2026, 6, 30)), "expired")
    only(look(tmp_path, ends, dt.date(2025, 12, 31)), "note", "starts on 2026-01-01")
    (tmp_path / "open").mkdir()
    open_end = {"x.toml": product("x", RULING.replace("EXPIRES", ""))}
    only(look(tmp_path / "open", open_end), "note", "never expires")


def pair(upper: str, lower: str, may: str = "yes") -> str:
    """One pair row."""
    return f'\n[[pair]]\nupper = "{upper}"\nlower = "{lower}"\nmay = "{may}"\nbecause = "So."\nbasis = "b"\n'


def test_pair_rows_that_never_apply_are_faults(tmp_path: Path) -> None:
    """Names of nothing, a surface on top, and a row hidden by one above."""
    text = product(
        "x",
        pair("x", "surface:plywod")
        + pair("role:roof", "x")
        + pair("surface:plywood", "x")
        + pair("ghost", "x")
        + pair("x", "surface:OSB")
        + pair("x", "surface:OSB", "no")
        + pair("kind:uncoupling sheet", "surface:concrete"),
    )
    faults = found(look(tmp_path, {"x.toml": text}), "x.toml: x: pair")
    assert len(faults) == 5
    for words in ("no surface", "no role", "lies below everything", "no product of the line", "stands above"):
        assert len(found(faults, words)) == 1


def test_gaps_are_the_floors_that_no_row_states(tmp_path: Path) -> None:
    """Joist spacing is asked for on all framing; the rows leave one kind of framing and one range out."""
    text = limit("joist_spacing", 'at_most = "16 in"', 'when = { base = "sawn joists", panel_layers = 1 }')
    text += limit("joist_spacing", 'at_most = "24 in"', 'when = { base = "I-joists" }')
    note = only(
        look(tmp_path, {"x.toml": product("x", text)}), "note", "x.toml: x: joist_spacing", "no row states"
    )
    for missing in ("open-web trusses", "cold-formed steel joists", "sawn joists", "panel layers is"):
        assert missing in note["what"]
    assert "I-joists" not in note["what"]


def test_a_gap_that_another_row_refuses_is_none(tmp_path: Path) -> None:
    """Where the product does not go at all nothing more must be stated."""
    text = limit("top_surface", 'one_of = ["plywood"]')
    screed = look(tmp_path, {"x.toml": product("x", text)})
    assert not found(screed, "x: screed_rh")
    (tmp_path / "again").mkdir()
    assert found(look(tmp_path / "again", {"x.toml": product("x")}), "x: screed_rh")


def test_a_gap_on_floors_that_are_never_right_is_none(tmp_path: Path) -> None:
    """A row that refuses framing outright leaves no spacing to state."""
    refusal = (
        '\n[[limit]]\nnever = true\nbecause = "So."\nbasis = "b"\n'
        'when = { base = ["sawn joists", "joists with stated stiffness", "I-joists", "open-web trusses",'
        ' "cold-formed steel joists"] }\n'
    )
    assert not found(look(tmp_path, {"x.toml": product("x", refusal)}), "x: joist_spacing")


def test_a_row_that_says_not_stated_closes_the_gap(tmp_path: Path) -> None:
    """It is listed, not noted as missing."""
    text = product("x", limit("joist_spacing", "not_stated = true"))
    document = audit(bound(tmp_path / "line", {"x.toml": text}), [], DAY)
    assert not found(document["faults"], "x: joist_spacing")
    assert [row["demand"] for row in document["not_stated"]] == ["joist_spacing"]


def test_demo_line_has_no_fault() -> None:
    """The shipped line is whole on the day of its sample areas."""
    document = audit(rulebook(None), [], dt.date(2026, 11, 16))
    assert [row["what"] for row in document["faults"] if row["severity"] == "fault"] == []
    assert document["counts"]["fault"] == 0


def test_sample_areas_tell_where_each_membrane_wins_and_loses() -> None:
    """Wins and losses add up: on each area one membrane at most wins, and each sibling loses to it."""
    book = rulebook(None)
    areas = sample_areas(vocabulary())
    samples = audit(book, areas, DAY)["samples"]
    rows = samples["products"]
    assert samples["areas"] == len(areas)
    assert samples["contradictory"] == []
    wins = sum(row["recommended"] for row in rows)
    assert wins == len(areas) - len(samples["stopped"]) - len(samples["without"])
    for row in rows:
        assert sum(row["loses_to"].values()) == wins - row["recommended"]
        # Where something suits something is recommended, so all that suits and loses is outranked.
        assert sum(row["outranked_by"].values()) == row["suitable"] - row["recommended"]
        assert row["met"] == (row["recommended"] >= 3 and wins - row["recommended"] >= 3)
    assert samples["met"]
