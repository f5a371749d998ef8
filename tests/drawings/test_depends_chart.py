"""The chart of two numbers that decide together: derived, from the entry that it is drawn of."""

from __future__ import annotations

import pytest

from undercourse.drawings.chart import chart_svg, draw_chart
from undercourse.drawings.depends_chart import HEIGHT_M, WIDTH_M, draw_depends

ENTRY = {
    "fact": "joist_span",
    "label": "joist span",
    "with": "joist_spacing",
    "with_label": "joist spacing",
    "curve": [[12.0, 206.25], [16.0, 178.5], [19.2, 163.0]],
    "curve_units": ["in", "in"],
    "side": "up to",
}
THIRD = {
    "fact": "live_load",
    "label": "live load",
    "at": "50 psf (2.39 kPa)",
    "curve": [[12.0, 190.0], [16.0, 160.0]],
}


def test_points_stand_where_the_entry_has_them() -> None:
    """Spans in feet, spacings in inches, each with the metric scale beside it."""
    chart = draw_depends(ENTRY)
    assert chart is not None
    assert (chart.x.unit, chart.y.unit) == ("in", "ft")
    assert chart.x.second is not None
    assert chart.x.second[:2] == ("mm", pytest.approx(25.4))
    (line,) = chart.series
    assert line.x == pytest.approx([12.0, 16.0, 19.2])
    assert line.y == pytest.approx([206.25 / 12, 178.5 / 12, 163.0 / 12])
    assert line.style == "main"
    assert chart.title == "Joist span by joist spacing"


def test_the_third_number_is_a_line_of_its_own() -> None:
    """With another number at its hard end, named by it."""
    chart = draw_depends({**ENTRY, "third": THIRD})
    assert chart is not None
    assert [line.name for line in chart.series][1] == "live load 50 psf (2.39 kPa)"
    assert "below" in chart.series[0].name
    other = draw_depends({**ENTRY, "side": "at least"})
    assert other is not None
    assert "above" in other.series[0].name


def test_it_can_be_drawn_small_and_only_where_there_is_a_curve() -> None:
    """As SVG of the given size or a little more; an entry of one fact has none."""
    chart = draw_depends({**ENTRY, "third": THIRD})
    assert chart is not None
    assert draw_chart(chart, WIDTH_M, HEIGHT_M).width >= WIDTH_M * 1000
    assert chart_svg(chart, WIDTH_M, HEIGHT_M).startswith("<svg")
    assert draw_depends({name: value for name, value in ENTRY.items() if name != "curve"}) is None


def test_a_unit_without_a_pair_is_shown_as_it_is() -> None:
    """Counts have no unit on their axis."""
    chart = draw_depends({**ENTRY, "curve_units": ["count", "in"]})
    assert chart is not None
    assert chart.x.unit == ""
    assert chart.series[0].x == (12.0, 16.0, 19.2)
