"""Width and spacing of movement joints: guideline, calculation, base joints, and what no membrane changes."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

import numpy as np
import pytest
from scipy import constants as si
from tests.demands.site import BOOK, cautions, check_validity_ends, frame, valid, worked

from undercourse.advise.evaluating import evaluate
from undercourse.assembly.columns import PROPERTIES, candidate_domains
from undercourse.base.columns import ChoiceColumn, Columns, NumberColumn
from undercourse.base.domains import Choices, read_spec
from undercourse.base.frame import Frame
from undercourse.demands import DEMANDS, Tables
from undercourse.facts.jobs import Area, Reading
from undercourse.judge.limits import Values, judge_limit
from undercourse.judge.results import EXCEEDS, MEETS
from undercourse.line.records import Limit

NAMES = tuple(name for name, demand in DEMANDS.items() if demand.subject == "movement joints")
WIDTH, OVER, SHARE, OVER_SHARE = NAMES
OUTSIDE = {
    "exposure": "exterior open", "surface": "floor", "mosaic": False, "finish": "porcelain",
    "grout_joint": "3/16 in", "sealant_movement": "100 %",
}  # fmt: skip
INSIDE = {**OUTSIDE, "exposure": "interior"}
SLAB = {
    "base": "slab on ground", "slab_thickness": "5 in", "service_humidity": "50 %", "slab_age": "10 year",
    "concrete_aggregate": "limestone", "base_joint_spacing": "12 ft", "base_joint_width": "1/8 in",
}  # fmt: skip
SPACINGS = ("movement_joint_spacing", "movement_joint_width")


def tile(expansion: float, swelling: float = 0.0) -> Tables:
    """The shipped tables with one expansion for every tile."""
    ranges = BOOK.tables.ranges
    put = {
        name: dict.fromkeys(ranges[name], (value, value))
        for name, value in (("tile_expansion", expansion), ("tile_moisture_expansion", swelling))
    }
    return replace(BOOK.tables, ranges={**ranges, **put})


@pytest.mark.parametrize(
    ("spacing", "season", "sixteenths", "kind"),
    [
        ("8 ft", "100 deltaF", 6, "published"),
        ("8 ft", "115 deltaF", 7, "published"),
        ("12 ft", "100 deltaF", 8, "published"),
        ("12 ft", "130 deltaF", 10, "derived"),
    ],
)
def test_guideline_outside(spacing: str, season: str, sixteenths: int, kind: str) -> None:
    """A trade magazine's example (8 ft, 115 °F: 7/16 in) and its rule; the calculation asks for less here."""
    facts = {**OUTSIDE, "movement_joint_spacing": spacing, "yearly_temperature_range": season}
    assert worked(WIDTH, **facts) == pytest.approx((sixteenths / 16, sixteenths / 16)), kind


@pytest.mark.parametrize(
    ("more", "inches"),
    [
        ({"grout_joint": "1/8 in"}, 1 / 4),
        ({"grout_joint": "3/8 in"}, 3 / 8),
        ({"grout_joint": "1/16 in", "mosaic": True}, 1 / 8),
        ({"grout_joint": "1/16 in", "surface": "wall"}, 1 / 8),
    ],
)
def test_guideline_inside(more: dict[str, object], inches: float) -> None:
    """Kind published: as the grout joint, not less than 1/4 in; 1/8 in in wall tile and mosaic."""
    facts = {**INSIDE, "movement_joint_spacing": "4 ft", "yearly_temperature_range": "5 deltaF", **more}
    assert worked(WIDTH, **facts)[0] == pytest.approx(inches)


@pytest.mark.parametrize(("class_", "width_mm"), [("25 %", 6.50), ("50 %", 3.25)])
def test_calculated_width(class_: str, width_mm: float) -> None:
    """Kind derived: form of ASTM C1472, tile 8e-6 per °C, 12 ft, 100 °F: 1.626 mm over 25 and 50 %."""
    facts = {
        **INSIDE, "mosaic": True, "grout_joint": "0 in", "movement_joint_spacing": "12 ft",
        "yearly_temperature_range": "100 deltaF", "sealant_movement": class_,
    }  # fmt: skip
    found = DEMANDS[WIDTH].value(frame(**facts), tile(8e-6))
    # The low end has no tolerance of laying, the high end a sixteenth of an inch.
    assert found.low.item() == pytest.approx(width_mm / 1e3, rel=1e-3)
    assert found.high.item() == pytest.approx(width_mm / 1e3 + si.inch / 16, rel=1e-3)


def test_movement_is_in_kelvin_per_kelvin() -> None:
    """Kind published: a facade bulletin put 23e-6 per °C on 80 °F: 0.44 in over 240 in; 0.245 is right."""
    facts = {**INSIDE, "movement_joint_spacing": "240 in", "yearly_temperature_range": "80 deltaF"}
    _, most = DEMANDS[WIDTH].corners(frame(**facts), tile(23e-6))
    closing = DEMANDS[WIDTH].kernel(most)[1]["closing"].item()
    assert closing / si.inch == pytest.approx(0.245, rel=1e-2)


def test_moisture_expansion_of_the_advised_maximum() -> None:
    """Kind derived: ISO 10545-10 advises at most 0.6 mm/m; over 25 ft that is 4.57 mm."""
    facts = {**INSIDE, "finish": "ceramic", "movement_joint_spacing": "25 ft"}
    facts["yearly_temperature_range"] = "0 deltaF"
    _, most = DEMANDS[WIDTH].corners(frame(**facts), BOOK.tables)
    assert DEMANDS[WIDTH].kernel(most)[1]["closing"].item() * 1e3 == pytest.approx(4.57, rel=1e-3)
    porcelain = {**facts, "finish": "porcelain"}
    _, most = DEMANDS[WIDTH].corners(frame(**porcelain), BOOK.tables)
    assert DEMANDS[WIDTH].kernel(most)[1]["closing"].item() * 1e3 == pytest.approx(0.1 * 7.62, rel=1e-3)


def test_width_is_at_least_four_times_the_movement_of_a_25_percent_sealant() -> None:
    """Kind published: a waterproofing handbook: opening at least four times the movement."""
    facts = {
        **INSIDE, "movement_joint_spacing": "25 ft", "yearly_temperature_range": "120 deltaF",
        "sealant_movement": "25 %",
    }  # fmt: skip
    demand = DEMANDS[WIDTH]
    for corner in demand.corners(frame(**facts), BOOK.tables):
        width, working = demand.kernel(corner)
        assert width.item() >= 4 * working["closing"].item() * (1 - 1e-12)


def test_joint_over_a_base_joint_is_never_narrower_than_it() -> None:
    """Kind published: at least as wide as the structural joint in the backing (a civil handbook)."""
    facts = {**INSIDE, **SLAB, "movement_joint_spacing": "12 ft", "yearly_temperature_range": "10 deltaF"}
    assert worked(OVER, **facts)[0] == pytest.approx(1 / 4)
    assert worked(OVER, **{**facts, "base_joint_width": "1 in"})[0] == pytest.approx(1.0)


def test_what_the_base_still_opens_goes_in() -> None:
    """A young slab with joints far apart asks for more than its tile does; wood has no such joint."""
    facts = {
        **INSIDE, **SLAB, "movement_joint_spacing": "12 ft", "yearly_temperature_range": "10 deltaF",
        "sealant_movement": "25 %", "slab_age": "20 day", "base_joint_spacing": "40 ft",
    }  # fmt: skip
    field, over = worked(WIDTH, **facts), worked(OVER, **facts)
    opening = worked("base_joint_opening", **facts)
    assert over[1] == pytest.approx(opening[1] / 0.25 + 1 / 16)
    assert over[1] > field[1]
    assert worked(OVER, **{**facts, "base": "sawn joists"}) == pytest.approx(field)


def test_share_is_width_needed_over_width_planned() -> None:
    """Half the width needed is a share of two, and a joint of no width breaks nothing."""
    facts = {**OUTSIDE, "movement_joint_spacing": "8 ft", "yearly_temperature_range": "115 deltaF"}
    assert worked(SHARE, movement_joint_width="7/32 in", **facts) == pytest.approx((2.0, 2.0))
    assert np.isfinite(worked(SHARE, movement_joint_width="0 in", **facts)).all()
    unknown = worked(SHARE, **facts)
    assert unknown[0] < 1 < unknown[1]


@pytest.mark.parametrize("name", NAMES)
def test_validity_ends(name: str) -> None:
    """Inside each range of validity the formula holds; beyond either end it does not."""
    check_validity_ends(name)


def test_not_valid_beyond_the_guideline() -> None:
    """Kind published: the guideline ends at 25 ft."""
    facts = {**INSIDE, **SLAB, "yearly_temperature_range": "10 deltaF"}
    for name in NAMES:
        assert valid(name, **facts, movement_joint_spacing="25 ft").must.all()
        assert not valid(name, **facts, movement_joint_spacing="26 ft").may.any()


def test_too_narrow_a_joint_is_warned_of() -> None:
    """Printed where the width planned is surely too narrow, silent where it may do or is not told."""
    facts = {**OUTSIDE, "movement_joint_spacing": "12 ft", "yearly_temperature_range": "130 deltaF"}
    assert "planned too narrow" in cautions(**facts, movement_joint_width="9/16 in")
    assert "planned too narrow" not in cautions(**facts, movement_joint_width="3/4 in")
    assert "planned too narrow" not in cautions(**facts)


def test_no_demand_on_joints_takes_anything_of_a_candidate() -> None:
    """No membrane relaxes a joint: no candidate column enters any of these numbers."""
    for name in NAMES:
        assert not DEMANDS[name].takes
        assert not set(DEMANDS[name].reads) & set(candidate_domains())


def joint_rules() -> list[Limit]:
    """All trade rules on spacing and width."""
    return [rule for rule in BOOK.practice.rules if rule.demand in SPACINGS]


def test_no_rule_on_spacing_or_width_reads_a_membrane() -> None:
    """Each rule speaks of the site alone, gives way to nobody, and no product states a limit of its own."""
    assert len(joint_rules()) == 8
    for rule in joint_rules():
        assert BOOK.candidate_columns(rule) == ()
        assert rule.yields_to == "nobody"
    own = [limit for product in BOOK.line.products.values() for limit in product.limits]
    assert not [limit for limit in own if limit.demand in SPACINGS]


@pytest.mark.parametrize(("feet", "status"), [(24.0, MEETS), (26.0, EXCEEDS)])
def test_no_property_of_a_membrane_changes_the_spacing(feet: float, status: int) -> None:
    """With every property of a membrane at either end of its domain the same spacing is allowed."""
    rule = next(rule for rule in BOOK.practice.rules if rule.id == "joint-spacing-inside")
    site = frame(**{**INSIDE, "jurisdiction": "US", "movement_joint_spacing": f"{feet} ft"})
    for end in ("low", "high"):
        own = Columns(candidate_domains(), 1)
        for name, domain in candidate_domains().items():
            if domain.kind == "number":
                value = np.array([getattr(domain, end)])
                own[name] = NumberColumn(value, value)
            else:
                every = domain.everything
                assert isinstance(every, Choices)
                place = 0 if end == "low" else len(domain.choices) - 1
                own[name] = ChoiceColumn(np.array([1 << place], dtype=np.uint64))
        assert set(PROPERTIES) <= set(own)
        found = judge_limit(rule, Frame(own, site), Values(BOOK))
        assert found is not None
        assert found.status.item() == status


def test_every_membrane_of_the_line_is_refused_at_the_same_spacing() -> None:
    """30 ft inside is too far whatever the sheet; 12 ft is never what speaks against one."""
    for feet, refused in ((30.0, True), (12.0, False)):
        written = {**INSIDE, "jurisdiction": "US", "movement_joint_spacing": f"{feet} ft"}
        readings = {
            name: Reading(read_spec(BOOK.domains[name], raw), str(raw)) for name, raw in written.items()
        }
        judged = evaluate([Area("room", readings)], BOOK, dt.date(2026, 11, 25))
        assert len(judged.judgements) >= 5
        for judgement in judged.judgements:
            exceeded = [finding.demand for finding in judgement.findings if finding.status.item() == EXCEEDS]
            assert ("movement_joint_spacing" in exceeded) is refused


@pytest.mark.parametrize(
    ("more", "feet"),
    [
        ({}, 25),
        ({"direct_sun": True}, 12),
        ({"wet_exposure": "wet"}, 12),
        ({"base": "suspended slab"}, 12),
        ({"exposure": "exterior covered"}, 12),
    ],
)
def test_spacing_by_place(more: dict[str, object], feet: float) -> None:
    """Kind published: the guideline as quoted by a trade magazine in 2018."""
    plain = {"direct_sun": False, "wet_exposure": "dry", "base": "slab on ground", "jurisdiction": "US"}
    for at, wanted in ((feet, MEETS), (feet + 0.5, EXCEEDS)):
        site = frame(**{**INSIDE, **plain, **more, "movement_joint_spacing": f"{at} ft"})
        rules = [rule for rule in BOOK.practice.rules if rule.demand == "movement_joint_spacing"]
        found = [judge_limit(rule, site, Values(BOOK)) for rule in rules]
        states = {finding.status.item() for finding in found if finding is not None}
        assert (EXCEEDS in states) is (wanted == EXCEEDS)
        assert states
