"""A product's promises are shown as they stand, and two are told apart where they differ."""

from __future__ import annotations

from pathlib import Path

from small_line import bound, product

from undercourse.advise.products import compare_products, product_document

FIRST = product(
    "first",
    """provides = ["uncoupling", "waterproofing"]

[properties]
thickness = "3 mm"
seam = "butt"
[[limit]]
demand = "joist_spacing"
at_most = "19.2 in"
when = { base = "sawn joists" }
because = "So it is."
basis = "evidence:t"
[[limit]]
demand = "exposure"
one_of = ["interior"]
because = "So it is."
basis = "maker's statement"
[[limit]]
demand = "freezing"
not_stated = true
because = "Never tried."
basis = "maker's statement"
[[evidence]]
id = "t"
standard = "ASTM C627"
edition = "2018"
laboratory = "Invented"
report = "R-1"
date = 2025-02-03
respects = [{ fact = "joist_spacing", at_most = "19.2 in" }]
[[ruling]]
id = "r"
demand = "top_surface"
one_of = ["OSB"]
scope = { top_surface = "OSB" }
who = "desk"
date = 2026-01-01
expires = 2026-12-31
because = "Watched."
""",
)
SECOND = product(
    "second",
    """provides = ["uncoupling", "heating"]

[properties]
thickness = "6 mm"
seam = "butt"
[[limit]]
demand = "joist_spacing"
at_most = "16 in"
when = { base = "sawn joists" }
because = "So it is."
basis = "maker's statement"
[[limit]]
demand = "exposure"
one_of = ["interior"]
because = "So it is."
basis = "maker's statement"
[[limit]]
demand = "slab_rh"
at_most = "85 %"
because = "So it is."
basis = "maker's statement"
""",
)


def test_product_shows_limits_with_what_stands_behind_them(tmp_path: Path) -> None:
    """Text in both systems, condition, basis, test, ruling, and what is not stated."""
    book = bound(tmp_path / "line", {"first.toml": FIRST})
    document = product_document(book.line.products["first"], book)
    limits = {row["demand"]: row for row in document["limits"]}
    spacing = limits["joist_spacing"]
    assert spacing["text"] == "Joist spacing: at most 19.2 in (488 mm), where base is sawn joists."
    assert spacing["evidence"] == "ASTM C627 (2018), Invented, R-1, 2025-02-03"
    assert limits["top_surface"]["ruling"] == {
        "id": "r",
        "who": "desk",
        "date": "2026-01-01",
        "expires": "2026-12-31",
    }
    assert limits["top_surface"]["basis"] == "ruling:r"
    assert [row["demand"] for row in document["not_stated"]] == ["freezing"]
    assert {row["name"]: row["text"] for row in document["properties"]} == {
        "thickness": "3 mm (0.12 in)",
        "seam": "butt",
    }
    assert document["evidence"][0]["stands_behind"] == [spacing["id"]]
    assert document["packs"][0]["price_date"] == "2026-09-01"


def test_comparison_tells_what_differs_and_who_states_alone(tmp_path: Path) -> None:
    """Same rows are marked the same; a silence is shown as one."""
    book = bound(tmp_path / "line", {"first.toml": FIRST, "second.toml": SECOND})
    first, second = (book.line.products[name] for name in ("first", "second"))
    document = compare_products(first, second, book)
    rows = {row["demand"]: row for row in document["limits"]}
    assert rows["exposure"]["same"]
    assert not rows["joist_spacing"]["same"]
    sides = (rows["joist_spacing"]["first"], rows["joist_spacing"]["second"])
    assert [side[0]["capacity_text"] for side in sides] == [
        "at most 19.2 in (488 mm)",
        "at most 16 in (406 mm)",
    ]
    assert rows["slab_rh"]["first"] == []
    assert document["only_first"] == ["frost", "top surface"]
    assert document["only_second"] == ["relative humidity in the slab"]
    assert document["provides"] == {
        "both": ["uncoupling"],
        "only_first": ["waterproofing"],
        "only_second": ["heating"],
    }
    assert {row["name"]: row["same"] for row in document["properties"]} == {"thickness": False, "seam": True}


def test_comparison_with_itself_differs_in_nothing(tmp_path: Path) -> None:
    """An identity."""
    book = bound(tmp_path / "line", {"first.toml": FIRST})
    one = book.line.products["first"]
    document = compare_products(one, one, book)
    assert all(row["same"] for row in (*document["limits"], *document["properties"]))
    assert document["only_first"] == document["only_second"] == []
