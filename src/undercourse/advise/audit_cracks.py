"""Faults of a membrane's crack class: claims beyond its test, and a stated stiffness that belies the test."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from undercourse.advise.audit_limits import NOTE, Fault, Words
from undercourse.base.domains import Span
from undercourse.base.units import UNITS, show_quantity
from undercourse.demands import Tables
from undercourse.demands.membrane_test import own_test_share, tested_tile_bears
from undercourse.line.crack_tests import CrackTest, class_opening, crack_test, tested_opening
from undercourse.line.records import Product

_CRACKS = ("crack_width", "crack_growth")
_MARGIN = 1 + 1e-9


def crack_faults(product: Product, tables: Tables, words: Words) -> Iterator[Fault]:
    """What a membrane claims of cracks against its own crack test, and the shear model against that test."""
    stated, test = class_opening(product), crack_test(product)
    if stated and test is None:
        what = "states a crack class, and no test by ANSI A118.12 of it names the crack width that it bore"
        fix = "add the test with a respect on crack_width, or drop the class"
        yield Fault(f"{product.where}: crack_class", what, fix, NOTE)
    if stated and test is not None and stated > test.opening_m * _MARGIN:
        what = f"stands for {_length(stated)}, but {test.evidence} went to {_length(test.opening_m)}"
        yield Fault(f"{product.where}: crack_class", what, "state the class that the test reached")
    yield from _beyond(product, words)
    if test is not None:
        yield from _model(product, test, tables)


def _beyond(product: Product, words: Words) -> Iterator[Fault]:
    """Limits on cracks above the opening of class and test."""
    tested = tested_opening(product)
    if not tested:
        return
    for limit in product.limits:
        spec = limit.capacity.spec
        claims = limit.demand in _CRACKS and limit.comparison == "at_most" and isinstance(spec, Span)
        if claims and isinstance(spec, Span) and spec.high > tested * _MARGIN:
            what = (
                f"allows {words.called(limit.demand)} {words.allowed(limit)}, and class and test go to"
                f" {_length(tested)}"
            )
            yield Fault(limit.where, what, "never allow more than the tested class, whatever a model says")


def _model(product: Product, test: CrackTest, tables: Tables) -> Iterator[Fault]:
    stiffness = product.number("shear_stiffness")
    if stiffness is None:
        return
    place = f"{product.where}: shear_stiffness"
    if test.tile_edge_m is None or test.tile_thickness_m is None:
        what = f"{test.evidence} does not say how large and thick its tile was: no number on shear is shown"
        yield Fault(place, what, "add long_edge and thickness to its tile class row", NOTE)
        return
    opening = min(one for one in (class_opening(product), test.opening_m) if one is not None)
    plateau = product.number("shear_yield") or np.inf
    bears = tested_tile_bears(tables)
    lengths = (np.array(opening), np.array(test.tile_edge_m), np.array(test.tile_thickness_m))
    share = float(own_test_share(*lengths, np.array(stiffness), np.array(plateau), bears))
    if share > _MARGIN:
        what = (
            f"does not reproduce {test.evidence}: at {_length(opening)} the shear model pulls the tested tile"
            f" with {_stress(share * bears)}, and it stayed whole, where the weakest such tile bears"
            f" {_stress(bears)}"
        )
        fix = (
            "measure the stiffness, and the shear at which the sheet yields (shear_yield); until then no"
            " number on shear is valid for it"
        )
        yield Fault(place, what, fix)


def _length(meters: float) -> str:
    return show_quantity(meters, UNITS["in"])


def _stress(pascals: float) -> str:
    return show_quantity(pascals, UNITS["psi"])
