"""Charts of demands: each of the six for a floor that suits, the floor on its curve, limits where they are.

Outside sources stand beside each check: span tables of the building code, the rule of ISO 717-2, the balance
of heat, the mean of a Fourier series, ACI 209.2R-08. Units by NIST SP 811 (2008), appendix B.8.
"""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from tests.demands.concrete import C1, C1_FLOOR, tables
from tests.demands.site import BOOK, frame

from drawings.marks import outside, overlaps
from undercourse.advise.area_sheets import area_sheets
from undercourse.advise.evaluating import evaluate
from undercourse.base.columns import NumberColumn
from undercourse.base.domains import read_spec
from undercourse.base.paired import PAIRS
from undercourse.demands import DEMANDS
from undercourse.drawings.chart import Chart, Series, draw_chart
from undercourse.drawings.demand_chart_parts import ChartInput, Compared
from undercourse.drawings.demand_charts import DRAWN, MOST_CHARTS, area_charts, chart_input, chart_of
from undercourse.drawings.demand_charts_along import ALONG
from undercourse.drawings.demand_charts_sound import READ_AT_HZ
from undercourse.facts.jobs import Area, Reading

MPA_PSI, W_FT2, FOOT = 145.0377, 0.3048**2, 0.3048

# A kitchen of the code's own table: 40 psf live, 10 psf dead, no tile yet.
JOISTS: dict[str, Any] = {
    "base": "sawn joists",
    "joist_species": "DF-L",
    "joist_grade": "No.2",
    "joist_size": "2x10",
    "joist_plies": "1",
    "joist_sister_size": "none",
    "joist_wet_service": "no",
    "joist_spans": "1",
    "joist_spacing": "16 in",
    "joist_span": "13 ft 2 in",
    "live_load": "40 psf",
    "existing_dead_load": "10 psf",
    "finish": "ceramic",
    "tile_thickness": "3/8 in",
    "layers_weight": "0 lb/ft2",
}
HEATED: dict[str, Any] = {
    "base": "slab on ground",
    "heating": "electric cable",
    "heating_position": "in the membrane",
    "heating_spacing": "3 in",
    "heating_power": "12 W/ft2",
    "heating_sensor_limit": "84 F",
    "room_temperature": "70 F",
    "finish": "porcelain",
    "tile_thickness": "3/8 in",
    "rug_resistance": "0 m2K/W",
    "space_below": "ground",
    "floor_insulation": "1.5 m2K/W",
    "ground_floor_width": "8 m",
    "room": "bathroom",
    "jurisdiction": "US",
    "heat_asked": "60 W/m2",
    "heated_share": "70 %",
    "above_membrane_resistance": "0.004..0.006 m2K/W",
    "above_membrane_height": "1/8..1/4 in",
    "membrane_thermal_resistance": "0.014 m2K/W",
    "membrane_thickness": "6 mm",
    "below_membrane_resistance": "0.002..0.003 m2K/W",
}
CRACKED: dict[str, Any] = {
    "crack_growth": "0.02 in",
    "tile_long_edge": "24 in",
    "tile_thickness": "3/8 in",
    "finish": "porcelain",
    "tile_absorption": "0.4 %",
}
SOFT: dict[str, Any] = {
    "membrane_shear_stiffness": "0.06 N/mm3",
    "membrane_shear_yield": "0.13 MPa",
    "membrane_tested_opening": "1/16 in",
    "membrane_tested_tile_edge": "12 in",
    "membrane_tested_tile_thickness": "5/16 in",
}
STIFF = {**SOFT, "membrane_shear_stiffness": "0.2 N/mm3", "membrane_tested_opening": "1/8 in"}
SLAB: dict[str, Any] = {
    "base": "slab on ground",
    "slab_thickness": "5 in",
    "slab_drying_faces": "1",
    "service_humidity": "50 %",
    "slab_age": "90 day",
    "slab_strength": "4000 psi",
}


def limit(side: str, value: float, text: str) -> dict[str, Any]:
    return {"at_most": None, "at_least": None, side: value, "capacity_text": text}


def given(floor: dict[str, Any], *limits: dict[str, Any], **changed: Any) -> ChartInput:
    own = frame(**{**floor, **changed})
    return ChartInput(own, BOOK, limits, (Compared("own", own),))


def drawn(name: str, what: ChartInput) -> Chart:
    found = chart_of(name, what)
    assert found is not None, name
    return found


def named(chart: Chart, name: str) -> Series:
    return next(one for one in chart.series if one.name == name)


def main(chart: Chart) -> Series:
    return next(one for one in chart.series if one.style == "main")


def level(chart: Chart, name: str) -> float:
    return next(one.value for one in chart.levels if one.name == name)


def at(series: Series, x: float) -> float:
    return float(np.interp(x, series.x, series.y))


def known(series: Series) -> np.ndarray:
    values = np.array(series.y)
    return values[np.isfinite(values)]


def rises(series: Series, sign: float = 1.0) -> bool:
    steps = sign * np.diff(known(series))
    return bool((steps >= -1e-9 * np.max(np.abs(known(series)))).all()) and bool(steps.sum() > 0)


LIMITED = given(JOISTS, limit("at_most", 1 / 360, "at most L/360"))
SUITABLE: dict[str, tuple[str, ChartInput]] = {
    "allowable span": ("joist_allowable_span", given(JOISTS)),
    "span at a limit": ("joist_live_deflection", LIMITED),
    "through the layers": ("heat_down_share", given(HEATED)),
    "across the cables": ("heat_surface_peak_held", given(HEATED)),
    "cracks": ("crack_tile_stress", given({**CRACKED, **SOFT})),
    "shrinkage": ("slab_remaining_shrinkage", given(SLAB)),
    "impact sound": (
        "covered_slab_impact_level",
        replace(given({}), product=BOOK.line.products["hayloft-sound"]),
    ),
}


@pytest.mark.parametrize("kind", SUITABLE)
def test_each_chart_exists_and_its_names_stand_free(kind: str) -> None:
    """Every kind is drawn for a floor that suits; no lettering overlaps or leaves the sheet."""
    sheet = draw_chart(drawn(*SUITABLE[kind]))
    assert overlaps(sheet) == []
    assert outside(sheet) == []


@pytest.mark.parametrize("name", DEMANDS)
def test_nothing_known_draws_nothing(name: str) -> None:
    """Of a floor that nothing is known of there is no chart, whatever the demand."""
    assert chart_of(name, given({})) is None


@pytest.mark.parametrize("name", ALONG)
def test_demand_is_drawn_along_a_number_that_moves_it(name: str) -> None:
    """The number is one that the demand declares to read, and its unit measures what the number is."""
    along = ALONG[name]
    demand = DEMANDS[name]
    assert along.fact in {**demand.reads, **demand.takes}
    domain = BOOK.domains[along.fact]
    assert domain.unit is not None
    ends = (
        end * PAIRS[along.unit].us_factor + PAIRS[along.unit].us_offset for end in (along.low, along.high)
    )
    low, high = ends
    assert domain.low <= low < high
    assert low < domain.high
    if along.fact in demand.notation:
        units = {demand.notation[along.fact].unit, along.unit}
        assert len(units) == 1 or units == {"m", "mm"}


# Spans


@pytest.mark.parametrize(
    ("size", "spacing", "species", "feet", "inches"),
    [
        # IRC 2015 to 2021, Table R502.3.1(2), No.2, as printed on a carpentry reference page (published).
        ("2x10", "16 in", "DF-L", 15, 7),
        ("2x8", "12 in", "SPF", 13, 6),
        ("2x12", "24 in", "HF", 14, 4),
    ],
)
def test_allowable_span_is_that_of_the_code(
    size: str, spacing: str, species: str, feet: int, inches: int
) -> None:
    """The point on the curve is the table's cell, and the curve passes it within half an inch."""
    weightless = replace(BOOK.tables, tile_density={**BOOK.tables.tile_density, "ceramic": (0.0, 0.0)})
    floor = given(JOISTS, joist_size=size, joist_spacing=spacing, joist_species=species)
    chart = drawn("joist_allowable_span", replace(floor, book=replace(BOOK, tables=weightless)))
    allowed = next(mark for mark in chart.marks if mark.name.startswith("allowed"))
    assert allowed.y * 12 == pytest.approx(12 * feet + inches, abs=1e-6)
    assert at(main(chart), allowed.x) * 12 == pytest.approx(12 * feet + inches, abs=0.5001)
    own = next(mark for mark in chart.marks if mark.name.startswith("this floor"))
    assert (own.x, own.y) == pytest.approx((float(spacing.removesuffix(" in")), 13 + 2 / 12))
    assert rises(main(chart), -1)


def test_deflection_limit_is_a_line_of_the_cube_root() -> None:
    """5 w L^4 / (384 E I) with w in proportion to spacing: the span at L/360 goes with spacing^(-1/3)."""
    line = main(drawn("joist_live_deflection", LIMITED))
    x, y = np.array(line.x), np.array(line.y)
    np.testing.assert_allclose(y, y[0] * (x / x[0]) ** (-1 / 3), rtol=1e-6)


@pytest.mark.parametrize(
    ("name", "bound", "text"),
    [
        ("joist_live_deflection", 1 / 480, "at most L/480"),
        ("joist_total_deflection", 1 / 240, "at most L/240"),
        ("joist_bending", 1.0, "at most 100 %"),
    ],
)
def test_span_at_limit_reaches_the_limit(name: str, bound: float, text: str) -> None:
    """A floor of the spacing and span of any point on the line is just at its limit."""
    floor = given(JOISTS, limit("at_most", bound, text))
    line = main(drawn(name, floor))
    for place in (0, len(line.x) // 2, len(line.x) - 1):
        changed = frame(
            **{**JOISTS, "joist_spacing": f"{line.x[place]} in", "joist_span": f"{line.y[place]} ft"}
        )
        value = DEMANDS[name].value(changed, BOOK.tables)
        assert float(value.high[0]) == pytest.approx(bound, rel=2e-3)


def test_floor_told_as_ranges_is_a_box_and_no_point() -> None:
    """Span and spacing that are ranges are shown as such; what is not known is not shown at all."""
    floor = given(JOISTS, *LIMITED.limits, joist_span="12..14 ft", joist_spacing="16..19.2 in")
    chart = drawn("joist_live_deflection", floor)
    box = next(one for one in chart.series if one.name.startswith("this floor"))
    assert (*box.x, *box.y) == pytest.approx((16.0, 19.2, 12.0, 12.0))
    assert box.band_to == pytest.approx((14.0, 14.0))
    assert chart.marks == ()


# Heat


def test_heat_is_balanced_in_the_layers() -> None:
    """What goes up through the film and down through the base is the power: the first law, by the chart."""
    what = given(HEATED)
    chart = drawn("heat_down_share", what)
    kelvin = np.array(main(chart).y) / 1.8
    demand = DEMANDS["heat_down_share"]
    columns = demand.inputs(what.frame, BOOK.tables)
    point = {name: float(one[0]) for name, one in demand.worst(columns).items()}
    up = (kelvin[1] - kelvin[0]) * point["film_w_m2k"]
    heat = int(np.argmax(kelvin))
    assert (kelvin[heat] - kelvin[1]) == pytest.approx(up * point["above_m2k_w"], rel=1e-6)
    down = (kelvin[heat] - kelvin[-1]) / point["below_m2k_w"]
    assert up + down == pytest.approx(12 / W_FT2, rel=1e-6)
    assert down / (up + down) == pytest.approx(float(demand.value(what.frame, BOOK.tables).high[0]))
    assert (np.diff(kelvin[: heat + 1]) > 0).all()
    assert (np.diff(kelvin[heat:]) < 0).all()
    assert [zone.high - zone.low for zone in chart.zones] == [1.0] * len(chart.zones)
    assert chart.marks[0].y == pytest.approx(main(chart).y[1])


def test_room_heat_shows_the_permitted_surface() -> None:
    """A bathroom in the UK may have 33 C on its tile, 91.4 F (EN 1264, 9 K over 24 C); no more counts."""
    chart = drawn("heat_output_share", given(HEATED, jurisdiction="UK", heating_power="20 W/ft2"))
    assert level(chart, "permitted at the surface") == pytest.approx(91.4)
    assert chart.marks[0].y == pytest.approx(91.4, abs=0.1)
    weak = drawn("heat_output_share", given(HEATED, jurisdiction="UK", heating_power="5 W/ft2"))
    assert weak.marks[0].y < 85


@pytest.mark.parametrize("name", ["heat_surface_peak_held", "heat_surface_failed"])
def test_wave_over_cables_has_the_mean_and_the_peak_of_the_demand(name: str) -> None:
    """Harmonics average to nothing over a pitch (Fourier); over a cable stands the demand's own number."""
    most = 29.0 + 273.15  # 29 C is 84.2 F
    what = given(HEATED, limit("at_most", most, "at most 84.2 °F (29 °C)"))
    chart = drawn(name, what)
    wave = main(chart)
    pitch = [k for k, x in enumerate(wave.x) if abs(x) <= 1.5 + 1e-9]
    mean = np.trapezoid([wave.y[k] for k in pitch], [wave.x[k] for k in pitch]) / 3
    assert mean == pytest.approx(level(chart, "mean"), abs=0.02)
    peak = float(DEMANDS[name].value(what.frame, BOOK.tables).high[0]) * 1.8 - 459.67
    assert chart.marks[0].y == pytest.approx(peak, abs=1e-6)
    assert at(wave, 0.0) == pytest.approx(peak, rel=2e-3)
    assert at(wave, -1.5) == pytest.approx(at(wave, 1.5), abs=1e-3)
    assert at(wave, 1.5) == pytest.approx(min(wave.y), abs=1e-3)
    assert max(wave.y) == pytest.approx(at(wave, 0.0), abs=1e-3)
    assert level(chart, "limit 84.2 °F") == pytest.approx(84.2)


# Cracks


def test_crack_chart_sets_membranes_beside_full_bond() -> None:
    """A stiffer layer pulls more, full bond most; a line ends at its own test; all rise with the opening."""
    soft, stiff = frame(**{**CRACKED, **SOFT}), frame(**{**CRACKED, **STIFF})
    what = ChartInput(soft, BOOK, (), (Compared("soft", soft), Compared("stiff", stiff)))
    chart = drawn("crack_tile_stress", what)
    one, other = named(chart, "soft"), named(chart, "stiff")
    bonded = named(chart, "fully bonded, no membrane")
    assert (one.style, other.style, bonded.style) == ("main", "plain", "dashed")
    assert all(rises(each) for each in (one, other, bonded))
    shown = [k for k, value in enumerate(one.y) if math.isfinite(value)]
    assert one.x[shown[-1]] == pytest.approx(1 / 16)
    assert other.x[-1] == pytest.approx(1 / 8)
    assert all(one.y[k] < other.y[k] <= bonded.y[k] for k in shown[1:])
    mark = chart.marks[0]
    value = float(DEMANDS["crack_tile_stress"].value(soft, BOOK.tables).high[0]) / 1e6 * MPA_PSI
    assert (mark.x, mark.y) == pytest.approx((0.02, value), rel=1e-5)
    assert at(one, mark.x) == pytest.approx(mark.y, rel=1e-9)


def test_crack_chart_shows_what_the_tile_bears() -> None:
    """Porcelain bears at least 0.425 of the 35 MPa that ISO 13006 asks of group BIa (mean)."""
    chart = drawn("crack_tile_share", given({**CRACKED, **SOFT}))
    strength = level(chart, "the tile bears at least")
    assert strength == pytest.approx(0.425 * 35 * MPA_PSI, rel=1e-4)


def test_membrane_without_its_own_test_has_no_line() -> None:
    """Nothing is said of a membrane without a stated crack test; of an area without any there is no chart."""
    bare = {name: value for name, value in SOFT.items() if "tested" not in name}
    untested, tested = frame(**{**CRACKED, **bare}), frame(**{**CRACKED, **SOFT})
    assert chart_of("crack_tile_stress", ChartInput(untested, BOOK, (), (Compared("a", untested),))) is None
    both = ChartInput(untested, BOOK, (), (Compared("a", untested), Compared("b", tested)))
    chart = drawn("crack_tile_stress", both)
    assert [one.name for one in chart.series] == ["b", "fully bonded, no membrane"]
    assert chart.marks == ()


# Impact sound


@pytest.mark.parametrize("name", ["covered_slab_impact_level", "test_slab_iic"])
def test_reference_curve_lies_where_its_rule_leaves_it(name: str) -> None:
    """ISO 717-2, 4.3.1: moved in steps of 1 dB as low as keeps the sum of bands over it at 32.0 dB at most.

    ASTM E989 adds that no band be more than 8 dB over (rule from memory, confidence 97).
    """
    chart = drawn(name, SUITABLE["impact sound"][1])
    covered, curve = named(chart, "with the covering"), named(chart, "reference curve, moved")
    assert len(curve.x) == 16
    shape = np.array(curve.y) - curve.y[list(curve.x).index(READ_AT_HZ)]
    # ISO 717-2, the reference values less that of 500 Hz, 60 dB (kind = memory).
    assert list(shape) == [2, 2, 2, 2, 2, 2, 1, 0, -1, -2, -3, -6, -9, -12, -15, -18]

    def kept(down: int) -> bool:
        over = np.maximum(np.array(covered.y) - (np.array(curve.y) - down), 0.0)
        return float(over.sum()) <= 32.0 + 1e-9 and (name != "test_slab_iic" or float(over.max()) <= 8 + 1e-9)

    assert kept(0)
    assert not kept(1)
    mark = chart.marks[0]
    assert mark.y == curve.y[list(curve.x).index(READ_AT_HZ)]
    iic = round(110 - mark.y)
    assert mark.name.endswith(f"IIC {iic}" if name == "test_slab_iic" else f"Ln,r,w {mark.y:g}")


# Shrinkage


def test_shrinkage_left_falls_as_the_code_of_practice_says() -> None:
    """ACI 209.2R-08, A.1.1: of the strain in the end 35/(35 + t) is left after t days of drying."""
    what = replace(given(C1_FLOOR, slab_age="90 day"), book=replace(BOOK, tables=tables(**C1)))
    line = named(drawn("slab_remaining_shrinkage", what), "ACI 209")
    dried = [(x - 7, y) for x, y in zip(line.x, line.y, strict=True) if x > 14]
    first = dried[0]
    for days, left in dried[1:]:
        assert left / first[1] == pytest.approx((35 + first[0]) / (35 + days), rel=1e-6)


@pytest.mark.parametrize("name", [n for n in DRAWN if n.startswith("slab_remaining")])
def test_shrinkage_falls_and_the_slab_lies_on_its_line(name: str) -> None:
    """With every model less is left later; the slab's own age stands on the line of the sheet's model."""
    chart = drawn(name, given(SLAB, limit("at_most", 300e-6, "at most 300 um/m")))
    line = main(chart)
    assert rises(line, -1)
    mark = chart.marks[0]
    value = float(DEMANDS[name].value(frame(**SLAB), BOOK.tables).high[0]) * 1e6
    assert (mark.x, mark.y) == pytest.approx((90.0, value))
    assert at(line, 90.0) == pytest.approx(value, rel=1e-9)
    assert [one.value for one in chart.levels] == pytest.approx([300.0])
    band = next(one for one in chart.series if one.band_to is not None)
    assert all(low <= high + 1e-9 for low, high in zip(band.y, band.band_to or (), strict=True))


def test_age_for_a_remainder_crosses_its_line() -> None:
    """The age that the sheet gives is where the line of its model reaches the remainder."""
    chart = drawn("slab_age_for_remainder", given(SLAB))
    mark, asked = chart.marks[0], level(chart, "remainder asked for")
    assert mark.y == pytest.approx(asked)
    assert at(main(chart), mark.x) == pytest.approx(asked, rel=0.02)


# Along a number


RICH: dict[str, Any] = {
    **SLAB,
    "yearly_temperature_range": "30 deltaF",
    "concrete_aggregate": "limestone",
    "base_joint_spacing": "15 ft",
    "air_temperature": "70 F",
    "air_humidity": "60 %",
    "base_temperature": "62 F",
    "slab_rh": "85 %",
    "water_cement_ratio": "0.5",
    "screed_thickness": "2 in",
    "screed_underlay_stiffness": "20 MN/m3",
    "ceiling_below": "none",
    "cushioned_or_floating_layer": "no",
}
BENDING = {**JOISTS, "point_load": "300 lb", "notch_depth": "1 in", "notch_place": "at the bearing"}
CURVES = [
    ("joist_concentrated_deflection", BENDING, "joist_span", -1),
    ("joist_live_deflection_m", BENDING, "joist_span", 1),
    ("joist_shear", BENDING, "joist_span", 1),
    ("joist_notched_shear", BENDING, "notch_depth", 1),
    ("dew_point", RICH, "air_humidity", 1),
    ("condensation_margin", RICH, "air_humidity", -1),
    ("vapor_pressure_difference", RICH, "slab_rh", 1),
    ("wait_to_emission", RICH, "water_cement_ratio", 1),
    ("slab_modulus", RICH, "slab_strength", 1),
    ("slab_thermal_movement", RICH, "yearly_temperature_range", 1),
    ("bare_slab_impact_level", {**RICH, "base": "suspended slab"}, "slab_thickness", -1),
    ("screed_resonance", RICH, "screed_underlay_stiffness", 1),
]


@pytest.mark.parametrize(("name", "floor", "fact", "sign"), CURVES, ids=[row[0] for row in CURVES])
def test_demand_along_its_number_goes_the_way_of_physics(
    name: str, floor: dict[str, Any], fact: str, sign: int
) -> None:
    """Rising or falling throughout, the floor's own point on the curve at its own number."""
    assert ALONG[name].fact == fact
    chart = drawn(name, given(floor))
    line = main(chart)
    assert rises(line, sign)
    (mark,) = chart.marks
    assert at(line, mark.x) == pytest.approx(mark.y, rel=1e-9)
    assert mark.x in line.x


def test_deflection_along_the_span_is_told_as_n() -> None:
    """A concentrated load bends by P L^3 / (48 E I): n of L/n goes with the inverse square of the span."""
    line = main(drawn("joist_concentrated_deflection", given(BENDING)))
    x, y = np.array(line.x), np.array(line.y)
    np.testing.assert_allclose(y, y[0] * (x[0] / x) ** 2, rtol=1e-6)


@pytest.mark.parametrize(
    ("name", "side", "value", "text", "shown"),
    [
        ("joist_concentrated_deflection", "at_most", 1 / 600, "at most L/600", 600.0),
        ("joist_shear", "at_most", 1.0, "at most 100 %", 100.0),
        # 5 F above the dew point is 25/9 K; 0.25 in is 6.35 mm exactly.
        ("condensation_margin", "at_least", 25 / 9, "at least 5 °F (2.8 K)", 5.0),
        ("joist_live_deflection_m", "at_most", 0.00635, "at most 1/4 in (6.4 mm)", 0.25),
    ],
)
def test_limit_lines_stand_at_the_limits(name: str, side: str, value: float, text: str, shown: float) -> None:
    """Each limit of the sheet is one line, in the unit of the axis, once even where two say the same."""
    floor = next(row[1] for row in CURVES if row[0] == name)
    chart = drawn(name, given(floor, limit(side, value, text), limit(side, value, text)))
    assert [one.value for one in chart.levels] == pytest.approx([shown])


def test_number_told_as_a_range_is_a_band() -> None:
    """A fact that is a range stands as a band across, and no point claims to know it."""
    chart = drawn("dew_point", given(RICH, air_humidity="50..70 %"))
    assert [(zone.low, zone.high) for zone in chart.zones] == [pytest.approx((50.0, 70.0))]
    assert chart.marks == ()


def test_second_axis_is_the_same_quantity() -> None:
    """212 F is 100 C and 1 ft is 0.3048 m: the scale on the right and on top is that of the SI."""
    chart = drawn("dew_point", given(RICH))
    assert chart.y.second is not None
    unit, factor, offset = chart.y.second
    assert (unit, 212 * factor + offset, 32 * factor + offset) == ("°C", pytest.approx(100), pytest.approx(0))
    spans = drawn("joist_allowable_span", given(JOISTS)).y.second
    assert spans == ("m", pytest.approx(FOOT), pytest.approx(0))


def test_number_that_hardly_moves_has_no_chart() -> None:
    """No chart of what is nothing: no slab shrinks below joists."""
    assert (
        chart_of("shrinkage_tile_stress", given({**JOISTS, **SOFT, "movement_joint_spacing": "20 ft"}))
        is None
    )


# A whole area


def test_area_has_few_charts_one_of_each_kind() -> None:
    """A report gets at most six charts an area, one of each story, each on a sheet that is there."""
    written = {
        **JOISTS,
        **{name: RICH[name] for name in ("air_temperature", "air_humidity", "base_temperature")},
    }
    own = {name: raw for name, raw in written.items() if name in BOOK.vocabulary}
    readings = {name: Reading(read_spec(BOOK.domains[name], raw), str(raw)) for name, raw in own.items()}
    judged = evaluate([Area("here", readings)], BOOK, dt.date(2026, 11, 25), ("low-meadow-3",))
    sheets = area_sheets(judged, BOOK, 0, "low-meadow-3")
    charts = area_charts(judged, BOOK, 0, "low-meadow-3", sheets)
    assert 1 <= len(charts) <= MOST_CHARTS
    assert charts.keys() <= {sheet["demand"] for sheet in sheets}
    spans = [name for name in charts if name in DRAWN and name.startswith("joist")]
    assert len(spans) == 1
    assert all(text.startswith("<svg") for text in charts.values())
    most = max(limit["utilisation"] or 0 for s in sheets for limit in s["limits"] if s["demand"] == spans[0])
    others = [limit["utilisation"] or 0 for s in sheets for limit in s["limits"] if s["demand"] in DRAWN]
    assert most == max(others)


def test_chart_of_an_area_is_that_of_its_own_row() -> None:
    """With two areas in one table the chart of the second is drawn of the second."""
    rows = []
    for span in ("10 ft", "12 ft"):
        own = {n: r for n, r in {**JOISTS, "joist_span": span}.items() if n in BOOK.vocabulary}
        rows.append(Area(span, {n: Reading(read_spec(BOOK.domains[n], r), str(r)) for n, r in own.items()}))
    judged = evaluate(rows, BOOK, dt.date(2026, 11, 25), ("low-meadow-3",))
    for row, span in enumerate((10.0, 12.0)):
        what = chart_input(judged, BOOK, row, "low-meadow-3")
        column = what.frame["joist_span"]
        assert isinstance(column, NumberColumn)
        assert column.low[0] == pytest.approx(span * FOOT)
        chart = drawn("joist_allowable_span", what)
        assert any(mark.y == pytest.approx(span) for mark in chart.marks)
