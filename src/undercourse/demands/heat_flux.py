"""Where the heat goes: up against what the room asks, down, and held back by a membrane over the heat."""

from __future__ import annotations

import numpy as np

from undercourse.base.columns import ChoiceColumn, Floats, NumberColumn
from undercourse.base.domains import number_domain
from undercourse.base.frame import Frame
from undercourse.demands.heat_layers import (
    BELOW_READS,
    FILM,
    FILM_SOURCE,
    HEATED,
    LAYER_TAKES,
    TILE_READS,
    HeatDemand,
    below_temperature,
    over_heat,
    under_heat,
)
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
    Valid,
    Values,
)
from undercourse.physics.cables import cable_spacing
from undercourse.physics.heat import upward_heat_flux

# Rooms in which people stand wet and bare: the warmer limit of bathrooms is theirs.
BATHS = ("bathroom", "shower", "tub surround", "steam room", "pool")
_LEAST_W_M2 = 0.1
# A room that asks for more than this many times what the floor gives is not heated by it.
_MOST = 10.0


def permitted_surface(frame: Frame, tables: Tables) -> NumberColumn:
    """Surface temperature that is permitted by habit or standard of the place, in a room or a bath. [K]"""
    column = frame["room"]
    assert isinstance(column, ChoiceColumn)
    choices = frame.domain("room").choices
    bits = np.uint64(sum(1 << choices.index(name) for name in BATHS))
    room, bath = (
        choice_range(frame, "jurisdiction", tables.ranges[f"surface_permitted_{kind}"])
        for kind in ("room", "bath")
    )
    some, only = (column.bits & bits) != 0, (column.bits & ~bits) == 0
    return NumberColumn(
        np.where(only, bath.low, np.where(some, np.minimum(room.low, bath.low), room.low)),
        np.where(some, np.where(only, bath.high, np.maximum(room.high, bath.high)), room.high),
    )


def _paths(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    return {
        "above_m2k_w": over_heat(frame, tables).resistance,
        "below_m2k_w": under_heat(frame, tables),
        "below_k": below_temperature(frame, tables),
        "film_w_m2k": FILM,
    }


def _share_collapse(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    permitted: NumberColumn = frame.keep(
        "room", "permitted surface", lambda: permitted_surface(frame, tables)
    )
    return {**_paths(frame, tables), "permitted_k": permitted}


def _up(values: Values) -> tuple[Floats, Values]:
    """Heat that reaches the room at full power."""
    lost = np.maximum(values["room_temperature"] - values["below_k"], 0.0)
    drive = np.maximum(values["heating_power"] * values["below_m2k_w"] - lost, 0.0)
    flux = drive / (1.0 / values["film_w_m2k"] + values["above_m2k_w"] + values["below_m2k_w"])
    return flux, {"drive_k": drive, "full_w_m2": flux}


def _share(values: Values) -> tuple[Floats, Values]:
    full, working = _up(values)
    permitted = upward_heat_flux(values["permitted_k"] - values["room_temperature"])
    given = np.maximum(np.minimum(permitted, full), _LEAST_W_M2)
    working |= {"permitted_w_m2": permitted, "given_w_m2": given}
    share: Floats = np.minimum(values["heat_asked"] / (values["heated_share"] * given), _MOST)
    return share, working


def _down(values: Values) -> tuple[Floats, Values]:
    full, working = _up(values)
    share: Floats = 1.0 - full / np.maximum(values["heating_power"], _LEAST_W_M2)
    return share, working


def _back_collapse(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    over = over_heat(frame, tables)
    rest = NumberColumn(
        np.maximum(over.resistance.low - over.membrane.low, 0.0), over.resistance.high - over.membrane.high
    )
    return {"membrane_m2k_w": over.membrane, "rest_m2k_w": rest, "film_w_m2k": FILM}


def _back(values: Values) -> tuple[Floats, Values]:
    bare = 1.0 / values["film_w_m2k"] + values["rest_m2k_w"]
    back: Floats = values["membrane_m2k_w"] / (bare + values["membrane_m2k_w"])
    return back, {"bare_m2k_w": bare}


def _spacing(values: Values) -> tuple[Floats, Values]:
    power = np.maximum(values["heating_power"], _LEAST_W_M2)
    return cable_spacing(values["cable_output"], power), {"power_w_m2": power}


_NOTATION = {
    "heating_power": Notation("P", "w_m2"),
    "room_temperature": Notation("T_i", "c"),
    "heat_asked": Notation("Φ", "w_m2"),
    "heated_share": Notation("g", "%"),
    "cable_output": Notation("p", "w_m", "power of the cable by its length"),
    "permitted_k": Notation(
        "T_p", "c", "permitted surface temperature", "EN 1264 in Europe; 85 °F by habit in North America"
    ),
    "above_m2k_w": Notation(
        "R", "m2k_w", "resistance from the heat to the surface", "layers and tile by kind"
    ),
    "below_m2k_w": Notation(
        "R_b",
        "m2k_w",
        "resistance from the heat to what is below",
        "layers, base by kind, ISO 13370 for ground",
    ),
    "below_k": Notation("T_b", "c", "temperature below", "by kind of space, common practice, no source"),
    "film_w_m2k": Notation("h", "w_m2k", "film on the floor", FILM_SOURCE),
    "membrane_m2k_w": Notation("R_m", "m2k_w", "resistance of the membrane over the heat"),
    "rest_m2k_w": Notation("R_o", "m2k_w", "resistance of all else over the heat", "layers and tile by kind"),
    "drive_k": Notation("U", "k", "what drives heat up"),
    "full_w_m2": Notation("q_f", "w_m2", "heat up at full power"),
    "permitted_w_m2": Notation("q_p", "w_m2", "heat up at the permitted surface temperature"),
    "given_w_m2": Notation("q", "w_m2", "heat that the heated floor gives"),
    "bare_m2k_w": Notation("R_f", "m2k_w", "resistance to the room without the membrane"),
    "power_w_m2": Notation("P_l", "w_m2", "power, at least 0.1 W/m²"),
}
_DRIVE = Step("drive_k", "max(P*R_b - max(T_i - T_b, 0), 0)", "a warmer space below counts as the room")
_FULL = Step("full_w_m2", "U/(1/h + R + R_b)", "two paths of heat, steady; the loss down is taken off once")
_BOTH = {"above_m2k_w": RAISES, "below_m2k_w": LOWERS, "below_k": LOWERS, "film_w_m2k": LOWERS}
_ZERO = NumberColumn(np.array([0.0]), np.array([0.0]))
_READS = {"heating": CHOICE, "heating_power": LOWERS, "space_below": CHOICE, **TILE_READS, **BELOW_READS}
DEMANDS = (
    HeatDemand(
        name="heat_output_share",
        title="Room heat asked for over what the floor gives",
        subject="heat",
        domain=number_domain("heat_output_share", "ratio", 0, 10),
        scale=RATIO,
        source="EN 1264-2, 8.92·e^1.1 at the permitted surface temperature (trade pages quoting it)",
        reads={
            **_READS,
            "room_temperature": RAISES,
            "heat_asked": RAISES,
            "heated_share": LOWERS,
            "jurisdiction": CHOICE,
            "room": CHOICE,
        },
        takes=LAYER_TAKES,
        through={"permitted_k": LOWERS, **_BOTH},
        kernel=_share,
        collapse=_share_collapse,
        reason="At its permitted {permitted_k} and its power the heated floor gives {given_w_m2}.",
        kinds=HEATED,
        notation={**_NOTATION, "value": Notation("u", "1", "share of the given heat that is asked for")},
        steps=(
            Step("permitted_w_m2", "8.92*max(T_p - T_i, 0)**1.1", "EN 1264-2, basic characteristic"),
            _DRIVE,
            _FULL,
            Step("given_w_m2", "max(min(q_p, q_f), 0.1)"),
            Step("value", "min(Φ/(g*q), 10)", "ten times and more counts as ten times"),
        ),
        cautions=(
            "Strips along outer walls may be warmer (35 °C in Europe); they are not counted.",
            "A heating designer sizes what heats a room; rugs and furniture take from what the floor gives.",
        ),
        rests_on=PRACTICE,
    ),
    HeatDemand(
        name="heat_down_share",
        title="Share of the heat that is lost downward",
        subject="heat",
        domain=number_domain("heat_down_share", "ratio", 0, 1),
        scale=RATIO,
        source="two paths of heat, steady, as EN 1264-2 clause 8; through ground by ISO 13370:2007, 9.1",
        reads={**_READS, "room_temperature": RAISES},
        takes=LAYER_TAKES,
        through=_BOTH,
        kernel=_down,
        collapse=_paths,
        reason="Of the power {full_w_m2} goes up.",
        kinds=HEATED,
        notation={**_NOTATION, "value": Notation("v", "1", "share lost downward")},
        steps=(_DRIVE, _FULL, Step("value", "1 - q_f/max(P, 0.1)")),
        cautions=("Steady, at full power; while a cold slab warms up, more goes down.",),
        rests_on=DERIVED,
        informs=True,
    ),
    HeatDemand(
        name="heat_held_back",
        title="Share of the heat that the membrane over it holds back",
        subject="heat",
        domain=number_domain("heat_held_back", "ratio", 0, 1),
        scale=RATIO,
        source="resistances in series from the heat to the room, steady (derived); film from EN 1264-2",
        reads={"heating": CHOICE, **TILE_READS},
        takes=LAYER_TAKES,
        through={"membrane_m2k_w": RAISES, "rest_m2k_w": LOWERS, "film_w_m2k": RAISES},
        kernel=_back,
        collapse=_back_collapse,
        reason="Without the membrane {bare_m2k_w} lie between heat and room, with it {membrane_m2k_w} more.",
        kinds=HEATED,
        notation={
            **_NOTATION,
            "value": Notation("v", "1", "share held back, the heat as warm"),
        },
        steps=(Step("bare_m2k_w", "1/h + R_o"), Step("value", "R_m/(R_f + R_m)")),
        cautions=(
            "At the same water temperature the floor gives this much less; at the same electric power it"
            " gives nearly the same, and the cables run hotter. 0 where the membrane lies under the heat.",
        ),
        rests_on=DERIVED,
    ),
    Demand(
        name="heating_cable_spacing",
        title="Spacing at which the cable gives the power",
        subject="heat",
        domain=number_domain("heating_cable_spacing", "in", 0, 40_000),
        scale=RATIO,
        source="definition: power by length over power by area",
        reads={"heating_power": LOWERS},
        takes={"cable_output": RAISES},
        through={},
        kernel=_spacing,
        collapse=lambda frame, tables: {},
        reason="A cable of {cable_output} gives {power_w_m2} at this spacing.",
        notation={**_NOTATION, "value": Notation("w", "mm", "spacing")},
        steps=(Step("power_w_m2", "max(P, 0.1)"), Step("value", "p/P_l")),
        valid=(Valid("heating_power", 0.1, 1000.0, "a floor that is heated at all"),),
        cautions=("The cable's own listing sets its least spacing; cable is never cut to fit.",),
        rests_on=DERIVED,
        wanted="high",
    ),
)
