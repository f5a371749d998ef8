"""Panel demands against hand calculations from tabulated values; each case names its ground.

EI by span rating: ASD/LRFD Manual, Table M9.2-1. Deflection span: clear bay and 1/4 in (panel design
specification); constants 1743 (three spans: Peurifoy and Oberlender, p. 121), per foot of width.
"""

from __future__ import annotations

import random

import numpy as np
import pytest
from scipy.constants import foot, inch, lbf

from undercourse.advise.evaluating import evaluate
from undercourse.base.domains import Span, read_spec
from undercourse.demands import DEMANDS
from undercourse.demands.panel_layers import TWO_GLUED
from undercourse.facts.jobs import Area, Reading
from undercourse.files.samples import sample_areas
from undercourse.judge.results import SUITABLE, SUITABLE_IF
from undercourse.physics.supports import glued_layers_stiffness

from .floors import BOOK, PANEL, ends, known

UNIFORM, CONCENTRATED = "panel_uniform_deflection", "panel_concentrated_deflection"
CURVATURE = "panel_support_curvature"
# OSB and plywood EI in lb in2 per ft, strength axis across the joists.
EI = {
    "24/0": (60_000, 66_000),
    "24/16": (78_000, 86_000),
    "32/16": (115_000, 125_000),
    "40/20": (225_000, 250_000),
    "48/24": (400_000, 440_000),
    "16oc": (150_000, 165_000),
    "20oc": (210_000, 230_000),
    "24oc": (300_000, 330_000),
    "32oc": (650_000, 715_000),
    "48oc": (1_150_000, 1_265_000),
}


def by_hand(ei: float, spacing: float, psf: float = 40.0) -> float:
    """w l4 / (1743 EI) over l, three spans, w in psf, l in inches. [-]"""
    bay = spacing - 1.25
    return psf * bay**3 / (1743 * ei)


@pytest.mark.parametrize("rating", list(EI))
@pytest.mark.parametrize("kind", ["OSB", "plywood"])
def test_every_rating_of_both_kinds(rating: str, kind: str) -> None:
    """kind = published. EI of the table, deflection by hand."""
    found = known(UNIFORM, PANEL, panel_rating=rating, panel_kind=kind)
    assert found == pytest.approx(by_hand(EI[rating][kind == "plywood"], 16), rel=5e-4)


def test_panel_of_unknown_kind_is_held_by_both() -> None:
    """Not told plywood from OSB, the weaker counts at the hard end."""
    for kind in ("other", "OSB | plywood"):
        low, high = ends(UNIFORM, PANEL, panel_kind=kind)
        assert high == pytest.approx(known(UNIFORM, PANEL))
        assert low == pytest.approx(known(UNIFORM, PANEL, panel_kind="plywood"))


def test_printed_loads_at_l360() -> None:
    """kind = derived. Loads at L/360 worked from the table: 117.7, 165.3, 164.5 and 123.4 psf."""
    for rating, spacing, load in (
        ("24/16", 16, 117.7),
        ("40/20", 20, 165.3),
        ("48/24", 24, 164.5),
        ("24oc", 24, 123.4),
    ):
        found = known(
            UNIFORM, PANEL, panel_rating=rating, joist_spacing=f"{spacing} in", live_load=f"{load} psf"
        )
        assert found == pytest.approx(1 / 360, rel=1e-3)


def test_second_layer_counts_by_its_own_rating() -> None:
    """kind = derived. 40/20 and 24/16 OSB at 19.2 in: 303,000 lb in2/ft, 0.00786 in under 40 psf."""
    facts = {**PANEL, "panel_rating": "40/20", "panel_layers": "2", "joist_spacing": "19.2 in"}
    found = known(UNIFORM, {**facts, "second_panel_rating": "24/16"})
    assert found * (19.2 - 1.25) == pytest.approx(0.00786, rel=1e-2)
    # Not told, it may be worth nothing, and at best is stiffer than any panel in the table.
    low, high = ends(UNIFORM, facts)
    assert high == pytest.approx(known(UNIFORM, facts, panel_layers="1"))
    assert low < known(UNIFORM, {**facts, "second_panel_rating": "48oc"})


def test_glue_counts_only_where_it_is_said() -> None:
    """Screwed layers are loose; glued ones lie between loose and one solid panel."""
    two = {**PANEL, "panel_layers": "2", "second_panel_rating": "48/24"}
    loose = known(UNIFORM, two)
    low, high = ends(UNIFORM, two, panels_glued_together="yes")
    assert high == pytest.approx(loose)
    assert low == pytest.approx(loose / 4), "equal layers, one solid panel"
    assert ends(UNIFORM, two, panels_glued_together="yes", gentle=True)[1] == pytest.approx(loose / 4)
    # Not known whether glued, a verdict may not lean on glue.
    assert ends(UNIFORM, two, panels_glued_together="yes | no", gentle=True)[1] == pytest.approx(loose)


def test_two_glued_layers_are_never_stiffer_than_four_times_loose() -> None:
    """kind = derived. Transformed section of random pairs, EA = 12 EI / t2; equal for t1 / t2 = EI1 / EI2."""
    rng = np.random.default_rng(11)
    thickness, bending = rng.uniform(0.002, 0.04, (20_000, 2)), 10 ** rng.uniform(1, 5, (20_000, 2))
    whole = glued_layers_stiffness(bending, 12 * bending / thickness**2, thickness)
    share = whole / bending.sum(axis=1)
    assert share.max() <= TWO_GLUED
    matched = bending / bending[:, :1] * 0.01
    whole = glued_layers_stiffness(bending, 12 * bending / matched**2, matched)
    np.testing.assert_allclose(whole / bending.sum(axis=1), TWO_GLUED, rtol=1e-9)


def test_concentrated_load_is_a_range_between_two_widths() -> None:
    """kind = derived. P l3 / (68.57 EI b): 300 lb, end bay of three, on 1 ft and on two joist spacings."""
    facts = {name: value for name, value in PANEL.items() if name != "live_load"}
    low, high = ends(CONCENTRATED, facts)
    narrow = 300 * 14.75**2 / (68.57 * 400_000)
    assert high == pytest.approx(narrow, rel=1e-4)
    assert low == pytest.approx(narrow * 12 / 32, rel=1e-4)
    assert ends(CONCENTRATED, facts, gentle=True)[1] == pytest.approx(low)


def test_concentrated_load_by_spans() -> None:
    """kind = derived. Beam theory: 48 on one span, 66.78 on two, 68.57 in the end bay of three."""
    facts = {name: value for name, value in PANEL.items() if name != "live_load"}
    found = [ends(CONCENTRATED, facts, panel_spans=n)[1] for n in ("1", "2", "3")]
    assert found[0] / found[1] == pytest.approx(66.78 / 48, rel=1e-4)
    assert found[0] / found[2] == pytest.approx(68.57 / 48, rel=1e-4)


def test_curvature_over_the_joist() -> None:
    """kind = derived. 40 x 16^2 / (12 x 10) / 78,000 = 1.09402e-3 per in on three spans; 1/8 over two."""
    facts = {**PANEL, "panel_rating": "24/16"}
    assert known(CURVATURE, facts) * inch == pytest.approx(1.09402e-3, rel=1e-4)
    assert known(CURVATURE, facts, panel_spans="2") * inch == pytest.approx(1.25 * 1.09402e-3, rel=1e-4)
    assert known(CURVATURE, facts, panel_spans="1") == 0.0
    assert DEMANDS[CURVATURE].informs
    low, high = ends(CURVATURE, facts, panel_spans="1..3 count")
    assert (low, high) == pytest.approx((0.0, known(CURVATURE, facts, panel_spans="2")))


def test_uniform_load_scales() -> None:
    """Deflection over span goes with the load and with the cube of the bay."""
    for load in ("50 psf", "100 psf"):
        share = known(UNIFORM, PANEL, live_load=load) / known(UNIFORM, PANEL)
        assert share == pytest.approx(float(load.split()[0]) / 40)
    share = known(UNIFORM, PANEL, joist_spacing="24 in") / known(UNIFORM, PANEL)
    assert share == pytest.approx((22.75 / 14.75) ** 3)
    assert known(UNIFORM, {**PANEL, "base": "slab on ground"}) == 0.0


# ---- a tested spacing beside the calculation


SAMPLES = {area.name: area for area in sample_areas(BOOK.vocabulary)}


def spacings_tested() -> list[tuple[str, float]]:
    """Membranes of the demo line that were tested at a joist spacing, with the widest they state."""
    found = {}
    for product in BOOK.line.of_role("membrane", None):
        for limit in product.limits:
            spec = limit.capacity.spec
            tested = limit.basis.startswith("evidence:") and isinstance(spec, Span)
            if limit.demand == "joist_spacing" and tested:
                assert isinstance(spec, Span)
                found[product.id] = max(found.get(product.id, 0.0), spec.high)
    return sorted(found.items())


@pytest.mark.parametrize(("product", "widest"), spacings_tested())
def test_a_calculation_never_extends_a_tested_spacing(product: str, widest: float) -> None:
    """However stiff the panels, past the spacing that was tested nothing is suitable."""
    area = SAMPLES["Kitchen over a basement, 16 in joists"]
    for beyond in (0.3, 2.0):
        readings = dict(area.readings)
        stiff = {
            "joist_spacing": f"{widest / inch + beyond} in",
            "joist_size": "2x14",
            "joist_grade": "SS",
            "joist_plies": "4",
            "joist_sister_size": "none",
            "panel_rating": "48oc",
            "live_load": "40 psf",
            "joist_span": "8 ft",
        }
        for name, raw in stiff.items():
            readings[name] = Reading(read_spec(BOOK.vocabulary.domains[name], raw), "test", said=raw)
        judged = evaluate([Area("beyond", readings)], BOOK, None, {product})
        assert not judged.problems
        calculated = judged.facts
        value = DEMANDS[UNIFORM].value(calculated, BOOK.tables)
        assert float(value.high[0]) < 1 / 1000, "the calculation alone would pass"
        assert int(judged.judgements[0].verdict[0]) not in (SUITABLE, SUITABLE_IF)


def test_two_layers_of_random_ratings_add() -> None:
    """kind = derived. Loose layers share load by stiffness: deflections combine as 1 / (1/a + 1/b)."""
    rng = random.Random(3)
    for _ in range(20):
        first, second = rng.choice(list(EI)), rng.choice(list(EI))
        alone = [known(UNIFORM, PANEL, panel_rating=rating) for rating in (first, second)]
        both = known(UNIFORM, PANEL, panel_rating=first, second_panel_rating=second, panel_layers="2")
        assert both == pytest.approx(1 / (1 / alone[0] + 1 / alone[1]))


def test_units_of_the_table() -> None:
    """kind = derived. 1 lb in2 per ft of width is 9.4153e-3 N m2 per m."""
    assert pytest.approx(9.4153e-3, rel=1e-4) == lbf * inch**2 / foot
