"""The chart of shares: bars in proportion, the limit a line, the open a band."""

from __future__ import annotations

import pytest

from drawings.marks import extent, outside, overlaps, paths, words
from undercourse.drawings import draw_shares, open_share, read_share, share_text
from undercourse.drawings.sheet import Disc


def _finding(limit: str, share: object, status: str = "meets") -> dict[str, object]:
    return {"limit": limit, "utilisation": share, "status": status}


def test_bars_are_in_proportion_to_the_limit() -> None:
    """A share of one half ends half way to the line of the limit."""
    sheet = draw_shares([_finding("a", 0.5), _finding("b", 0.25), _finding("c", 1.1, "exceeds")])
    (limit,) = paths(sheet, "limit")
    bars = sorted(extent(points) for points in paths(sheet, "bar"))
    start, line = bars[0][0], limit[0][0]
    shares = sorted((box[2] - start) / (line - start) for box in bars)
    assert shares == pytest.approx([0.25, 0.5, 1.1], abs=1e-3)
    points = [mark.at[0] for mark in sheet.marks if isinstance(mark, Disc)]
    assert sorted((x - start) / (line - start) for x in points) == pytest.approx([0.25, 0.5, 1.1], abs=1e-3)


def test_open_share_is_a_band_from_best_to_worst() -> None:
    """What is not known is drawn as wide as it is."""
    sheet = draw_shares([_finding("moisture", {"from": 0.7, "to": 1.15}, "open")])
    (band,), (limit,), (bar,) = paths(sheet, "band"), paths(sheet, "limit"), paths(sheet, "bar")
    start, line = extent(bar)[0], limit[0][0]
    low, high = extent(band)[0], extent(band)[2]
    assert ((low - start) / (line - start), (high - start) / (line - start)) == pytest.approx(
        (0.7, 1.15), abs=1e-3
    )
    assert "70 to 115 %, open" in words(sheet)


@pytest.mark.parametrize(
    ("value", "capacity", "share", "expected"),
    [
        ({"from": 9, "to": 16}, 12, 16 / 12, (0.75, 16 / 12)),  # at most
        ({"from": 40, "to": 80}, 60, 1.5, (0.75, 1.5)),  # at least
        ({"from": 0, "to": 1000}, None, 30.0, (0.0, 30.0)),
    ],
)
def test_open_band_follows_from_value_and_capacity(
    value: object, capacity: float | None, share: float, expected: tuple[float, float]
) -> None:
    """A single share of an open finding is its worst; the best comes from the other end (kind = derived)."""
    finding = {"value": value, "capacity": capacity, "utilisation": share, "status": "open"}
    assert open_share(finding) == pytest.approx(expected)


def test_more_than_all_never_reads_as_one_hundred_percent() -> None:
    """Rounding must not turn a failure into a pass, nor a pass into a failure."""
    assert share_text(1.0001, 1.0001) == "101 %"
    assert share_text(1.0, 1.0) == "100 %"
    assert share_text(0.996, 0.996) == "100 %"
    assert share_text(0.4, float("inf")) == "40 % or more"


def test_shares_are_read_from_all_their_shapes() -> None:
    """A number, a range, a pair; nothing else."""
    assert read_share(0.5) == (0.5, 0.5)
    assert read_share({"from": 0.1, "to": 0.4}) == (0.1, 0.4)
    assert read_share([0.1, 0.4]) == (0.1, 0.4)
    assert read_share(None) is None
    assert read_share(True) is None


def test_of_several_limits_on_one_demand_the_hardest_is_shown() -> None:
    """One row for one demand; the row that decides is bold."""
    rows = [
        {"limit": "a", "demand": "joist_spacing", "utilisation": 0.5, "status": "meets"},
        {"limit": "b", "demand": "joist_spacing", "utilisation": 0.8, "status": "meets"},
    ]
    sheet = draw_shares(rows, "b")
    assert words(sheet).count("joist spacing") == 1
    assert "80 %" in words(sheet)
    assert "50 %" not in words(sheet)
    assert next(mark for mark in sheet.texts() if mark.text == "joist spacing").bold


def test_short_chart_keeps_what_decides_and_counts_what_it_leaves_out() -> None:
    """An open limit that decides must not fall off a chart of five rows, nor be called a smaller share."""
    findings = [_finding(f"limit {i}", 0.9 - i / 10) for i in range(7)]
    findings += [_finding("moisture", 12.0, "open"), _finding("age", {"from": 0.5, "to": 3.0}, "open")]
    sheet = draw_shares(findings, "moisture", most_rows=5)
    text = words(sheet)
    assert "moisture" in text
    assert len(paths(sheet, "bar")) == 5
    assert "4 more limits are not shown, 1 of them open." in text
    assert "2 more limits are not shown, all with smaller shares." in words(
        draw_shares(findings[:7], None, most_rows=5)
    )


@pytest.mark.parametrize("width", [90.0, 128.0, 170.0])
def test_words_stay_apart_for_all_shares(width: float) -> None:
    """Values near the line of the limit, far beyond it, and long names."""
    findings = [
        _finding(f"limit number {i} " + "long " * (i % 7), share)
        for i, share in enumerate([0.0, 0.5, 0.9, 0.97, 1.0, 1.03, 1.4, 1.99, 2.5, 40.0])
    ]
    findings.append(_finding("open one", {"from": 0.2, "to": 9.0}, "open"))
    sheet = draw_shares(findings, width_mm=width)
    assert overlaps(sheet) == []
    assert outside(sheet) == []
