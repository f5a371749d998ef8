"""What carries a framed floor: the stiffness and strength of one joist, however it is known.

Sawn joists by species, grade and size, with a sister of another size where one is; other framing by the
EI that its maker states, or by an L/n stated for another load, which is the EI of a simple span. The fact
``base`` says which framing it is, ``framing_stated_as`` how its stiffness is stated. An L/n for this very
floor needs no EI: see ``framing_deflection``.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from undercourse.base.columns import Bits, Bools, Floats, NumberColumn, some
from undercourse.base.frame import Frame
from undercourse.demands.columns import bits, number, union
from undercourse.demands.record import CHOICE, LOWERS, RAISES, Notation, Tables, Values
from undercourse.physics.joist_floors import sistered_capacity, stiffness_from_ratio

G = 9.80665
SAWN = "sawn joists"
STEEL = "cold-formed steel joists"
STATED = ("joists with stated stiffness", "I-joists", "open-web trusses", STEEL)
_QUANTITIES = ("ei_nm2", "moment_nm", "wet_moment_nm", "shear_n", "depth_m")
_JOIST = ("joist_species", "joist_grade", "joist_size")
_SISTER = ("joist_sister_species", "joist_sister_grade", "joist_sister_size")
# Wet service, NDS Supplement Table 4A: E and shear; bending has a table of its own.
_WET_E, _WET_SHEAR = 0.9, 0.97
# Repetitive member factor, NDS 4.3.9: joists at most 24 in apart; the slack is for 24 in in meters.
REPETITIVE, WIDEST_REPETITIVE_M = 1.15, 24 * 0.0254
# Where a floor has no member to look up any EI does: the number is not used.
_NO_EI = 1e6

SOURCE = "NDS 2018, 3.2 to 3.5, with NDS Supplement 2018 values; clear span as in IRC Table R502.3.1"
MEMBER_READS = {
    **dict.fromkeys(("base", *_JOIST, "joist_plies", *reversed(_SISTER), "joist_wet_service"), CHOICE),
    **dict.fromkeys(("framing_stated_as", "joist_ei", "framing_rated_l_over", "framing_rated_load"), CHOICE),
    "joist_spans": CHOICE,
    "joist_spacing": RAISES,
    "joist_span": RAISES,
}
STIFFNESS_THROUGH = {"ei_nm2": LOWERS, "boards": LOWERS, "sister_nm2": LOWERS}
_VALUES = "NDS Supplement 2018 by species, grade and size; or as stated"
_COEFFICIENT = "beam formula tables, equal spans; the worst of the ways in which spans may be loaded"
NOTATION = {
    "live_load": Notation("p", "kpa"),
    "existing_dead_load": Notation("g", "kpa"),
    "joist_spacing": Notation("s", "m"),
    "joist_span": Notation("L", "m"),
    "ei_nm2": Notation("EI", "nm2", "stiffness of one board or joist", _VALUES),
    "boards": Notation("n", "count", "boards of the joist's own size"),
    "sister_nm2": Notation("EI_s", "nm2", "stiffness of the sister of another size", _VALUES),
    "stiffness_nm2": Notation("EI_n", "nm2", "stiffness of all boards of a joist"),
    "live_coefficient": Notation("c_p", "1", "deflection coefficient, live load", _COEFFICIENT),
    "dead_coefficient": Notation("c_g", "1", "deflection coefficient, all spans loaded", _COEFFICIENT),
    "load_n_m": Notation("w", "n_m", "live load on one joist"),
    "dead_n_m": Notation("w_g", "n_m", "dead load on one joist"),
    "deflection_m": Notation("Δ", "mm", "largest deflection"),
}


class Kinds(NamedTuple):
    """Row by row, what the framing may be, and whether it may be nothing else."""

    sawn: Bools
    by_ei: Bools
    by_rated: Bools
    by_ratio: Bools
    other: Bools
    none: Bools


def kinds(frame: Frame) -> Kinds:
    """Which of the ways to know the framing's stiffness may be the floor's."""
    found: Kinds = frame.keep("base", "framing kinds", lambda: _kinds(frame))
    return found


def base_bits(frame: Frame, names: tuple[str, ...]) -> Bits:
    """The bits of some choices of ``base``."""
    choices = frame.domain("base").choices
    return np.array([sum(1 << choices.index(name) for name in names)], dtype=np.uint64)


def _kinds(frame: Frame) -> Kinds:
    base, how = bits(frame, "base"), bits(frame, "framing_stated_as")
    sawn, stated = base_bits(frame, (SAWN,)), base_bits(frame, STATED)
    may = (base & stated) != 0
    ways = [may & ((how & np.uint64(1 << place)) != 0) for place in range(4)]
    return Kinds((base & sawn) != 0, ways[2], ways[1], ways[0], ways[3], (base & ~(sawn | stated)) != 0)


def _table_ranges(
    frame: Frame, tables: Tables, names: tuple[str, ...], shift: int
) -> dict[str, NumberColumn]:
    """Least and greatest tabulated quantities over the species, grades and sizes still possible."""
    species, grade, size = np.broadcast_arrays(*(bits(frame, name) for name in names))
    size = size >> np.uint64(shift)
    key = (species << np.uint64(40)) | (grade << np.uint64(20)) | size
    unique, back = np.unique(key, return_inverse=True) if key.size > 1 else (key, np.array([0]))
    table = tables.joist_stiffness["all"]
    low, high = (np.empty((len(unique), len(_QUANTITIES))) for _ in range(2))
    for place, packed in enumerate(unique):
        picked = [
            [bit for bit in range(count) if int(packed) >> far >> bit & 1] or list(range(count))
            for far, count in zip((40, 20, 0), table.shape[:3], strict=True)
        ]
        cells = table[np.ix_(*picked)]
        low[place] = cells[:, :, :, 0].min(axis=(0, 1, 2))
        high[place] = cells[:, :, :, 1].max(axis=(0, 1, 2))
    low, high = low[back.reshape(key.shape)], high[back.reshape(key.shape)]
    return {name: NumberColumn(low[:, q], high[:, q]) for q, name in enumerate(_QUANTITIES)}


def _in_service(frame: Frame, found: dict[str, NumberColumn]) -> dict[str, NumberColumn]:
    """Stiffness and strength as the joists are: dry, wet or not known."""
    service = bits(frame, "joist_wet_service")
    dry, wet = (service & np.uint64(1)) != 0, (service & np.uint64(2)) != 0
    if not some(wet):
        return found

    def spread(dried: NumberColumn, wetted: NumberColumn) -> NumberColumn:
        return union([(dry, dried.low, dried.high), (wet, wetted.low, wetted.high)], 0.0)

    ei, shear = found["ei_nm2"], found["shear_n"]
    return {
        **found,
        "ei_nm2": spread(ei, NumberColumn(_WET_E * ei.low, _WET_E * ei.high)),
        "moment_nm": spread(found["moment_nm"], found["wet_moment_nm"]),
        "shear_n": spread(shear, NumberColumn(_WET_SHEAR * shear.low, _WET_SHEAR * shear.high)),
    }


class Sawn(NamedTuple):
    """Sawn joists: one board, how many of them, and the sister of another size."""

    board: dict[str, NumberColumn]
    boards: NumberColumn
    sister: dict[str, NumberColumn] | None
    may_sister: Bools
    may_none: Bools


def sawn(frame: Frame, tables: Tables) -> Sawn:
    """The boards of a sawn joist; without a board of another size there is no sister."""
    found: Sawn = frame.keep("base", "sawn joists", lambda: _sawn(frame, tables))
    return found


def _sawn(frame: Frame, tables: Tables) -> Sawn:
    sizes, plies = bits(frame, "joist_sister_size"), number(frame, "joist_plies")
    # A joist of one board has no second one beside it.
    may_sister = ((sizes & ~np.uint64(1)) != 0) & (plies.high > 1.0)
    may_none = ((sizes & np.uint64(1)) != 0) | (plies.low <= 1.0)
    board = _in_service(frame, _table_ranges(frame, tables, _JOIST, 0))
    if not some(may_sister):
        return Sawn(board, plies, None, may_sister, may_none)
    sister = _in_service(frame, _table_ranges(frame, tables, _SISTER, 1))
    # One of the boards is the sister; the others, at least one, are of the joist's own size.
    own = [(may_none, plies.low, plies.high)]
    own.append((may_sister, np.maximum(plies.low - 1.0, 1.0), np.maximum(plies.high - 1.0, 1.0)))
    return Sawn(board, union(own, 1.0), sister, may_sister, may_none)


def sister_stiffness(joist: Sawn) -> NumberColumn:
    """EI of the sister of another size, 0 where there is none."""
    if joist.sister is None:
        return _NOTHING
    ei = joist.sister["ei_nm2"]
    low = np.where(joist.may_none, 0.0, ei.low)
    return NumberColumn(low, np.where(joist.may_sister, ei.high, 0.0))


def usable(joist: Sawn, quantity: str) -> NumberColumn:
    """What one board may carry where its sister is not to be stressed past its own."""
    own = joist.board[quantity]
    if joist.sister is None:
        return own
    ei, sister = joist.board["ei_nm2"], joist.sister
    other, stiff = sister[quantity], sister["ei_nm2"]
    low = sistered_capacity(own.low, ei.low, other.low, stiff.high)
    high = sistered_capacity(own.high, ei.high, other.high, stiff.low)
    return NumberColumn(np.where(joist.may_sister, low, own.low), np.where(joist.may_none, own.high, high))


_ONE, _ZERO = np.array([1.0]), np.array([0.0])
_NOTHING = NumberColumn(_ZERO, _ZERO)


def stiffness(frame: Frame, tables: Tables, with_ratio: bool = False) -> dict[str, NumberColumn]:
    """Inputs of ``STIFFNESS_THROUGH``: EI of one joist in whichever way it is known.

    ``with_ratio`` takes an L/n for this floor under its live load as an EI too.
    """
    key = f"joist stiffness {with_ratio}"
    found: dict[str, NumberColumn] = frame.keep("base", key, lambda: _stiffness(frame, tables, with_ratio))
    return found


def _stiffness(frame: Frame, tables: Tables, with_ratio: bool) -> dict[str, NumberColumn]:
    kind, joist, stated = kinds(frame), sawn(frame, tables), number(frame, "joist_ei")
    board = joist.board["ei_nm2"]
    rated = _rated(frame, "framing_rated_l_over", "framing_rated_load")
    parts = [
        (kind.sawn, board.low, board.high),
        (kind.by_ei, stated.low, stated.high),
        (kind.by_rated, rated.low, rated.high),
    ]
    one = kind.by_ei | kind.by_rated
    if with_ratio:
        ratio = _rated(frame, "framing_live_l_over", "live_load")
        parts.append((kind.by_ratio, ratio.low, ratio.high))
        one = one | kind.by_ratio
    sister = sister_stiffness(joist)
    return {
        "ei_nm2": union(parts, _NO_EI),
        "boards": union([(kind.sawn, joist.boards.low, joist.boards.high), (one, _ONE, _ONE)], 1.0),
        "sister_nm2": union([(kind.sawn, sister.low, sister.high), (one, _ZERO, _ZERO)], 0.0),
    }


def _rated(frame: Frame, ratio: str, load: str) -> NumberColumn:
    n, p, s, span = (number(frame, name) for name in (ratio, load, "joist_spacing", "joist_span"))
    return NumberColumn(
        stiffness_from_ratio(n.low, p.low, s.low, span.low),
        stiffness_from_ratio(n.high, p.high, s.high, span.high),
    )


def total_stiffness(values: Values) -> Floats:
    """EI of all boards of a joist: they bend alike, so their stiffness adds."""
    result: Floats = values["boards"] * values["ei_nm2"] + values["sister_nm2"]
    return result
