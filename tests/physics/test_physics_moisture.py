"""Properties of the vapor and drying functions that hold for every input."""

import inspect

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from undercourse.physics import condensation, drying, moisture

temperatures = st.floats(-20.0, 50.0)
humidities = st.floats(0.05, 1.0)
permeances = st.lists(st.floats(1e-13, 1e-8), min_size=1, max_size=8)
depths = st.floats(0.02, 0.4)
ratios = st.floats(0.3, 1.2)


def long_saturation_pressure(temperature_c):
    """Hyland and Wexler 1983 as printed in ASHRAE Fundamentals 2017, chapter 1, equations 5 and 6."""
    t = temperature_c + 273.15
    if temperature_c >= 0.01:
        c = (-5.8002206e3, 1.3914993, -4.8640239e-2, 4.1764768e-5, -1.4452093e-8, 0.0, 6.5459673)
    else:
        c = (-5.6745359e3, 6.3925247, -9.677843e-3, 6.2215701e-7, 2.0747825e-9, -9.484024e-13, 4.1635019)
    return np.exp(c[0] / t + c[1] + c[2] * t + c[3] * t**2 + c[4] * t**3 + c[5] * t**4 + c[6] * np.log(t))


@pytest.mark.parametrize(("temperature_c", "expected_pa"), [(-20.0, 103.24), (5.0, 872.6), (50.0, 12351.3)])
def test_long_saturation_equation_matches_its_printed_table(temperature_c, expected_pa):
    """The yardstick of the next test is itself right (ASHRAE 2017 table 3, 300 ppm)."""
    assert long_saturation_pressure(temperature_c) == pytest.approx(expected_pa, rel=3e-4)


@given(temperatures)
def test_saturation_pressure_stays_near_the_long_equation(temperature_c):
    """A slip in one coefficient, such as 267.5 for 265.5 over ice, shows."""
    assert moisture.saturation_pressure(temperature_c) == pytest.approx(
        long_saturation_pressure(temperature_c), rel=6e-3
    )


@given(temperatures, humidities)
def test_dew_point_undoes_saturation_and_never_passes_the_air(temperature_c, humidity):
    """Dew point is the inverse of saturation pressure, at most the air temperature."""
    pressure = moisture.vapor_pressure(temperature_c, humidity)
    dew = moisture.dew_point(pressure)
    assert moisture.saturation_pressure(dew) == pytest.approx(pressure, rel=1e-9)
    assert dew <= temperature_c + 1e-9


@given(temperatures, humidities, humidities)
def test_margin_falls_as_air_gets_damper(temperature_c, one, other):
    """More humidity never raises the condensation margin; saturated air leaves none."""
    low, high = min(one, other), max(one, other)
    damp = moisture.condensation_margin(temperature_c, temperature_c, high)
    assert damp <= moisture.condensation_margin(temperature_c, temperature_c, low) + 1e-9
    assert moisture.condensation_margin(temperature_c, temperature_c, 1.0) == pytest.approx(0.0, abs=1e-9)


@given(temperatures, humidities)
def test_mold_limit_is_warmer_than_the_dew_point(temperature_c, humidity):
    """Tolerating only 80 % at the surface asks for a warmer surface than tolerating dew."""
    mold = moisture.lowest_dry_surface(temperature_c, humidity, 0.8)
    dew = moisture.lowest_dry_surface(temperature_c, humidity, 1.0)
    assert mold > dew
    assert moisture.vapor_pressure(mold, 0.8) == pytest.approx(
        moisture.vapor_pressure(temperature_c, humidity), rel=1e-9
    )


@given(permeances)
def test_stack_is_tighter_than_its_tightest_layer(values):
    """Adding a layer never opens a stack, and air thicknesses of layers add up."""
    total = moisture.series_permeance(values)
    assert total <= min(values) * (1 + 1e-12)
    thicknesses = moisture.equivalent_air_thickness(values)
    assert moisture.equivalent_air_thickness(total) == pytest.approx(np.sum(thicknesses), rel=1e-9)


def test_perfect_barrier_stops_vapor_without_a_warning(recwarn):
    """A layer of permeance 0 closes the stack; numbers stay finite."""
    assert moisture.series_permeance([1e-10, 0.0]) == 0.0
    assert not recwarn.list


@given(st.lists(st.floats(0.001, 20.0), min_size=1, max_size=8), st.floats(0, 3000), st.floats(0, 3000))
def test_interfaces_carry_one_flux(resistances, inner, outer):
    """The step across each layer over its resistance is the same everywhere."""
    values = moisture.interface_values(inner, outer, resistances)
    assert values[0] == inner
    assert values[-1] == pytest.approx(outer, abs=1e-9)
    flux = -np.diff(values) / resistances
    assert flux == pytest.approx(np.full(len(resistances), (inner - outer) / sum(resistances)), abs=1e-6)


@given(depths, depths, ratios, st.floats(0.0, 1.0))
def test_waits_are_ranges_that_grow_with_depth(one, other, ratio, spread):
    """A thicker slab never dries sooner, a wetter mix never sooner, and low stays under high."""
    thin, thick = min(one, other), max(one, other)
    for wait in (
        lambda depth: drying.wait_to_humidity(depth, spread),
        lambda depth: drying.wait_to_emission(depth, ratio, spread),
        lambda depth: drying.gypsum_wait(depth),
    ):
        assert wait(thin).low_s <= wait(thin).high_s
        assert wait(thin).low_s <= wait(thick).low_s
        assert wait(thin).high_s <= wait(thick).high_s
    wetter = drying.wait_to_emission(thin, ratio + 0.1, spread)
    assert wetter.high_s >= drying.wait_to_emission(thin, ratio, spread).high_s


@given(depths, ratios)
def test_wait_spans_growth_with_depth_and_with_its_square(depth, ratio):
    """Both scalings of the 4 in reference slab lie inside the range."""
    reference = drying.wait_to_emission(0.1016, ratio, 0.0).low_s
    span = drying.wait_to_emission(depth, ratio, 0.0)
    for power in (1, 2):
        scaled = reference * (depth / 0.1016) ** power
        assert span.low_s * (1 - 1e-9) <= scaled <= span.high_s * (1 + 1e-9)


def test_waits_say_when_the_source_does_not_cover_the_case():
    """A mix or thickness outside the tables is flagged instead of passed off as covered."""
    assert not drying.wait_to_emission(0.1016, 0.3, 0.0).covered
    assert not drying.wait_to_emission(0.4, 0.5, 0.0).covered
    assert not drying.gypsum_wait(0.1).covered
    assert drying.wait_to_humidity([0.1016, 0.3], 0.0).covered.tolist() == [True, False]


def test_no_function_joins_slab_humidity_and_emission():
    """Nothing that takes a humidity gives an emission rate, nor the reverse."""
    for module in (moisture, drying):
        for name, function in inspect.getmembers(module, inspect.isfunction):
            takes = set(inspect.signature(function).parameters)
            humidity = any("humidity" in parameter for parameter in takes)
            emission = {"mass_gain_kg", "exposure_s"} & takes or any("emission" in p for p in takes)
            assert not (humidity and "emission" in name), name
            assert not (emission and "humidity" in name), name
            assert not (humidity and emission), name


def test_array_and_scalar_agree():
    """A column gives the same numbers as its cells one by one."""
    air = np.linspace(-15.0, 40.0, 12)
    rh = np.linspace(0.2, 0.95, 12)
    column = moisture.condensation_margin(12.0, air, rh)
    cells = [moisture.condensation_margin(12.0, a, r) for a, r in zip(air, rh, strict=True)]
    assert column.tolist() == cells


@given(st.floats(0.05, 50.0), st.floats(0.05, 50.0), st.floats(-15.0, 25.0), humidities)
def test_water_collects_just_where_the_margin_is_negative(inside, outside, interface_c, humidity):
    """The rate and the tight-string margin are one statement; the pull at the plane closes the balance."""
    inner = float(moisture.vapor_pressure(25.0, humidity))
    margin = condensation.saturation_margins([25.0, interface_c, -5.0], inner, 200.0, [inside, outside])[1]
    rate = condensation.condensation_rate(inner, interface_c, 200.0, inside, outside)
    if abs(margin) > 1e-6:
        assert (rate > 0) == (margin < 0)
    # The pressure that the plane would have without water, less saturation, drives the whole rate.
    pull = max(-float(margin), 0.0) * moisture.AIR_PERMEABILITY_KG_M_S_PA * (1 / inside + 1 / outside)
    assert rate == pytest.approx(pull, rel=1e-6, abs=1e-15)


@given(st.floats(0.3, 8.0), st.floats(0.1, 0.25), st.floats(-15.0, 10.0))
def test_surface_factor_is_that_of_the_stack(resistance, film, outdoor):
    """The factor from resistances is the factor of the surface temperature that the stack has."""
    surface = moisture.interface_values(20.0, outdoor, [film, resistance])[1]
    found = condensation.surface_factor(resistance + film, film)
    assert found == pytest.approx(moisture.temperature_factor(surface, 20.0, outdoor))
