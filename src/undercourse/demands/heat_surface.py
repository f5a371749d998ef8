"""How hot the tile gets over the heat: while a floor sensor holds, and with the control failed.

The base evens out the heat of the cables by an unknown amount. Between no unevenness at all and that of
cables on a plane that passes nothing of it no fact decides, so a verdict counts only where both agree.
"""

from __future__ import annotations

import numpy as np

from undercourse.base.columns import Floats, NumberColumn
from undercourse.base.domains import number_domain
from undercourse.base.frame import Frame
from undercourse.demands.heat_layers import (
    BELOW_READS,
    ELECTRIC,
    FILM,
    FILM_SOURCE,
    HEATED,
    LAYER_TAKES,
    TILE_READS,
    HeatDemand,
    below_temperature,
    over_heat,
    room_temperature,
    under_heat,
)
from undercourse.demands.record import (
    CHOICE,
    DERIVED,
    LOWERS,
    OTHER,
    RAISES,
    Notation,
    Step,
    Tables,
    Valid,
    Values,
)
from undercourse.physics.cable_ripple import cable_ripple
from undercourse.physics.heat import surface_excess

_SHARE = NumberColumn(np.array([0.0]), np.array([1.0]))
# Where the sensor would be no warmer than the room it reads nothing: a dip past any resistance.
_BLIND_M2K_W = 10.0
_LEAST_M2K_W = 1e-6


def _common(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    over = over_heat(frame, tables)
    return {
        "above_m2k_w": over.resistance,
        "cover_m": over.cover,
        "cover_w_mk": over.conductivity,
        "film_w_m2k": FILM,
        "ripple_share": _SHARE,
        "below_m2k_w": under_heat(frame, tables),
        "below_k": below_temperature(frame, tables),
    }


def _held_collapse(frame: Frame, tables: Tables) -> dict[str, NumberColumn]:
    room = room_temperature(frame)
    return {**_common(frame, tables), "room_k": room, "room_cold_k": room}


def _ripple(values: Values, film: Floats) -> tuple[Floats, Floats]:
    """Crest and dip that count; none of either where none is to be reckoned with."""
    share = values["ripple_share"]
    if not np.any(share):
        return np.zeros_like(film), np.zeros_like(film)
    found = cable_ripple(values["heating_spacing"], values["cover_m"], values["cover_w_mk"], film)
    blind = found.dip_m2k_w * film >= 1.0
    return share * found.crest_m2k_w, share * np.where(blind, _BLIND_M2K_W, found.dip_m2k_w)


def _held(values: Values) -> tuple[Floats, Values]:
    film = values["film_w_m2k"]
    crest, dip = _ripple(values, film)
    limit, room, cold = values["heating_sensor_limit"], values["room_k"], values["room_cold_k"]
    over, under = 1.0 / film + values["above_m2k_w"], values["below_m2k_w"]
    whole = 1.0 + over / under
    lost = np.maximum(room - values["below_k"], 0.0) / under
    peak = 1.0 / film + whole * crest
    sensor = np.maximum(over - whole * dip, _LEAST_M2K_W)
    gain = peak / sensor
    held = (
        np.maximum(limit, room)
        + np.maximum(limit - cold, 0.0) * np.maximum(gain - 1.0, 0.0)
        - np.maximum(limit - room, 0.0) * np.maximum(1.0 - gain, 0.0)
        + lost * (dip * gain + crest)
    )
    full = room + values["heating_power"] * (1.0 / film + crest)
    working = {"crest_m2k_w": crest, "dip_m2k_w": dip, "whole": whole, "lost_w_m2": lost, "peak_m2k_w": peak}
    working |= {"sensor_m2k_w": sensor, "gain": gain, "held_k": held, "full_k": full}
    return np.maximum(np.minimum(held, full), room), working


def _failed(values: Values) -> tuple[Floats, Values]:
    rug, power, room = values["rug_resistance"], values["heating_power"], values["room_temperature"]
    under = values["below_m2k_w"]
    lost = np.maximum(room - values["below_k"], 0.0)
    drive = np.maximum(power * under - lost, 0.0)
    film = values["film_w_m2k"]
    flux = drive / (1.0 / film + values["above_m2k_w"] + rug + under)
    excess = surface_excess(flux)
    covered = film / (1.0 + film * rug)
    crest, _ = _ripple(values, covered)
    working = {"drive_k": drive, "flux_w_m2": flux, "excess_k": excess}
    working |= {"covered_w_m2k": covered, "crest_m2k_w": crest, "mean_k": room + excess + flux * rug}
    return working["mean_k"] + power * crest, working


_SERIES = (
    "σ times the series of cables on an insulator: sum over n of 2/(h·cosh(b·d) + k·b·sinh(b·d)), b = 2πn/w"
)
_DIP = (
    "σ times the sum over n of ±2·(k·b + h·t)/(k·b·(h + k·b·t)), t = tanh(b·d), + for odd n; "
    "10 where the sensor would be no warmer than the room"
)
_NOTATION = {
    "heating_spacing": Notation("w", "mm"),
    "heating_sensor_limit": Notation("L", "c"),
    "heating_power": Notation("P", "w_m2"),
    "rug_resistance": Notation("R_r", "m2k_w"),
    "room_temperature": Notation("T_i", "c"),
    "room_k": Notation("T_i", "c", "temperature of the room"),
    "room_cold_k": Notation("T_c", "c", "temperature of the room, its colder end where it is not known"),
    "above_m2k_w": Notation(
        "R", "m2k_w", "resistance from the heat to the surface", "layers and tile by kind"
    ),
    "cover_m": Notation("d", "mm", "axis of the heat below the surface", "layers and tile"),
    "cover_w_mk": Notation("k", "w_mk", "conductivity of the cover", "the least of mortar and tile"),
    "film_w_m2k": Notation("h", "w_m2k", "film on the floor", FILM_SOURCE),
    "ripple_share": Notation(
        "σ", "1", "share of the unevenness on a perfect insulator", "not known; none and all bound it"
    ),
    "below_m2k_w": Notation(
        "R_b",
        "m2k_w",
        "resistance from the heat to what is below",
        "layers, base by kind, ISO 13370 for ground",
    ),
    "below_k": Notation("T_b", "c", "temperature below", "by kind of space, common practice, no source"),
    "crest_m2k_w": Notation("S", "m2k_w", "crest over a cable, for its power"),
    "dip_m2k_w": Notation("D", "m2k_w", "dip at the sensor half way between two, for their power"),
    "whole": Notation("ρ", "1", "power over heat up, with the room's temperature below"),
    "lost_w_m2": Notation("G", "w_m2", "heat down to a colder space"),
    "peak_m2k_w": Notation("s", "m2k_w", "peak of the surface over the room, for the heat up"),
    "sensor_m2k_w": Notation("Q", "m2k_w", "sensor over the room, for the heat up"),
    "gain": Notation("r", "1", "peak over sensor, both over the room"),
    "held_k": Notation("T_h", "c", "peak while the sensor holds"),
    "full_k": Notation("T_f", "c", "peak with all power going up"),
    "drive_k": Notation("U", "k", "what drives heat up"),
    "excess_k": Notation("e", "k", "mean excess over the room on top of the rug"),
    "flux_w_m2": Notation("q", "w_m2", "heat that goes up"),
    "covered_w_m2k": Notation("h_r", "w_m2k", "film and rug"),
    "mean_k": Notation("T_m", "c", "mean of the tile surface"),
    "value": Notation("T", "c", "peak of the tile surface"),
}
_SPACED = (
    Valid("heating_spacing", 0.02, 0.32, "series checked for spacings of 20 to 320 mm"),
    Valid("cover_m", 0.004, 2.0, "series checked from a cover of 1/80 of the spacing on"),
)
_THROUGH = {
    "above_m2k_w": LOWERS,
    "cover_m": LOWERS,
    "cover_w_mk": LOWERS,
    # One number, so its way is never asked.
    "film_w_m2k": LOWERS,
    "ripple_share": RAISES,
}
_ELECTRIC_CAUTION = (
    "Electric heat: a licensed electrician connects and tests it, on a ground-fault-protected circuit of its"
    " own under the local code; this number replaces neither listing nor manual."
)
_SKIN = "A hot floor can burn skin that rests on it long before it feels hot."
DEMANDS = (
    HeatDemand(
        name="heat_surface_peak_held",
        title="Hottest tile while the floor sensor holds at its limit",
        subject="heat",
        domain=number_domain("heat_surface_peak_held", "F", 0, 2000),
        scale=OTHER,
        source="exact series of line sources on an insulator, steady (derived); film from EN 1264-2",
        reads={
            "heating": CHOICE,
            "heating_spacing": RAISES,
            "heating_sensor_limit": RAISES,
            "heating_power": RAISES,
            "room_temperature": CHOICE,
            "space_below": CHOICE,
            **TILE_READS,
            **BELOW_READS,
        },
        takes=LAYER_TAKES,
        through={
            "room_k": RAISES,
            "room_cold_k": LOWERS,
            "below_m2k_w": LOWERS,
            "below_k": LOWERS,
            **_THROUGH,
        },
        kernel=_held,
        collapse=_held_collapse,
        reason="For the heat that goes up, tile over a cable has {peak_m2k_w} to the room and the sensor"
        " {sensor_m2k_w}; full power alone would bring it to {full_k} at the most.",
        model_parameter="ripple_share",
        kinds=HEATED,
        unheated=room_temperature,
        notation=_NOTATION,
        steps=(
            Step("crest_m2k_w", "", _SERIES),
            Step("dip_m2k_w", "", _DIP),
            Step("whole", "1 + (1/h + R)/R_b", "two paths of heat, steady"),
            Step("lost_w_m2", "max(T_i - T_b, 0)/R_b", "a warmer space below counts as the room"),
            Step("peak_m2k_w", "1/h + ρ*S"),
            Step(
                "sensor_m2k_w", "max(1/h + R - ρ*D, 0.000001)", "the sensor lies at the depth of the cables"
            ),
            Step("gain", "s/Q"),
            Step(
                "held_k",
                "max(L, T_i) + max(L - T_c, 0)*max(r - 1, 0) - max(L - T_i, 0)*max(1 - r, 0) + G*(D*r + S)",
                "the room plus r times what the limit is over it",
            ),
            Step("full_k", "T_i + P*(1/h + S)"),
            Step("value", "max(min(T_h, T_f), T_i)", "never more than full power gives"),
        ),
        valid=_SPACED,
        cautions=(
            "The sensor is taken half way between two cables, at their depth, as manuals ask; beside a cable"
            " it keeps the floor cooler, higher up hotter. Its own error comes on top.",
            "The sensor feels only what lies over itself: tile below a rug or a mattress elsewhere gets"
            " hotter than this.",
            _ELECTRIC_CAUTION,
        ),
        rests_on=DERIVED,
    ),
    HeatDemand(
        name="heat_surface_failed",
        title="Hottest tile with the electric control failed",
        subject="heat",
        domain=number_domain("heat_surface_failed", "F", 0, 3000),
        scale=OTHER,
        source="EN 1264-2, characteristic curve; exact series of cables on an insulator, steady (derived)",
        reads={
            "heating": CHOICE,
            "heating_spacing": RAISES,
            "heating_power": RAISES,
            "room_temperature": RAISES,
            "rug_resistance": RAISES,
            "space_below": CHOICE,
            **TILE_READS,
            **BELOW_READS,
        },
        takes=LAYER_TAKES,
        through={"below_m2k_w": RAISES, "below_k": RAISES, **_THROUGH},
        kernel=_failed,
        collapse=_common,
        reason="Running on at full power it sends {flux_w_m2} up; the mean tile is at {mean_k}.",
        model_parameter="ripple_share",
        kinds=ELECTRIC,
        unheated=room_temperature,
        notation=_NOTATION,
        steps=(
            Step("drive_k", "max(P*R_b - max(T_i - T_b, 0), 0)", "a warmer space below counts as the room"),
            Step(
                "flux_w_m2", "U/(1/h + R + R_r + R_b)", "two paths of heat; the loss down is taken off once"
            ),
            Step("excess_k", "(q/8.92)**(1/1.1)", "EN 1264-2, basic characteristic turned round"),
            Step("covered_w_m2k", "h/(1 + h*R_r)"),
            Step("crest_m2k_w", "", _SERIES.replace("h·cosh", "h_r·cosh")),
            Step("mean_k", "T_i + e + q*R_r"),
            Step("value", "T_m + P*S"),
        ),
        valid=(
            *_SPACED,
            Valid("heating_power", 0.0, 175.41, "EN 1264-2 gives its curve up to 15 K, that is 175 W/m2"),
        ),
        cautions=(
            _ELECTRIC_CAUTION,
            _SKIN,
            "A space below that is warmer than the room adds to this number.",
        ),
        rests_on=DERIVED,
    ),
)
