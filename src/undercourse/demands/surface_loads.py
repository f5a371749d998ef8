"""Wheels and feet on tile over a sheet: contact pressure, pressure on the sheet, bending of the tile.

Nothing passes an edge, as at a soft joint; away from edges the tile is taken as endless. The floor-load
class of a tested assembly is another matter: it is never computed. All of it warns and none of it allows.
"""

from __future__ import annotations

from typing import Any

from undercourse.base.domains import number_domain
from undercourse.demands.record import CHOICE, LOWERS, MEMORY, RAISES, RATIO, Demand, Notation, Step, Valid
from undercourse.demands.surface_load_parts import (
    foot_bend,
    foot_press,
    foot_pressure,
    foot_share,
    rolling,
    touch_pressure,
    wheel_bend,
    wheel_inside,
    wheel_press,
    wheel_pressure,
    wheel_share,
)
from undercourse.demands.tiles import MODULUS_NOTE, STRENGTH_NOTE

_NOTES = {
    "wheel_load": Notation("m", "kg"),
    "wheel_width": Notation("W", "mm"),
    "wheel_diameter": Notation("D", "mm"),
    "point_load": Notation("m", "kg"),
    "point_load_width": Notation("F", "mm"),
    "tile_thickness": Notation("h", "mm"),
    "tile_short_edge": Notation("s", "mm"),
    "membrane_bed_modulus": Notation(
        "k", "n_mm3", "bed modulus of the membrane", "the maker's: pressure over how far it gives"
    ),
    "contact_modulus": Notation(
        "E_c", "gpa", "modulus of tread and tile together", "by material of the wheel and finish, from memory"
    ),
    "dynamic": Notation(
        "q", "1", "factor for moving", "1 standing to 1.4 cornering: one engineer's figures, 2004"
    ),
    "strip_ratio": Notation("c_b", "1", "half the contact strip over the wheel's radius", "at most 0.3"),
    "slender": Notation("c_l", "1", "reach over thickness of the tile", "at least 1.75"),
    "tile_modulus": MODULUS_NOTE,
    "tile_strength": STRENGTH_NOTE,
    "mortar_bed": Notation("d_m", "mm", "mortar above the membrane", "3/32 to 1/4 in"),
    "tread": Notation("W", "mm", "width of tread", "as asked"),
    "half_strip": Notation(
        "b", "mm", "half the strip on which the wheel touches", "of the sheet on its pressure"
    ),
    "force_n": Notation("P", "n", "force on the tile"),
    "half_strip_m": Notation("b", "mm", "half the strip on which the wheel touches"),
    "radius_m": Notation("a", "mm", "radius of a circle as large as the contact"),
    "reach_m": Notation("l", "mm", "reach of the tile on its bed"),
    "counted_m": Notation("r", "mm", "radius counted"),
    "section_m": Notation("b_r", "mm", "radius of the resisting section"),
    "interior_pa": Notation("s_i", "mpa", "stress inside"),
    "edge_pa": Notation("s_e", "mpa", "stress at a free edge"),
    "corner_pa": Notation("s_c", "mpa", "stress at a free corner"),
    "wide_pa": Notation("s_w", "mpa", "no more under a wide patch"),
    "worst_pa": Notation("s_b", "mpa", "bending stress of the tile"),
    "depth_m": Notation("d", "mm", "depth of the membrane"),
    "side_m": Notation("c", "mm", "side of a square as large as the foot"),
    "bent_pa": Notation("p_b", "mpa", "pressure as tile spreads it by bending"),
    "cone_pa": Notation("p_c", "mpa", "pressure as the depth spreads it"),
}
_SHARE = Notation("U", "1", "share of the tile's strength used")
_GRAVITY = "weight is mass times standard gravity"
_WHEEL = (
    Step("force_n", "max(9.80665*m*q, 0.001)", _GRAVITY),
    Step("half_strip_m", "sqrt(2*P*D/(pi*W*E_c))", "Hertz: roller on a plane (Johnson 1985, 4.2)"),
)
_FOOT = (Step("force_n", "9.80665*m", _GRAVITY),)
_ROLLING = Step("force_n", "9.80665*m*q", _GRAVITY)
_WHEEL_PATCH = Step("radius_m", "sqrt(2*b*W/pi)")
_FOOT_PATCH = Step("radius_m", "F/2")
_REACH = Step("reach_m", "(E*h**3/(12*(1 - 0.2**2)*k))**0.25", "Westergaard 1926, Poisson ratio 0.2")
_WIDE = "own derivation: M no more than 0.34 p l², by the energy method and finite elements"
_INSIDE = (
    Step("counted_m", "min(a, l)", "beyond the reach the load no longer adds"),
    Step(
        "section_m",
        "",
        "Westergaard 1926: √(1.6 r² + h²) − 0.675 h where r is below 1.724 h, else r; l where a is wider",
    ),
    Step(
        "interior_pa",
        "3*(1 + 0.2)*P/(2*pi*h**2)*(log(l/b_r) + 0.6159315) + 3*(1 + 0.2)*P/(64*h**2)*(r/l)**2",
        "Westergaard 1926, with the next term",
    ),
    Step("wide_pa", "6*0.34*P/(pi*a**2)*l**2/h**2", _WIDE),
)
_EDGES = (
    Step(
        "edge_pa",
        "3*(1 + 0.2)*P/(pi*(3 + 0.2)*h**2)*(log(E*h**3/(100*k*r**4)) + 1.84 - 4*0.2/3 + (1 - 0.2)/2"
        " + 1.18*(1 + 2*0.2)*r/l)",
        "Westergaard 1948, from memory (confidence 95)",
    ),
    Step("corner_pa", "3*P/h**2*(1 - (r*sqrt(2)/l)**0.6)", "Westergaard 1926, from memory (confidence 95)"),
    Step("worst_pa", "min(max(max(s_i, s_e), s_c), s_w)", "the worst place, nothing passes an edge"),
)
_BENT = Step(
    "bent_pa",
    "P/l**2*(1.205**2.5 + (7*l**2/s**2)**2.5)**0.4",
    "free corner: Ioannides 1985 (from memory) and a rigid square; own fit, a bound",
)
_DEPTH = Step("depth_m", "h + d_m")
_LESSER = Step("value", "min(p_b, p_c)", "tile or depth, whichever spreads the load wider")
_HERTZ = Valid(
    "strip_ratio",
    0.0,
    0.3,
    "Johnson, Contact Mechanics, chapter 4: contact small against the wheel; 0.3 by habit, no source",
)
_THIN = Valid(
    "slender",
    1.75,
    1e9,
    "thin plate: the tile reaches well beyond its thickness; 1.75 by common practice, no source",
)
_WHEEL_READS = {"wheels": CHOICE, "wheel_load": RAISES, "wheel_width": LOWERS, "wheel_diameter": LOWERS}
_PRESS_READS = {"wheels": CHOICE, "wheel_load": RAISES, "wheel_width": CHOICE, "wheel_diameter": CHOICE}
_FOOT_READS = {"point_load": RAISES, "point_load_width": LOWERS}
_TILE = {"finish": CHOICE, "tile_thickness": LOWERS}
_STRENGTH = {**_TILE, "tile_absorption": CHOICE}
_TOUCH = {"contact_modulus": RAISES, "dynamic": RAISES, "strip_ratio": RAISES}
_ROLLS = {"dynamic": RAISES, "strip_ratio": RAISES, "half_strip": LOWERS, "tread": LOWERS}
_BENDS = {"tile_modulus": RAISES, "slender": RAISES, "tile_strength": LOWERS}
_PRESSES = {"tile_modulus": LOWERS, "slender": RAISES, "mortar_bed": LOWERS}
_BED = {"membrane_bed_modulus": LOWERS}
_BED_PRESSED = {"membrane_bed_modulus": RAISES}
_SOURCE = (
    "Hertz, Westergaard 1926 and 1948; wide patches and small tile by own derivation; stiffness of tread and"
    " tile from memory"
)
_TREAD = (
    "A thin tread on a rigid rim, a tread edge, grit or a lip at a joint presses harder than this; an air"
    " tire presses about as hard as it is filled."
)
_FREE = (
    "As at a soft joint, where nothing is passed on to the next tile. Hard grout passes some on; a void in"
    " the mortar below makes it worse."
)
_RIGID = "The base below the sheet is taken as rigid. One load of short duration; no impact, no wear."
_NO_CLASS = "Not the floor-load class: that belongs to a tested assembly and is not computed."
_MEAN = "A mean on its patch: the peak below the middle is higher. A corner of tile at a soft joint is taken."


def _demand(name: str, unit: str, high: float, value: Notation, **parts: Any) -> Demand:
    defaults: dict[str, Any] = {
        "subject": "loads on the surface",
        "scale": RATIO,
        "source": _SOURCE,
        "takes": {},
        "rests_on": MEMORY,
        "notation": {**_NOTES, "value": value},
    }
    return Demand(name=name, domain=number_domain(name, unit, 0, high), **{**defaults, **parts})


DEMANDS = (
    _demand(
        "wheel_contact_pressure",
        "psi",
        1e7,
        Notation("p", "mpa", "mean pressure under the wheel"),
        title="Pressure of a wheel on the tile",
        reads={**_WHEEL_READS, "finish": CHOICE},
        through=_TOUCH,
        kernel=touch_pressure,
        collapse=rolling,
        reason="{force_n} touch the tile on a strip twice {half_strip_m} long.",
        steps=(*_WHEEL, Step("value", "P/(2*b*W)")),
        valid=(_HERTZ,),
        cautions=(_TREAD,),
    ),
    _demand(
        "wheel_tile_share",
        "ratio",
        1e6,
        _SHARE,
        title="Tile strength used by a wheel at a soft joint",
        reads={**_WHEEL_READS, **_STRENGTH},
        takes=_BED,
        through={**_TOUCH, **_BENDS},
        kernel=wheel_share,
        collapse=wheel_bend,
        reason="{force_n} bend the tile to {worst_pa} at its worst place.",
        steps=(*_WHEEL, _WHEEL_PATCH, _REACH, *_INSIDE, *_EDGES, Step("value", "s_b/f")),
        valid=(_HERTZ, _THIN),
        cautions=(_FREE, _TREAD, _RIGID, _NO_CLASS),
    ),
    _demand(
        "wheel_tile_share_inside",
        "ratio",
        1e6,
        _SHARE,
        title="Tile strength used by a wheel away from edges",
        reads={**_WHEEL_READS, **_STRENGTH},
        takes=_BED,
        through={**_TOUCH, **_BENDS},
        kernel=wheel_inside,
        collapse=wheel_bend,
        reason="{force_n} bend the tile to {worst_pa} in its middle.",
        steps=(
            *_WHEEL,
            _WHEEL_PATCH,
            _REACH,
            *_INSIDE,
            Step("worst_pa", "min(s_i, s_w)"),
            Step("value", "s_b/f"),
        ),
        valid=(_HERTZ, _THIN),
        cautions=(_TREAD, _RIGID, _NO_CLASS),
    ),
    _demand(
        "wheel_membrane_pressure",
        "psi",
        1e7,
        Notation("p", "mpa", "pressure on the membrane"),
        title="Pressure of a wheel on the membrane",
        reads={**_PRESS_READS, **_TILE, "tile_short_edge": LOWERS},
        takes=_BED_PRESSED,
        through={**_ROLLS, **_PRESSES},
        kernel=wheel_pressure,
        collapse=wheel_press,
        reason="{force_n} at a corner of the tile reach the sheet as the lesser of {bent_pa} and {cone_pa}.",
        steps=(
            _ROLLING,
            _REACH,
            _DEPTH,
            _BENT,
            Step("cone_pa", "P/((2*b + d)*(W + d))", "45° to one side each way; common practice, no source"),
            _LESSER,
        ),
        valid=(_HERTZ,),
        cautions=(_MEAN, _TREAD),
    ),
    _demand(
        "foot_tile_share",
        "ratio",
        1e6,
        _SHARE,
        title="Tile strength used by a foot at a soft joint",
        reads={**_FOOT_READS, **_STRENGTH},
        takes=_BED,
        through=_BENDS,
        kernel=foot_share,
        collapse=foot_bend,
        reason="{force_n} bend the tile to {worst_pa} at its worst place.",
        steps=(*_FOOT, _FOOT_PATCH, _REACH, *_INSIDE, *_EDGES, Step("value", "s_b/f")),
        valid=(_THIN,),
        cautions=(_FREE, _RIGID, _NO_CLASS),
    ),
    _demand(
        "foot_membrane_pressure",
        "psi",
        1e7,
        Notation("p", "mpa", "pressure on the membrane"),
        title="Pressure of a foot on the membrane",
        reads={**_FOOT_READS, **_TILE, "tile_short_edge": LOWERS},
        takes=_BED_PRESSED,
        through=_PRESSES,
        kernel=foot_pressure,
        collapse=foot_press,
        reason="{force_n} at a corner of the tile reach the sheet as the lesser of {bent_pa} and {cone_pa}.",
        steps=(
            *_FOOT,
            _REACH,
            Step("side_m", "F*sqrt(pi)/2", "a round foot as a square of its area"),
            _DEPTH,
            _BENT,
            Step("cone_pa", "P/((c + d)*(c + d))", "45° to one side each way; common practice, no source"),
            _LESSER,
        ),
        cautions=(_MEAN,),
    ),
)
