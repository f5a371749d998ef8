"""Rough waits until a base is worth a moisture test: slabs to humidity and to emission apart, gypsum.

A wait tells when to read, never that a floor is dry. The two waits of a slab go to two different
readings; neither is worked out from the other.
"""

from __future__ import annotations

import numpy as np

from undercourse.base.columns import Floats, NumberColumn
from undercourse.base.domains import number_domain
from undercourse.base.frame import Frame
from undercourse.demands.loads import choice_range
from undercourse.demands.record import (
    CHOICE,
    LOWERS,
    MEMORY,
    PRACTICE,
    RAISES,
    RATIO,
    Demand,
    Notation,
    Step,
    Tables,
    Valid,
    Values,
)
from undercourse.physics.drying import anhydrite_wait, emission_days, gypsum_wait

_INCH, _DAY = 0.0254, 86400.0
FOUR_INCH_M = 4 * _INCH
# Ends of the trade's rule of days per inch.
FAST_S_M, SLOW_S_M = 28 * _DAY / _INCH, 30 * _DAY / _INCH
# Mix and weather, as a factor either way; common practice, no source. The ratio of water to cement alone
# moves the days of one slab from 0.4 to 1.6 times the rule.
HUMIDITY_SPREAD, EMISSION_SPREAD = 2.0, 1.5
_DEPTHS = "the slabs that the rules come from, 2 to 8 in; common practice, no source"


def _slab(frame: Frame, tables: Tables) -> tuple[NumberColumn, NumberColumn]:
    """Depth that has to dry, and that depth over 4 in."""
    share = choice_range(frame, "base", tables.ranges["drying_share"])
    thickness = frame["slab_thickness"]
    assert isinstance(thickness, NumberColumn)
    depth = NumberColumn(thickness.low * share.low, thickness.high * share.high)
    return depth, NumberColumn(depth.low / FOUR_INCH_M, depth.high / FOUR_INCH_M)


def _spread(factor: float) -> NumberColumn:
    return NumberColumn(np.array([1.0 / factor]), np.array([factor]))


def _humidity_collapse(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    depth, ratio = _slab(frame, tables)
    return {
        "drying_depth_m": depth,
        "depth_factor": NumberColumn(np.minimum(1.0, ratio.low), np.maximum(1.0, ratio.high)),
        "rate_s_m": NumberColumn(np.array([FAST_S_M]), np.array([SLOW_S_M])),
        "spread": _spread(HUMIDITY_SPREAD),
    }


def _emission_collapse(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    depth, ratio = _slab(frame, tables)
    low, high = ratio.low, ratio.high
    return {
        "drying_depth_m": depth,
        "depth_factor": NumberColumn(np.minimum(low, low**2), np.maximum(high, high**2)),
        "spread": _spread(EMISSION_SPREAD),
    }


def _nothing(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    return {}


def _to_humidity(values: Values) -> tuple[Floats, Values]:
    rule = values["rate_s_m"] * values["drying_depth_m"]
    wait: Floats = values["spread"] * rule * values["depth_factor"]
    return wait, {"rule_s": rule}


def _to_emission(values: Values) -> tuple[Floats, Values]:
    reference = emission_days(values["water_cement_ratio"])
    wait: Floats = values["spread"] * reference * values["depth_factor"]
    return wait, {"reference_s": reference}


def _gypsum(values: Values) -> tuple[Floats, Values]:
    whole = gypsum_wait(values["screed_thickness"]).low_s
    return np.maximum(whole - values["screed_age"], 0.0), {"whole_s": whole}


def _anhydrite(values: Values) -> tuple[Floats, Values]:
    whole = anhydrite_wait(values["screed_thickness"])
    return np.maximum(whole - values["screed_age"], 0.0), {"whole_s": whole}


_NOTATION = {
    "drying_depth_m": Notation("d", "mm", "depth that has to dry", "half the slab where both faces dry"),
    "rate_s_m": Notation("r", "day_depth", "days for a depth", "trade rule, 28 to 30 days an inch"),
    "spread": Notation("s", "1", "mix and weather", "common practice, no source"),
    "water_cement_ratio": Notation("w", "1"),
    "screed_thickness": Notation("h", "mm"),
    "screed_age": Notation("a", "day"),
    "rule_s": Notation("t_r", "day", "days by the rule"),
    "reference_s": Notation("t_4", "day", "days of a 4 in slab"),
    "whole_s": Notation("t_0", "day", "wait from the pour"),
}
_SLAB_READS = {"slab_thickness": CHOICE, "base": CHOICE}
_WAIT = (
    "Counted from the end of curing in a closed, dry room; rain or water from below starts it anew, and over"
    " ground without a vapor retarder it may never end."
)
_READ = "For planning only: a reading decides."
_TEST = "The wait says when a test is worth making; the test says whether it is dry."
_LEFT = Step("value", "max(t_0 - a, 0)")

DEMANDS = (
    Demand(
        name="wait_to_humidity",
        title="Drying of a slab to 85 % relative humidity",
        subject="moisture",
        domain=number_domain("wait_to_humidity", "month", 0, 10_000),
        scale=RATIO,
        source="trade rule of 28 to 30 days an inch, quoted in several trade articles as a rough guide only",
        reads=_SLAB_READS,
        takes={},
        through={"drying_depth_m": RAISES, "depth_factor": RAISES, "rate_s_m": RAISES, "spread": RAISES},
        kernel=_to_humidity,
        collapse=_humidity_collapse,
        reason="By the rule {rule_s}; mix, weather and depth make it a range.",
        notation={
            **_NOTATION,
            "depth_factor": Notation(
                "g", "1", "other depths than 4 in", "rule grows with depth, diffusion with its square"
            ),
            "value": Notation("t", "month", "drying from the end of curing"),
        },
        steps=(Step("rule_s", "r*d"), Step("value", "s*t_r*g")),
        valid=(Valid("drying_depth_m", 0.05, 0.205, _DEPTHS),),
        cautions=(_WAIT, _READ),
        rests_on=PRACTICE,
        informs=True,
    ),
    Demand(
        name="wait_to_emission",
        title="Drying of a slab to 3 lb per 1000 sq ft in 24 h",
        subject="moisture",
        domain=number_domain("wait_to_emission", "month", 0, 100_000),
        scale=RATIO,
        source="Brewer 1965, 4 in slabs sealed below (days from memory, 75 %)",
        reads={**_SLAB_READS, "water_cement_ratio": RAISES},
        takes={},
        through={"drying_depth_m": RAISES, "depth_factor": RAISES, "spread": RAISES},
        kernel=_to_emission,
        collapse=_emission_collapse,
        reason="A 4 in slab of this mix took {reference_s}; weather and depth make it a range.",
        notation={
            **_NOTATION,
            "depth_factor": Notation(
                "g", "1", "other depths than 4 in", "from in proportion to with the square of the depth"
            ),
            "value": Notation("t", "month", "drying from the end of curing"),
        },
        steps=(
            Step(
                "reference_s",
                "",
                "46, 82, 117, 130, 148, 166, 190 days at ratios 0.4 to 1.0; between them on a straight line",
            ),
            Step("value", "s*t_4*g"),
        ),
        valid=(
            Valid("drying_depth_m", 0.05, 0.205, _DEPTHS),
            Valid("water_cement_ratio", 0.4, 1.0, "Brewer 1965: ratios 0.4 to 1.0 (from memory)"),
        ),
        cautions=(_WAIT, _READ),
        rests_on=MEMORY,
        informs=True,
    ),
    Demand(
        name="gypsum_wait",
        title="Wait left before a poured gypsum is worth a dryness test",
        subject="moisture",
        domain=number_domain("gypsum_wait", "day", 0, 400),
        scale=RATIO,
        source="trade reference manual on tile over gypsum",
        reads={"screed_thickness": RAISES, "screed_age": LOWERS},
        takes={},
        through={},
        kernel=_gypsum,
        collapse=_nothing,
        reason="At this thickness {whole_s} from the pour.",
        notation={**_NOTATION, "value": Notation("t", "day", "wait left")},
        steps=(
            Step(
                "whole_s",
                "",
                "1/4 in 48 h, 1/2 in 72 h, 3/4 in 5 d, 1 in 7 d, 2 in 14 d; between them on a straight line",
            ),
            _LEFT,
        ),
        valid=(Valid("screed_thickness", 0.25 * _INCH, 2 * _INCH, "the manual: 1/4 to 2 in"),),
        cautions=(_TEST, "Tested under a taped plastic sheet (ASTM D4263); the dish test is not for gypsum."),
        rests_on=PRACTICE,
        informs=True,
    ),
    Demand(
        name="anhydrite_wait",
        title="Drying left of a calcium sulfate screed",
        subject="moisture",
        domain=number_domain("anhydrite_wait", "day", 0, 1000),
        scale=RATIO,
        source="trade pages on calcium sulfate screeds: a day a mm to 40 mm, two days a mm beyond",
        reads={"screed_thickness": RAISES, "screed_age": LOWERS},
        takes={},
        through={},
        kernel=_anhydrite,
        collapse=_nothing,
        reason="At this thickness {whole_s} from the pour in good drying weather.",
        notation={**_NOTATION, "value": Notation("t", "day", "drying left")},
        steps=(
            Step(
                "whole_s",
                "86400*(min(1000*h, 40) + 2*max(1000*h - 40, 0))",
                "a day a mm to 40 mm, two days a mm beyond",
            ),
            _LEFT,
        ),
        valid=(Valid("screed_thickness", 0.02, 0.1, "screeds of 20 to 100 mm; common practice, no source"),),
        cautions=(_TEST, "Good drying weather: warm, aired, laitance sanded off; else longer."),
        rests_on=PRACTICE,
        informs=True,
    ),
)
