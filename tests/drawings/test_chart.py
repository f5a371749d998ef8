"""Line charts: true positions in both units, names that touch nothing, breaks for what is missing."""

from __future__ import annotations

import itertools
import math
import os
import re
import subprocess
import sys
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from drawings.marks import NS, extent, outside, overlaps, parse, paths, words
from undercourse.drawings import Sheet, to_svg
from undercourse.drawings.chart import (
    Axis,
    Chart,
    Level,
    Mark,
    Series,
    Zone,
    chart_svg,
    chart_text,
    draw_chart,
)
from undercourse.drawings.chart_lines import clip_outline, clip_segment, thin_run
from undercourse.drawings.chart_scale import (
    axis_ticks,
    fit_scale,
    linear_ticks,
    log_ticks,
    nice_step,
    number_text,
)
from undercourse.drawings.sheet import Disc, Stroke, Words

NAN = math.nan
SOURCES = str(Path(__file__).resolve().parent.parent)
CELSIUS = ("°C", 5 / 9, -160 / 9)  # NIST SP 811 (2008), appendix B.8
INCHES = Axis("Depth", "in", second=("mm", 25.4, 0.0))
# ISO 717-2 rates impact sound in these 16 third-octave bands, named after ISO 266 (kind = memory).
BANDS = (100, 125, 160, 200, 250, 315, 400, 500, 630, 800, 1000, 1250, 1600, 2000, 2500, 3150)
REFERENCE = (62, 62, 62, 62, 62, 62, 61, 60, 59, 58, 57, 54, 51, 48, 45, 42)  # ISO 717-2, same kind


def _line(name: str = "", **more: object) -> Series:
    return Series(name, (0.0, 1.0, 2.0), (10.0, 20.0, 40.0), **more)  # type: ignore[arg-type]


def _chart(*series: Series, **more: object) -> Chart:
    whole = {"title": "Chart", "x": Axis("Way", "m"), "y": Axis("Load", "N"), "series": series, **more}
    return Chart(**whole)  # type: ignore[arg-type]


def _layers() -> Chart:
    zones = (Zone("Tile", 0.0, 0.375), Zone("Mortar", 0.375, 0.5), Zone("Membrane", 0.5, 0.625))
    zones += (Zone("Plywood, second layer", 0.625, 1.125), Zone("Subfloor", 1.125, 1.875))
    heated = Series("Heating on", (0.0, 0.5, 0.625, 1.875), (82.0, 88.0, 87.0, 74.0), "main")
    winter = Series("Winter, crawl space at freezing", heated.x, (75.0, 81.0, 79.0, 40.0), "dashed")
    limit = Level("Limit of the membrane", 95.0)
    temperature = Axis("Temperature", "°F", second=CELSIUS)
    return Chart("Through the layers", INCHES, temperature, (heated, winter), (), (limit,), zones)


def _impact() -> Chart:
    measured = tuple(70.0 - k for k in range(16))
    curves = (Series("Measured", BANDS, measured, "main"), Series("Reference", BANDS, REFERENCE, "dashed"))
    return Chart("Impact sound", Axis("Band", "Hz", scale="bands"), Axis("Level", "dB"), curves)


def _shrinkage() -> Chart:
    ages = tuple(7.0 * 1.3**k for k in range(22))
    low, high = (tuple(100 * half / (half + age) for age in ages) for half in (35.0, 90.0))
    models = Series("Between the models", ages, low, "quiet", high)
    marks, levels = (
        (Mark("Today, 28 days", 28.0, 60.0),),
        (Level("Allowed", 35.0), Level("Tiling", 60.0, "x")),
    )
    return Chart(
        "Shrinkage left", Axis("Age", "days", scale="log"), Axis("Left", "%"), (models,), marks, levels
    )


CHARTS = {"layers": _layers, "impact": _impact, "shrinkage": _shrinkage}


def _struck(sheet: Sheet) -> list[str]:
    """Names that a line or a leader runs through."""
    found = []
    lines = [
        m for m in sheet.marks if isinstance(m, Stroke) and m.name in {"leader", "series", "level", "edge"}
    ]
    for text in sheet.texts():
        left, top, right, bottom = text.box()
        core = (left + 0.2, top + 0.35, right - 0.2, bottom - 0.3)
        for line in lines:
            cuts = (clip_segment(a, b, core) for a, b in itertools.pairwise(line.points))
            if any(cut and math.dist(*cut) > 0.3 for cut in cuts):
                found.append(text.text)
    return found


# Ticks


@given(st.floats(-1e6, 1e6), st.floats(1e-6, 1e6), st.integers(2, 8))
def test_linear_ticks_are_few_round_and_inside(low: float, span: float, most: int) -> None:
    """1, 2, 2.5 or 5 times a power of ten (common practice, no source), at least two, labels exact."""
    assume(span > 1e-8 * abs(low))  # nearer ends count as one value
    ticks = linear_ticks(low, low + span, most)
    values = [value for value, _ in ticks]
    assert 2 <= len(ticks) <= max(most + 1, 5)
    slack = 1e-5 * span
    assert all(low - slack <= value <= low + span + slack for value in values)
    exact = [Decimal(label.replace(",", "").replace("−", "-")) for _, label in ticks]
    assert [float(number) for number in exact] == pytest.approx(values, abs=1e-12)
    steps = {b - a for a, b in itertools.pairwise(exact)}
    assert len(steps) == 1
    step = steps.pop()
    assert step.normalize().as_tuple().digits in {(1,), (2,), (2, 5), (5,)}
    assert all(number % step == 0 for number in exact)


@given(st.floats(1e-9, 1e9), st.integers(2, 8))
def test_nice_step_is_the_smallest_that_fits(span: float, most: int) -> None:
    """At most so many steps; a step two and a half times smaller would be too many."""
    step = nice_step(span, most)
    assert span / step <= most * (1 + 1e-6)
    assert span / (step / 2.5) > most * (1 - 1e-6)


@given(st.floats(1e-6, 1e6), st.floats(1.5, 1e9), st.integers(2, 8))
def test_log_ticks_are_inside_and_rise(low: float, factor: float, most: int) -> None:
    """Few, positive, in order; whole powers of ten among them where the axis spans some."""
    values = [value for value, _ in log_ticks(low, low * factor, most)]
    assert 2 <= len(values) <= max(most + 1, 5) or factor < 10
    assert values == sorted(values)
    assert all(low * 0.999 <= value <= low * factor * 1.001 for value in values)
    if factor > 200:
        assert any(math.isclose(math.log10(v), round(math.log10(v)), abs_tol=1e-9) for v in values)


@given(st.floats(-1e12, 1e12))
def test_numbers_never_have_an_exponent(value: float) -> None:
    """1e-05 is for programs."""
    assert re.fullmatch(r"−?[\d,]+(\.\d+)?", number_text(value))


@given(st.lists(st.floats(-1e9, 1e9), max_size=6), st.booleans(), st.integers(2, 6))
def test_free_scale_holds_all_values_between_round_ends(
    values: list[float], rounded: bool, most: int
) -> None:
    """Rounded ends carry a tick each."""
    scale = fit_scale(Axis("y"), values, most, rounded=rounded)
    assert scale.low < scale.high
    assert all(-1e-6 <= scale.share(value) <= 1 + 1e-6 for value in values)
    if rounded:
        shares = [scale.share(value) for value, _ in axis_ticks(Axis("y"), scale, most)]
        assert (shares[0], shares[-1]) == pytest.approx((0.0, 1.0), abs=1e-5)


def test_given_ends_and_ticks_are_kept() -> None:
    """The caller's word counts: 16 and 19.2 in on centers are the trade's own numbers."""
    ticks = ((12.0, "12"), (16.0, "16"), (19.2, "19.2"), (24.0, "24"), (30.0, "30"))
    axis = Axis("Spacing", "in", 12, 24, ticks=ticks)
    scale = fit_scale(axis, [13.0, 40.0], 5, rounded=True)
    assert (scale.low, scale.high) == (12, 24)
    assert [label for _, label in axis_ticks(axis, scale, 5)] == ["12", "16", "19.2", "24"]


# Positions


def _place(sheet: Sheet, label: str, *, upright: bool) -> float:
    """Where the tick of a number stands: of all short strokes of that direction the nearest to the number."""
    ticks = [m.points for m in sheet.marks if isinstance(m, Stroke) and not m.name and len(m.points) == 2]
    ticks = [t for t in ticks if (t[0][1] == t[1][1]) == upright and math.dist(*t) < 2]
    boxes = [text.box() for text in sheet.texts() if text.text == label]
    found = []
    for left, top, right, bottom in boxes:
        for tick in ticks:
            x, y = tick[1]
            way = max(left - x, x - right, 0.0), max(top - y, y - bottom, 0.0)
            found.append((math.hypot(*way), tick[1][1 if upright else 0]))
    return min(found)[1]


def test_points_lie_where_the_numbers_say() -> None:
    """Straight scales: a value half way between two numbers lies half way between their ticks."""
    sheet = draw_chart(_chart(_line("a", style="main")))
    (line,) = paths(sheet, "series")
    zero, two = (_place(sheet, label, upright=False) for label in ("0.5", "1.5"))
    ten, forty = (_place(sheet, label, upright=True) for label in ("10", "40"))
    for (x, y), (way, load) in zip(line, [(0.0, 10.0), (1.0, 20.0), (2.0, 40.0)], strict=True):
        assert x == pytest.approx(zero + (way - 0.5) * (two - zero), abs=0.01)
        assert y == pytest.approx(ten + (load - 10) / 30 * (forty - ten), abs=0.01)


def test_second_unit_stands_beside_the_first() -> None:
    """50 °F is 10 °C, 104 °F is 40 °C; 1 in is 25.4 mm (NIST SP 811, appendix B.8; kind = derived)."""
    series = Series("a", (0.0, 3.0), (32.0, 104.0))
    sheet = draw_chart(Chart("", INCHES, Axis("Temperature", "°F", 32, 104, second=CELSIUS), (series,)))
    (line,) = paths(sheet, "series")
    _, high, right, low = extent(line)
    assert _place(sheet, "10", upright=True) == pytest.approx(low + (high - low) * 18 / 72, abs=0.01)
    left = line[0][0]
    assert _place(sheet, "20", upright=False) == pytest.approx(left + (right - left) * 20 / 76.2, abs=0.01)
    assert {"[°C]", "[°F]", "mm", "[in]"} <= set(words(sheet))


def test_decades_of_a_log_scale_are_of_one_length() -> None:
    """1, 10, 100 and 1,000 stand equally far apart."""
    series = Series("a", (1.0, 10.0, 100.0, 1000.0), (0.0, 1.0, 4.0, 9.0))
    sheet = draw_chart(_chart(series, x=Axis("Age", "days", scale="log")))
    (line,) = paths(sheet, "series")
    steps = [b[0] - a[0] for a, b in itertools.pairwise(line)]
    assert steps == pytest.approx([steps[0]] * 3, abs=0.01)
    places = [_place(sheet, label, upright=False) for label in ("10", "100")]
    assert places == pytest.approx([line[1][0], line[2][0]], abs=0.01)
    both = draw_chart(
        _chart(_line(), Series("b", (0.0, -1.0, 5.0), (1.0, 2.0, 3.0)), x=Axis("", scale="log"))
    )
    assert len(paths(both, "series")) == 1  # what has no logarithm leaves a gap, of b one point


def test_bands_have_equal_room_and_a_sign_each() -> None:
    """16 third-octave bands (ISO 717-2); octave bands carry their number where not all fit."""
    sheet = draw_chart(_impact())
    signs = sorted({round(mark.at[0], 3) for mark in sheet.marks if isinstance(mark, Disc)})
    assert len(signs) == 16
    steps = [b - a for a, b in itertools.pairwise(signs)]
    assert steps == pytest.approx([steps[0]] * 15, abs=0.01)
    assert {"125", "250", "500", "1,000", "2,000"} <= set(words(sheet))


def test_layers_are_as_wide_as_they_are_thick() -> None:
    """Every other layer is shaded, in proportion, and all are named."""
    sheet = draw_chart(_layers())
    shaded = [extent(points) for points in paths(sheet, "zone")]
    (frame,) = [extent(line) for line in paths(sheet, "axis") if len(line) == 3]
    inch = (frame[2] - frame[0]) / 1.875
    assert [(b[2] - b[0]) / inch for b in shaded] == pytest.approx([0.125, 0.5], abs=0.01)
    text = " ".join(words(sheet))
    assert all(zone.name in text for zone in _layers().zones)


def test_line_beyond_the_frame_is_cut_at_it() -> None:
    """Fixed ends: nothing is drawn outside, and the cut lies on the line."""
    sheet = draw_chart(_chart(Series("a", (0.0, 4.0), (0.0, 40.0)), y=Axis("Load", "N", 0, 10)))
    (line,) = paths(sheet, "series")
    (frame,) = [extent(points) for points in paths(sheet, "axis") if len(points) == 3]
    assert line[-1] == pytest.approx((frame[0] + (frame[2] - frame[0]) / 4, frame[1]), abs=0.01)


def test_missing_number_breaks_the_line() -> None:
    """A gap is not bridged, not zero; a lone point between gaps is a dot."""
    series = Series("a", (0, 1, 2, 3, 4, 5, 6), (1.0, 2.0, NAN, 2.0, NAN, math.inf, 1.5), "main")
    sheet = draw_chart(_chart(series))
    assert len(paths(sheet, "series")) == 1
    assert len([mark for mark in sheet.marks if isinstance(mark, Disc)]) == 2
    assert "It has gaps." in chart_text(_chart(series))


def test_band_fills_between_its_edges_and_breaks_with_them() -> None:
    """What is open is drawn as wide as it is."""
    series = Series("a", (0.0, 1.0, 2.0, 3.0), (1.0, 1.0, NAN, 1.0), "quiet", (3.0, 2.0, 2.0, 2.0))
    sheet = draw_chart(_chart(series))
    (band,) = paths(sheet, "band")
    assert len(band) == 4
    assert extent(band)[3] - extent(band)[1] > 0


def test_point_beyond_the_scales_is_said_to_be() -> None:
    """A point drawn at the edge must not pass for one that lies there."""
    chart = _chart(_line(), marks=(Mark("This job", 1.0, 90.0),), y=Axis("Load", "N", 0, 40))
    assert "This job, beyond this chart" in " ".join(words(draw_chart(chart)))


@given(
    st.tuples(*[st.floats(-20, 20)] * 4),
    st.floats(0.0, 1.0),
)
def test_clipped_segment_holds_exactly_what_lies_inside(ends: tuple[float, ...], share: float) -> None:
    """Any point of a segment is in the clipped part if and only if it is in the box (kind = derived)."""
    start, end, box = ends[:2], ends[2:], (-5.0, -7.0, 6.0, 8.0)
    point = tuple(a + share * (b - a) for a, b in zip(start, end, strict=True))
    inside = box[0] <= point[0] <= box[2] and box[1] <= point[1] <= box[3]
    near = min(abs(point[k % 2] - box[k]) for k in range(4)) < 1e-6
    cut = clip_segment((start[0], start[1]), (end[0], end[1]), box)
    length = math.dist(start, end)
    if near or length < 1e-6:
        return
    held = cut is not None and math.dist(cut[0], point) + math.dist(cut[1], point) <= math.dist(*cut) + 1e-6
    assert held == inside


def test_outline_clipping_agrees_with_a_geometry_library() -> None:
    """Areas as Shapely finds them."""
    from shapely.geometry import Polygon, box

    outline = ((-3.0, 2.0), (4.0, 9.0), (12.0, 3.0), (5.0, -4.0), (4.0, 3.0))
    ours = Polygon(clip_outline(outline, (0.0, 0.0, 10.0, 7.0)))
    assert ours.area == pytest.approx(Polygon(outline).intersection(box(0, 0, 10, 7)).area)


def test_thinned_line_stays_within_two_hundredths_of_a_millimetre() -> None:
    """Fewer corners, the same line; distances by Shapely."""
    from shapely.geometry import LineString

    run = tuple((x / 50, 20 * math.sin(x / 300)) for x in range(5000))
    thin = thin_run(run)
    assert len(thin) < 300
    assert LineString(run).hausdorff_distance(LineString(thin)) <= 0.0201


# Names


@st.composite
def random_charts(draw: st.DrawFn) -> tuple[Chart, float, float]:
    """Charts of any kind, size and unruliness."""
    number = st.one_of(st.floats(-3, 3), st.floats(-3, 3), st.just(NAN)).map(lambda v: round(v, 3))
    names = st.sampled_from(
        ["", "Tile", "With membrane", "No membrane at all, and wet", "L/360", "Reference curve, shifted"]
    )
    scale = draw(st.sampled_from(["linear", "log", "bands"]))
    size = 10.0 ** draw(st.integers(-4, 5))
    xs = BANDS if scale == "bands" else tuple(0.5 + 1.7 * k for k in range(draw(st.integers(1, 14))))
    series = []
    for _ in range(draw(st.integers(1, 5))):
        ys = draw(st.lists(number, min_size=len(xs), max_size=len(xs)))
        style = draw(st.sampled_from(["main", "plain", "quiet", "dashed"]))
        edge = tuple((y + 1) * size for y in ys) if draw(st.booleans()) else None
        series.append(Series(draw(names), xs, tuple(y * size for y in ys), style, edge))
    marks = [
        Mark(draw(names), draw(st.sampled_from(xs)), draw(number) * size)
        for _ in range(draw(st.integers(0, 2)))
    ]
    axes = st.sampled_from(["x", "y"])
    levels = [
        Level(draw(names), xs[0] * 1.1 if axis == "x" else draw(number) * size, axis)
        for axis in draw(st.lists(axes, max_size=3))
    ]
    ends = list(itertools.accumulate(draw(st.lists(st.floats(0.2, 6.0), max_size=7)), initial=0.5))
    zones = [Zone(draw(names), a, b) for a, b in itertools.pairwise(ends)] if scale != "bands" else []
    second = ("mm", 25.4, 0.0) if draw(st.booleans()) else None
    x = Axis(draw(names), "in", scale=scale, second=second)
    y = Axis(draw(names), "°F", second=CELSIUS if draw(st.booleans()) else None)
    chart = Chart(draw(names), x, y, tuple(series), tuple(marks), tuple(levels), tuple(zones), draw(names))
    return chart, draw(st.sampled_from([0.06, 0.09, 0.17])), draw(st.sampled_from([0.04, 0.07]))


@settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
@given(random_charts())
def test_names_touch_nothing_and_stay_on_the_sheet(drawn: tuple[Chart, float, float]) -> None:
    """Boxes by the advance widths of the shipped face: no two overlap, no line runs through one."""
    sheet = draw_chart(*drawn)
    assert overlaps(sheet) == []
    assert outside(sheet) == []
    assert _struck(sheet) == []
    assert to_svg(sheet) == to_svg(draw_chart(*drawn))


@pytest.mark.parametrize("name", CHARTS)
@pytest.mark.parametrize("width", [0.08, 0.128, 0.17])
def test_every_name_is_written_out(name: str, width: float) -> None:
    """No legend and nothing left to guess: each line, point, limit and layer has its words on the sheet."""
    chart = CHARTS[name]()
    sheet = draw_chart(chart, width, 0.08)
    text = " ".join(words(sheet))
    for part in (*chart.series, *chart.marks, *chart.levels, *chart.zones):
        assert all(word in text for word in part.name.split()), part.name
    assert overlaps(sheet) == []
    assert outside(sheet) == []
    assert _struck(sheet) == []


def test_lines_of_one_style_differ_by_signs() -> None:
    """WCAG 1.4.1 (W3C): colour is never the only means; here there is none."""
    rising = [Series(f"s{k}", (0.0, 1.0), (0.0, 1.0 + k)) for k in range(4)]
    sheet = draw_chart(_chart(*rising))
    rings = [mark.hollow for mark in sheet.marks if isinstance(mark, Disc)]
    assert rings.count(False) == rings.count(True) > 2
    assert len(paths(sheet, "sign")) == rings.count(True)
    assert set(re.findall(r"#[0-9a-fA-F]{3,8}", to_svg(sheet).decode())) <= {"#23272b", "#ffffff"}


# Words


def test_text_says_each_line_in_a_sentence_and_both_units() -> None:
    """What an eye reads off: ends, extremes, limits (95 °F is 35 °C, by definition)."""
    text = chart_text(_layers())
    sheet = draw_chart(_layers())
    assert sheet.description == text
    assert text.startswith("Through the layers. Depth [in, mm] runs across, Temperature [°F, °C] upward.")
    assert "Heating on: falls from 82 °F (27.8 °C) at 0 in (0 mm) to 74 °F" in text
    assert "highest 88 °F (31.1 °C) at 0.5 in (12.7 mm)" in text
    assert "Limit of the membrane: 95 °F (35 °C)." in text
    assert "Membrane: from 0.5 in (12.7 mm) to 0.625 in (15.9 mm)." in text
    band = chart_text(_shrinkage())
    assert "Between the models: from 83.3 % to 92.8 % at 7 days, and from" in band
    assert "Today, 28 days: 60 % at 28 days." in band


def test_svg_names_itself_and_holds_nothing_active() -> None:
    """WCAG 1.1.1: a text alternative; XML 1.0: odd characters escaped or left out."""
    odd = 'A <b> & "c"\x00\x07 漢'
    chart = _chart(
        _line(odd),
        title=odd,
        marks=(Mark(odd, 1, 20),),
        levels=(Level(odd, 15),),
        zones=(Zone(odd, 0, 1),),
        note=odd,
    )
    root = parse(draw_chart(chart))
    assert root.get("role") == "img"
    assert [child.tag for child in list(root)[:2]] == [f"{NS}title", f"{NS}desc"]
    assert root[0].text == 'A <b> & "c" 漢'
    assert all(
        e.tag.removeprefix(NS) in {"svg", "title", "desc", "path", "circle", "text"} for e in root.iter()
    )
    assert "<b>" not in chart_svg(chart)


@pytest.mark.parametrize("name", CHARTS)
def test_same_chart_gives_same_bytes(name: str) -> None:
    """Papers are hashed and given again years later."""
    assert chart_svg(CHARTS[name]()) == chart_svg(CHARTS[name]())


def test_bytes_do_not_depend_on_the_hash_seed() -> None:
    """Sets of names must not leak their order into a chart: another process has another seed."""
    program = (
        f"import sys; sys.path.insert(0, {SOURCES!r}); from drawings.test_chart import CHARTS, chart_svg;"
        "sys.stdout.buffer.write(''.join(chart_svg(c(), 0.08) for c in CHARTS.values()).encode())"
    )
    seed = "1" if os.environ.get("PYTHONHASHSEED") != "1" else "2"
    environment = {**os.environ, "PYTHONHASHSEED": seed}
    told = subprocess.run([sys.executable, "-c", program], env=environment, capture_output=True, check=True)
    assert told.stdout.decode() == "".join(chart_svg(make(), 0.08) for make in CHARTS.values())


# Little or odd data


@pytest.mark.parametrize(
    "chart",
    [
        _chart(),
        _chart(Series("a", (), ())),
        _chart(Series("a", (0.0, 1.0), (NAN, math.inf)), levels=(Level("Limit", 3.0),)),
        _chart(Series("a", (-1.0, 0.0), (1.0, 2.0)), x=Axis("", scale="log")),
    ],
    ids=["nothing", "no points", "no numbers", "no logarithms"],
)
def test_nothing_to_show_says_so(chart: Chart) -> None:
    """An empty frame would look like an answer."""
    assert any(text.startswith("Nothing to show") for text in words(draw_chart(chart)))
    assert "Nothing to show" in chart_text(chart)
    assert outside(draw_chart(chart)) == []


@pytest.mark.parametrize(
    "chart",
    [
        _chart(Series("one", (1.0,), (2.0,))),
        _chart(Series("zero", (0.0,), (0.0,))),
        _chart(Series("flat", (0.0, 1.0), (5.0, 5.0))),
        _chart(Series("upright", (1.0, 1.0), (0.0, 5.0))),
        _chart(Series("tiny", (0.0, 1e-9), (0.0, 1e-11))),
        _chart(Series("huge", (0.0, 1e11), (-1e12, 1e12))),
        _chart(Series("beside", (1e9, 1e9 + 1e-7), (1.0, 1.0 + 1e-15))),
        _chart(marks=(Mark("only a point", 1.0, 1.0),)),
        _chart(_line("a"), y=Axis("", low=40, high=40)),
        _chart(_line("a"), y=Axis("", low=50)),
        _chart(_line("a"), y=Axis("", high=-50)),
        _chart(_line("a"), y=Axis("", low=NAN, high=math.inf)),
        _chart(_line("a"), y=Axis("", low=30, high=10)),
        _chart(_line("a"), y=Axis("", ticks=())),
        _chart(
            _line("a"), x=Axis("", ticks=((1.0, "one"), (1.01, "just beside one"), (1.02, "and another")))
        ),
        _chart(_line("a"), y=Axis("", second=("none", 0.0, 0.0))),
        _chart(_line("a"), y=Axis("", second=("not", NAN, 0.0))),
        _chart(_line("a"), y=Axis("", second=("down", -1.0, 0.0))),
        _chart(_line("a"), x=Axis("", scale="log", low=-3.0, high=0.0)),
        _chart(_line("a"), zones=(Zone("thin", 1.0, 1.0), Zone("back", 2.0, 1.0), Zone("not", NAN, 1.0))),
        _chart(_line("a"), levels=(Level("not", NAN), Level("far", math.inf, "x"))),
        _chart(_line("a"), marks=(Mark("not", NAN, 1.0),)),
        _chart(
            _line("word " * 60), title="long " * 60, note="note " * 90, y=Axis("axis " * 60, "unit " * 30)
        ),
        _chart(_line("x" * 200), levels=(Level("y" * 200, 1.0, "x"),)),
        _chart(*[_line(f"the same line, number {k}") for k in range(12)]),
    ],
    ids=lambda chart: (chart.series[0].name[:12] if chart.series else "mark") or None,
)
def test_odd_data_are_drawn_without_overlap(chart: Chart) -> None:
    """Degenerate scales, repeated points, senseless ends: a chart all the same, sound and readable."""
    sheet = draw_chart(chart)
    parse(sheet)
    assert overlaps(sheet) == []
    assert outside(sheet) == []
    assert not re.search(r"\d[eE][+-]?\d", " ".join([*words(sheet), chart_text(chart)]))
    assert "nan" not in to_svg(sheet).decode().replace("nand", "")


def test_columns_of_unlike_length_are_refused() -> None:
    """A shifted column would draw a wrong line without a word."""
    with pytest.raises(ValueError, match="one length"):
        Series("a", (0.0, 1.0), (1.0,))


def test_small_sheet_grows_until_the_words_fit() -> None:
    """Five names beside a plot one finger high."""
    lines = [Series(f"A membrane with a long name, {k}", (0.0, 1.0), (0.0, 1.0)) for k in range(8)]
    sheet = draw_chart(_chart(*lines), 0.06, 0.02)
    assert sheet.height > 60
    assert overlaps(sheet) == []
    assert outside(sheet) == []
    assert sum(isinstance(mark, Words) for mark in sheet.marks) > 16
