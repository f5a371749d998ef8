"""The spectrum of a covering's own impact sound test against the reference curve as its rule moves it."""

from __future__ import annotations

from undercourse.demands import Demand
from undercourse.demands.impact_spectrum import ImpactSpectrum, membrane_spectra
from undercourse.drawings.chart_parts import Axis, Chart, Mark, Series
from undercourse.drawings.demand_chart_parts import ChartInput

# Both rules read the level off the curve at this band.
READ_AT_HZ = 500


def draw_impact_spectrum(demand: Demand, given: ChartInput) -> Chart | None:
    """Bare and covered test slab and the moved curve, by the chain of the demand."""
    if given.product is None:
        return None
    found = membrane_spectra(given.product)
    if found is None:
        return None
    iso, astm = found
    return spectrum_chart(astm if demand.name == "test_slab_iic" else iso, given.product.name)


def spectrum_chart(spectrum: ImpactSpectrum, product: str) -> Chart:
    """One spectrum with its curve; the rating is read at 500 Hz."""
    bands = tuple(float(band) for band in spectrum.bands_hz)
    ticks = tuple((band, f"{band:g}") for band in bands)
    level = spectrum.curve_db[spectrum.bands_hz.index(READ_AT_HZ)]
    series = (
        Series("with the covering", bands, spectrum.covered_db, "main"),
        Series("test slab, bare", bands, spectrum.bare_db, "quiet"),
        Series("reference curve, moved", bands, spectrum.curve_db, "dashed"),
    )
    over = f"Sum of bands over the curve {spectrum.sum_db:.1f} dB"
    name = f"{level:g} dB at 500 Hz: {spectrum.rating_name} {spectrum.rating}"
    return Chart(
        f"Impact sound by {spectrum.chain}, the maker's test: {product}",
        Axis("Third-octave band", "Hz", scale="bands", ticks=ticks),
        Axis("Normalized impact sound level", "dB"),
        series,
        (Mark(name, float(READ_AT_HZ), level),),
        note=f"{over}, {spectrum.gain_name} {spectrum.gain} dB. {spectrum.remark}",
    )
