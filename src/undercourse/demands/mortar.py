"""Mortar: the bed that a notch leaves, how far tile must be beaten in, cells of a sheet, area of a bag.

A notch leaves a volume; what is pressed flat is the bed. Coverage itself is looked at on lifted tiles.
"""

from __future__ import annotations

import numpy as np

from undercourse.base.columns import Floats, NumberColumn
from undercourse.base.domains import number_domain
from undercourse.base.frame import Frame
from undercourse.demands.loads import choice_range
from undercourse.demands.record import (
    CHOICE,
    DERIVED,
    LOWERS,
    PRACTICE,
    RAISES,
    RATIO,
    Demand,
    Notation,
    Step,
    Tables,
    Values,
)
from undercourse.physics.mortar import bag_coverage, cavity_fill, contact_fraction

# Share of the upright notch's bed that stays, as the bag coverages of two general tile guides imply; an
# ideal blade at 45 degrees would leave 0.71.
LEAST_LEFT, MOST_LEFT = 0.46, 0.60
# Mixed mortar from a 50 lb bag, half a cubic foot and a tenth either way; common practice, no source.
_BAG_M3 = 0.5 * 0.3048**3
LEAST_BAG_M3, MOST_BAG_M3 = 0.9 * _BAG_M3, 1.1 * _BAG_M3
# Tables of the coverage asked for, by the fact that asks; the largest counts.
COVERAGE = {
    "exposure": "coverage_by_exposure",
    "wet_exposure": "coverage_by_wetting",
    "finish": "coverage_by_finish",
}


def _left(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    """Bed of the notch with an upright blade, and the share of it that stays on the floor."""
    upright = choice_range(frame, "trowel_notch", tables.ranges["notch_upright_bed"])
    return {
        "upright_bed_m": upright,
        "share_left": NumberColumn(np.array([LEAST_LEFT]), np.array([MOST_LEFT])),
    }


def _asked(frame: Frame, tables: Tables) -> NumberColumn:
    """The coverage that place and finish ask for."""
    low, high = np.array([0.0]), np.array([0.0])
    for name, table in COVERAGE.items():
        each = choice_range(frame, name, tables.ranges[table])
        low, high = np.maximum(low, each.low), np.maximum(high, each.high)
    return NumberColumn(low, high)


def _gap_collapse(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    return {**_left(frame, tables), "coverage_asked": _asked(frame, tables)}


def _bag_collapse(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    bag = NumberColumn(np.array([LEAST_BAG_M3]), np.array([MOST_BAG_M3]))
    return {**_left(frame, tables), "bag_m3": bag}


def _nothing(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    return {}


def _bed(values: Values) -> tuple[Floats, Values]:
    bed: Floats = values["share_left"] * values["upright_bed_m"]
    return bed, {}


def _gap(values: Values) -> tuple[Floats, Values]:
    bed, _ = _bed(values)
    return bed / values["coverage_asked"], {"bed_m": bed}


def _contact(values: Values) -> tuple[Floats, Values]:
    bed, _ = _bed(values)
    return contact_fraction(bed, values["pressed_bed"]), {"bed_m": bed}


def _cells(values: Values) -> tuple[Floats, Values]:
    return cavity_fill(values["membrane_cavity_depth"], values["membrane_open_share"]), {}


def _bag(values: Values) -> tuple[Floats, Values]:
    bed, _ = _bed(values)
    cells, _ = _cells(values)
    return bag_coverage(values["bag_m3"], bed + cells), {"bed_m": bed, "cells_m": cells}


_NOTATION = {
    "upright_bed_m": Notation(
        "b_0", "mm", "bed of the notch, blade upright", "geometry of the notch, land as wide as the notch"
    ),
    "share_left": Notation(
        "k", "1", "share of it that stays", "0.46 to 0.60, from the bag coverage of two tile guides"
    ),
    "pressed_bed": Notation("h", "mm"),
    "coverage_asked": Notation(
        "c", "%", "coverage asked for", "80 %; 95 % wet, outdoors (ANSI A108.5) and for stone"
    ),
    "membrane_cavity_depth": Notation("d", "mm", "depth of the sheet's cells"),
    "membrane_open_share": Notation("o", "%", "volume of the cells over depth times area"),
    "bag_m3": Notation("Y", "m3", "mixed mortar from a 50 lb bag", "common practice, no source"),
    "bed_m": Notation("b", "mm", "mean bed"),
    "cells_m": Notation("v", "mm_volume", "mortar in the cells"),
}
_THROUGH = {"upright_bed_m": RAISES, "share_left": RAISES}
_CELLS = {"membrane_cavity_depth": RAISES, "membrane_open_share": RAISES}
_BED_STEP = Step("bed_m", "k*b_0")
_LIFT = "What counts is what three lifted tiles show; lugs on the back and trapped air lower it."
_SUBJECT = "site climate and mortar"

DEMANDS = (
    Demand(
        name="mortar_bed",
        title="Mean bed that the notch leaves",
        subject=_SUBJECT,
        domain=number_domain("mortar_bed", "in", 0, 2),
        scale=RATIO,
        source="geometry of the notch; share that stays from the bag coverage of two general tile guides",
        reads={"trowel_notch": CHOICE},
        takes={},
        through=_THROUGH,
        kernel=_bed,
        collapse=_left,
        reason="Of {upright_bed_m} that the notch holds, {share_left} stay on the floor.",
        notation={**_NOTATION, "value": Notation("b", "mm", "mean bed")},
        steps=(Step("value", "k*b_0"),),
        cautions=(_LIFT,),
        rests_on=PRACTICE,
        informs=True,
    ),
    Demand(
        name="coverage_gap",
        title="How close to the base the tile's back must be beaten in",
        subject=_SUBJECT,
        domain=number_domain("coverage_gap", "in", 0, 2),
        scale=RATIO,
        source="conservation of volume; coverage of ANSI A108.5 as quoted in trade magazines",
        reads={"trowel_notch": CHOICE, "exposure": CHOICE, "wet_exposure": CHOICE, "finish": CHOICE},
        takes={},
        through={**_THROUGH, "coverage_asked": LOWERS},
        kernel=_gap,
        collapse=_gap_collapse,
        reason="A bed of {bed_m} spread over {coverage_asked} of the tile's back.",
        notation={**_NOTATION, "value": Notation("h", "mm", "tile's back over the base, at most")},
        steps=(_BED_STEP, Step("value", "b/c", "ridges keep their volume while they spread")),
        cautions=(
            "Where a dip or a bowed tile leaves more than this, take a larger notch or butter the back.",
            _LIFT,
        ),
        rests_on=PRACTICE,
        informs=True,
        wanted="high",
    ),
    Demand(
        name="mortar_contact",
        title="Contact that the notch can give at this bed",
        subject=_SUBJECT,
        domain=number_domain("mortar_contact", "%", 0, 100),
        scale=RATIO,
        source="conservation of volume when ridges are pressed to a gap",
        reads={"trowel_notch": CHOICE, "pressed_bed": LOWERS},
        takes={},
        through=_THROUGH,
        kernel=_contact,
        collapse=_left,
        reason="A bed of {bed_m} in a gap of {pressed_bed}.",
        notation={**_NOTATION, "value": Notation("f", "%", "share of the tile's back in contact")},
        steps=(_BED_STEP, Step("value", "min(1, b/h)", "ridges keep their volume while they spread")),
        cautions=(_LIFT,),
        rests_on=PRACTICE,
        informs=True,
        wanted="high",
    ),
    Demand(
        name="cavity_fill",
        title="Mortar that fills the cells of the sheet",
        subject=_SUBJECT,
        domain=number_domain("cavity_fill", "mm", 0, 40),
        scale=RATIO,
        source="volume of the cells by area",
        reads={},
        takes=_CELLS,
        through={},
        kernel=_cells,
        collapse=_nothing,
        reason="The cells' volume by area; it comes on top of the bed.",
        notation={**_NOTATION, "value": Notation("v", "mm_volume", "mortar in the cells")},
        steps=(Step("value", "d*o"),),
        rests_on=DERIVED,
        informs=True,
    ),
    Demand(
        name="bag_area",
        title="Area that a 50 lb bag covers",
        subject=_SUBJECT,
        domain=number_domain("bag_area", "ft2", 0, 20_000),
        scale=RATIO,
        source="volume of a bag over bed and cells; half a cubic foot a bag is common practice, no source",
        reads={"trowel_notch": CHOICE},
        takes=dict.fromkeys(_CELLS, LOWERS),
        through={"upright_bed_m": LOWERS, "share_left": LOWERS, "bag_m3": RAISES},
        kernel=_bag,
        collapse=_bag_collapse,
        reason="A bag of {bag_m3} over a bed of {bed_m} and cells of {cells_m}.",
        notation={**_NOTATION, "value": Notation("A", "m2", "area of a bag")},
        steps=(_BED_STEP, Step("cells_m", "d*o"), Step("value", "Y/(b + v)")),
        cautions=(
            "Back-buttering, dips and the pail come on top. A take-off counts the coverage that the mortar's"
            " maker states.",
        ),
        rests_on=PRACTICE,
        informs=True,
        wanted="high",
    ),
)
