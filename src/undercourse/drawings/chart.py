"""Line charts: the limit a line, the job a point, what is open a band; names at the lines, not in a legend.

Lines of one kind differ by their signs, never by a hue, so a chart reads the same on grey paper.
"""

from __future__ import annotations

from undercourse.drawings.chart_frame import LOWEST_MM, NARROWEST_MM
from undercourse.drawings.chart_names import settle_names
from undercourse.drawings.chart_parts import Axis, Chart, Level, Mark, Series, Zone
from undercourse.drawings.chart_rulers import grid_marks, scale_marks
from undercourse.drawings.chart_series import band_marks, level_marks, series_marks, zone_marks
from undercourse.drawings.chart_words import NOTHING, chart_text, has_points
from undercourse.drawings.lettering import NORMAL, SMALL, wrap_text
from undercourse.drawings.sheet import Disc, Sheet, Words
from undercourse.drawings.svg import to_svg

__all__ = ["Axis", "Chart", "Level", "Mark", "Series", "Zone", "chart_svg", "chart_text", "draw_chart"]


def draw_chart(chart: Chart, width_m: float = 0.17, height_m: float = 0.09) -> Sheet:
    """A line chart on a sheet.

    Parameters
    ----------
    chart : Chart
        What to show, in the units that are shown.
    width_m, height_m : float
        Size on paper; grows where the words need more. [m]

    Returns
    -------
    Sheet
        Lines are paths of class ``series``, limits and means of class ``level``, layers of class ``zone``.
    """
    width, height = max(width_m * 1000, NARROWEST_MM), max(height_m * 1000, LOWEST_MM)
    if not has_points(chart):
        return _draw_nothing(chart, width)
    frame, entries, places = settle_names(chart, width, height)
    sheet = Sheet(chart.title or "Chart", chart_text(chart), frame.width, frame.height)
    sheet.add(*frame.head, *zone_marks(chart, frame), *band_marks(chart, frame))
    names = [place.box for place in places.values() if place.box[0] < frame.box[2]]
    sheet.add(*grid_marks(chart, frame, names), *scale_marks(chart, frame), *level_marks(chart, frame))
    sheet.add(*series_marks(chart, frame))
    sheet.add(*frame.strip.marks(frame.box[1]))
    for entry in entries:
        if entry.key in places:
            sheet.add(*places[entry.key].marks(entry.block))
    for entry in entries:
        if entry.is_mark:
            sheet.add(Disc(entry.end, 1.5, hollow=True), Disc(entry.end, 0.8))
    return sheet


def chart_svg(chart: Chart, width_m: float = 0.17, height_m: float = 0.09) -> str:
    """The chart as SVG text, ready to stand in a page or a paper."""
    return to_svg(draw_chart(chart, width_m, height_m)).decode()


def _draw_nothing(chart: Chart, width: float) -> Sheet:
    sheet = Sheet(chart.title or "Chart", chart_text(chart), width)
    y = 0.0
    for line in wrap_text(chart.title, width, NORMAL, bold=True):
        y += NORMAL * 1.25
        sheet.add(Words((0, y - 0.8), line, NORMAL, bold=True))
    for text in (NOTHING, chart.note):
        for line in wrap_text(text, width, SMALL):
            y += SMALL * 1.3
            sheet.add(Words((0, y), line, SMALL, soft=True))
    sheet.height = y + 1.5
    return sheet
