"""What tile bears and how stiff it is, from its finish and, for pressed tile, from its water absorption."""

from __future__ import annotations

import numpy as np

from undercourse.base.columns import NumberColumn
from undercourse.base.frame import Frame
from undercourse.demands.columns import bits, number
from undercourse.demands.loads import choice_range
from undercourse.demands.record import Notation, Tables
from undercourse.physics.tile_strength import least_modulus_of_rupture

# Finishes whose groups by absorption the standard for pressed tile names.
_PRESSED = ("ceramic", "porcelain")
POISSON = 0.2
STRENGTH_SOURCE = "by finish; pressed tile at least its group's mean by ISO 13006, tops from memory"
MODULUS_NOTE = Notation("E", "gpa", "modulus of the tile", "by finish, from memory")
STRENGTH_NOTE = Notation("f", "mpa", "bending strength of the tile", STRENGTH_SOURCE)
TENSION_NOTE = Notation(
    "f_t", "mpa", "tension that the tile bears", "0.425 to 0.712 of its bending strength, weakest link"
)


def tile_modulus(frame: Frame, tables: Tables) -> NumberColumn:
    """Elastic modulus of the tile. [Pa]"""
    found: NumberColumn = frame.keep(
        "finish", "tile modulus", lambda: choice_range(frame, "finish", tables.ranges["tile_modulus"])
    )
    return found


def tile_strength(frame: Frame, tables: Tables) -> NumberColumn:
    """Modulus of rupture of the tile. [Pa]"""
    found: NumberColumn = frame.keep("finish", "tile strength", lambda: _strength(frame, tables))
    return found


def _strength(frame: Frame, tables: Tables) -> NumberColumn:
    stated = choice_range(frame, "finish", tables.ranges["tile_strength"])
    absorption, thickness = number(frame, "tile_absorption"), number(frame, "tile_thickness")
    choices = frame.domain("finish").choices
    pressed = np.uint64(sum(1 << choices.index(name) for name in _PRESSED))
    group = least_modulus_of_rupture(absorption.high, thickness.low)
    only = (bits(frame, "finish") & ~pressed) == 0
    low = np.where(only, np.maximum(stated.low, np.minimum(group, stated.high)), stated.low)
    return NumberColumn(low, stated.high + 0 * low)


def tile_tension(frame: Frame, tables: Tables) -> NumberColumn:
    """Even tension that the tile bears. [Pa]"""

    def make() -> NumberColumn:
        strength, share = tile_strength(frame, tables), tables.ranges["tension_share"]["tile"]
        return NumberColumn(strength.low * share[0], strength.high * share[1])

    found: NumberColumn = frame.keep("finish", "tile tension", make)
    return found
