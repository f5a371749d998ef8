"""Faults of a product's sound figures: a rating that the bands of its own report do not give."""

from __future__ import annotations

from collections.abc import Iterator

from undercourse.advise.audit_limits import Fault
from undercourse.demands.impact_spectrum import OLDER_ROUNDING_DB, membrane_spectra
from undercourse.line.records import Product
from undercourse.line.sound_tests import BANDS, impact_reduction
from undercourse.physics.sound import impact_class_gain


def sound_faults(product: Product) -> Iterator[Fault]:
    """Stated ΔLw and ΔIIC against what the bands of the report give, each in its own chain."""
    spectra, bands = membrane_spectra(product), impact_reduction(product)
    if spectra is None or bands is None:
        return
    iso, astm = spectra
    older = int(impact_class_gain(bands, OLDER_ROUNDING_DB))
    for name, spectrum, right in (
        ("delta_lw", iso, (iso.gain,)),
        ("delta_iic", astm, (astm.gain, older)),
    ):
        stated = product.number(name)
        if stated is not None and round(stated) not in right:
            what = f"{name} is {stated:g} dB and its {BANDS} give {spectrum.gain} by {spectrum.chain}"
            yield Fault(f"{product.where}: {name}", what, "mend the one that the report does not print")
