"""How the floor warms up in its first hour, and how warm water in tubes makes it."""

from __future__ import annotations

import numpy as np

from undercourse.base.columns import Floats, NumberColumn
from undercourse.base.domains import number_domain
from undercourse.base.frame import Frame
from undercourse.demands.heat_layers import (
    FILM,
    FILM_SOURCE,
    HEATED,
    LAYER_TAKES,
    TILE_READS,
    HeatDemand,
    over_capacity,
    over_heat,
    room_temperature,
    under_contact,
)
from undercourse.demands.loads import choice_range
from undercourse.demands.record import (
    CHOICE,
    DERIVED,
    LOWERS,
    MEMORY,
    OTHER,
    RAISES,
    RATIO,
    Notation,
    Step,
    Tables,
    Valid,
    Values,
)
from undercourse.physics.heat import surface_excess
from undercourse.physics.warm_floor import surface_rise
from undercourse.physics.water_floor import spacing_factor, usual_pipe_transfer

HOUR_S = 3600.0
# Screed of lambda 0.8 to 2.0. Pipes other than 20 mm and screed other than 45 mm over them: factors of the
# standard's tables from 14 mm pipes under 75 mm to 25 mm pipes under 30 mm. From memory.
_SCREED = NumberColumn(np.array([0.8]), np.array([2.0]))
_PIPE = NumberColumn(np.array([0.80]), np.array([1.15]))


def _rise_collapse(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    found: dict[str, NumberColumn] = frame.keep(
        "above_membrane_resistance", "heat warmth", lambda: _warmth(frame, tables)
    )
    return found


def _warmth(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    return {
        "above_m2k_w": over_heat(frame, tables).resistance,
        "above_j_m2k": over_capacity(frame, tables),
        "contact_m2k_w": under_contact(frame, tables),
        "effusivity": choice_range(frame, "base", tables.ranges["base_effusivity"]),
        "film_w_m2k": FILM,
    }


def _rise(values: Values) -> tuple[Floats, Values]:
    rise = surface_rise(
        HOUR_S,
        values["heating_power"],
        values["above_m2k_w"],
        values["above_j_m2k"],
        values["film_w_m2k"],
        values["contact_m2k_w"],
        values["effusivity"],
    )
    return rise, {}


def _water_collapse(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    over = over_heat(frame, tables)
    return {"covering_m2k_w": over.resistance, "screed_w_mk": _SCREED, "pipe_factor": _PIPE}


def _water(values: Values) -> tuple[Floats, Values]:
    covering, screed = values["covering_m2k_w"], values["screed_w_mk"]
    usual = usual_pipe_transfer(values["heating_spacing"], covering, screed)
    transfer = usual * values["pipe_factor"]
    room = values["room_temperature"]
    excess = np.maximum(values["water_temperature"] - room, 0.0)
    flux = transfer * excess
    working = {"spacing_factor": spacing_factor(covering), "transfer_w_m2k": transfer, "flux_w_m2": flux}
    return room + np.minimum(surface_excess(flux), excess), working


_ROOM = "room_temperature"
_NOTATION = {
    "heating_power": Notation("P", "w_m2"),
    "heating_spacing": Notation("w", "mm"),
    "water_temperature": Notation("T_w", "c"),
    _ROOM: Notation("T_i", "c"),
    "above_m2k_w": Notation(
        "R", "m2k_w", "resistance from the heat to the surface", "layers and tile by kind"
    ),
    "above_j_m2k": Notation(
        "C", "j_m2k", "heat capacity over the heat", "from memory: tile, mortar and screed"
    ),
    "contact_m2k_w": Notation("R_u", "m2k_w", "new layers between the heat and the base"),
    "effusivity": Notation("b", "effusivity", "√(k·ρ·c) of the base", "by kind of base"),
    "film_w_m2k": Notation("h", "w_m2k", "film on the floor", FILM_SOURCE),
    "covering_m2k_w": Notation("R", "m2k_w", "resistance on the screed", "layers and tile by kind"),
    "screed_w_mk": Notation("λ", "w_mk", "conductivity of the screed", "0.8 to 2.0, from memory"),
    "pipe_factor": Notation(
        "f", "1", "other pipes and screeds than 20 mm under 45 mm", "0.80 to 1.15, from memory"
    ),
    "spacing_factor": Notation("a_T", "1", "factor of the spacing"),
    "transfer_w_m2k": Notation("K", "w_m2k", "heat up for each kelvin of the water"),
    "flux_w_m2": Notation("q", "w_m2", "heat up"),
}
DEMANDS = (
    HeatDemand(
        name="heat_rise_one_hour",
        title="How much warmer the tile is an hour after switching on",
        subject="heat",
        domain=number_domain("heat_rise_one_hour", "deltaF", 0, 600),
        scale=RATIO,
        source="transient conduction, one even layer on a deep base (Carslaw and Jaeger, 3.7; derived)",
        reads={"heating": CHOICE, "heating_power": RAISES, "base": CHOICE, **TILE_READS},
        takes=LAYER_TAKES,
        through={
            "above_m2k_w": LOWERS,
            "above_j_m2k": LOWERS,
            "contact_m2k_w": RAISES,
            "effusivity": LOWERS,
            "film_w_m2k": LOWERS,
        },
        kernel=_rise,
        collapse=_rise_collapse,
        reason="{heating_power} warm {above_j_m2k} over the heat, and the base below it.",
        kinds=HEATED,
        notation={**_NOTATION, "value": Notation("θ", "k", "rise of the mean surface in an hour")},
        steps=(
            Step(
                "value",
                "",
                "transfer function of a layer (R, C) with film h, over R_u and a half space b; twelve terms"
                " of an inverse Laplace transform at 3,600 s",
            ),
        ),
        valid=(
            Valid("above_m2k_w", 0.0, 0.25, "inverse transform checked to 0.25 m²·K/W"),
            Valid("above_j_m2k", 1e3, 1.5e5, "inverse transform checked to 150 kJ/(m²·K), about 70 mm"),
        ),
        cautions=("All starts at one temperature; the floor sensor may switch off before the hour is over.",),
        rests_on=DERIVED,
        informs=True,
        wanted="high",
    ),
    HeatDemand(
        name="heat_water_surface",
        title="Mean tile surface over tubes in a screed",
        subject="heat",
        domain=number_domain("heat_water_surface", "F", 0, 220),
        scale=OTHER,
        source="EN 1264-2, type A, tubes in screed on insulation (coefficients from memory, confidence 88)",
        reads={
            "heating": CHOICE,
            "heating_spacing": LOWERS,
            "water_temperature": RAISES,
            _ROOM: RAISES,
            **TILE_READS,
        },
        takes=LAYER_TAKES,
        through={"covering_m2k_w": LOWERS, "screed_w_mk": RAISES, "pipe_factor": RAISES},
        kernel=_water,
        collapse=_water_collapse,
        reason="The water gives {flux_w_m2} to the room through {covering_m2k_w}.",
        kinds=("hydronic", "other"),
        unheated=room_temperature,
        notation={**_NOTATION, "value": Notation("T", "c", "mean of the tile surface")},
        steps=(
            Step("spacing_factor", "", "EN 1264-2: 1.23, 1.188, 1.156, 1.134 for 0, 0.05, 0.10, 0.15 m²·K/W"),
            Step(
                "transfer_w_m2k",
                "6.7*(1/10.8 + 0.045)/(1/10.8 + 0.045/λ + R)*a_T**(1 - w/0.075)*f",
                "EN 1264-2, type A",
            ),
            Step("flux_w_m2", "K*max(T_w - T_i, 0)"),
            Step(
                "value", "T_i + min((q/8.92)**(1/1.1), max(T_w - T_i, 0))", "EN 1264-2, basic characteristic"
            ),
        ),
        valid=(
            Valid("heating_spacing", 0.05, 0.375, "EN 1264-2, annex A"),
            Valid("covering_m2k_w", 0.0, 0.15, "EN 1264-2, annex A"),
        ),
        cautions=(
            "Insulation under the screed is taken as the standard asks; without it the tile is cooler.",
        ),
        rests_on=MEMORY,
    ),
)
