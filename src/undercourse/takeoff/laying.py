"""From a membrane's stated properties to the sheet that the layout is given."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from undercourse.assembly.costs import best_pack, coverage_for, regional_packs
from undercourse.base.problems import Problem, Problems
from undercourse.facts.jobs import FloorMarks
from undercourse.layout import AreaPlan, Layout, Sheet, lay_out, make_outline
from undercourse.line.records import Product

Ring = Sequence[tuple[float, float]]

HOURS_A_PIECE = 2.0 / 60.0
"""To measure, cut, carry and fit one piece; common practice, no source. [h]"""

HOURS_A_METRE = {"butt": 0.2 / 60.0, "lap": 1.0 / 60.0}
"""To close one metre of seam by its kind; taped ones as lapped ones. Common practice, no source. [h]"""

HOUR_IN_SHEET_M2 = 4.0
"""What an hour of work is taken to cost where the line states no rate, in square metres of sheet; common
practice, no source. [m2]"""


def sheet_for(
    product: Product, region: str = "", labor_rate: float = 0.0, tape_price_m: float | None = None
) -> Sheet | None:
    """The sheet that a membrane is laid as; None for one that comes in pails.

    Parameters
    ----------
    labor_rate : float
        Cost of an hour of work in the currency of the packs; where it is 0, an hour is worth
        ``HOUR_IN_SHEET_M2`` of sheet.
    tape_price_m : float, optional
        Cost of the tape over a metre of seam; None where seams are not taped.
    """
    packs = [pack for pack in regional_packs(product, region) if pack.width_m and pack.length_m]
    if not packs:
        return None
    # Strips of one width: the stated roll width, else the widest sold.
    stated = product.number("roll_width")
    width = stated if any(pack.width_m == stated for pack in packs) else max(p.width_m or 0.0 for p in packs)
    packs = [pack for pack in packs if pack.width_m == width]
    lengths = sorted({float(pack.length_m or 0) for pack in packs})
    prices = [min(pack.price for pack in packs if pack.length_m == length) for length in lengths]
    lap = product.number("seam_overlap") or 0.0
    least_price_m = min(price / length for price, length in zip(prices, lengths, strict=True))
    hour = labor_rate or HOUR_IN_SHEET_M2 * least_price_m / float(packs[0].width_m or 0)
    closing = HOURS_A_METRE["butt" if not lap and tape_price_m is None else "lap"]
    return Sheet(
        width_m=float(packs[0].width_m or 0),
        roll_lengths_m=tuple(lengths),
        seam_gap_m=-lap if lap else product.number("seam_gap") or 0.0,
        edge_gap_m=product.number("edge_gap") or 0.0,
        smallest_piece_m=product.number("smallest_piece") or 0.1,
        trim_m=product.number("trim") or 0.0,
        roll_prices=tuple(prices),
        seam_cost_m=closing * hour + (tape_price_m or 0.0),
        cut_cost=HOURS_A_PIECE * hour,
    )


def tape_price_m(goods: Sequence[tuple[str, Product]]) -> float | None:
    """Cost of tape over a metre of seam in a candidate; None where none is taped, 0 without a price."""
    for role, product in goods:
        if role == "seam tape":
            coverage, pack = coverage_for(product, role), best_pack(product)
            if coverage is None or coverage.unit != "m" or pack is None:
                return 0.0
            return pack.price / coverage.per_pack
    return None


def laying_plan(
    areas: Sequence[tuple[str, Ring, Sequence[Ring]]],
    product: Product,
    region: str = "",
    seed: int = 0,
    marks: Mapping[str, FloorMarks] | None = None,
    labor_rate: float = 0.0,
    tape_price_m: float | None = None,
) -> Layout | None:
    """Lay one membrane in areas given as (name, outline, obstacles); None for a liquid.

    Parameters
    ----------
    marks : mapping, optional
        By the name of an area: a held direction and start line, and the lines that seams are kept off.
    labor_rate, tape_price_m
        As in `sheet_for`: what seams and pieces cost beside the sheet.

    Raises
    ------
    Problems
        Faulty outlines, all at once.
    """
    sheet = sheet_for(product, region, labor_rate, tape_price_m)
    if sheet is None:
        return None
    plans: list[AreaPlan] = []
    problems: list[Problem] = []
    for name, outline, obstacles in areas:
        try:
            polygon = make_outline(list(outline), [list(ring) for ring in obstacles], name)
            held = (marks or {}).get(name, FloorMarks())
            lines = tuple(tuple(line) for line in (*held.base_joint_lines, *held.seams_off))
            plans.append(
                AreaPlan(name, polygon, held.strip_direction_deg, held.strip_start_m, keep_off=lines)
            )
        except Problems as error:
            problems += error.problems
    if problems:
        raise Problems(problems)
    if not plans:
        raise Problems(
            [Problem("layout", "no area has an outline", "add outline = [[x, y], …] in metres or plan")]
        )
    return lay_out(plans, sheet, seed=seed)
