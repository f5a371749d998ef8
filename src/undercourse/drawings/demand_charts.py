"""Which chart explains which demand, and which charts of an area a report has room for."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import Any

from undercourse.advise.area_sheets import chosen_judgement
from undercourse.advise.demanding import one_row
from undercourse.advise.evaluating import Evaluated
from undercourse.demands import DEMANDS, Demand
from undercourse.drawings.chart import Chart, chart_svg
from undercourse.drawings.demand_chart_parts import ChartInput, Compared
from undercourse.drawings.demand_charts_along import draw_along
from undercourse.drawings.demand_charts_cracks import draw_crack_pull
from undercourse.drawings.demand_charts_heat import draw_across_cables, draw_through_layers
from undercourse.drawings.demand_charts_slab import draw_shrinkage_left
from undercourse.drawings.demand_charts_sound import draw_impact_spectrum
from undercourse.drawings.demand_charts_spans import draw_allowable_span, draw_span_at_limits
from undercourse.judge.results import Judgement
from undercourse.judge.rulebook import Rulebook

Draw = Callable[[Demand, ChartInput], Chart | None]
# A report draws at most so many charts for one area.
MOST_CHARTS = 6

DRAWN: dict[str, Draw] = {
    "joist_allowable_span": draw_allowable_span,
    "joist_live_deflection": draw_span_at_limits,
    "joist_total_deflection": draw_span_at_limits,
    "joist_bending": draw_span_at_limits,
    "joist_shear": draw_span_at_limits,
    "heat_surface_peak_held": draw_across_cables,
    "heat_surface_failed": draw_across_cables,
    "heat_down_share": draw_through_layers,
    "heat_output_share": draw_through_layers,
    "heat_water_surface": draw_through_layers,
    "crack_tile_stress": draw_crack_pull,
    "crack_tile_stress_bonded": draw_crack_pull,
    "crack_tile_share": draw_crack_pull,
    "covered_slab_impact_level": draw_impact_spectrum,
    "test_slab_iic": draw_impact_spectrum,
    "slab_remaining_shrinkage": draw_shrinkage_left,
    "slab_remaining_shrinkage_mc90": draw_shrinkage_left,
    "slab_remaining_shrinkage_gl2000": draw_shrinkage_left,
    "slab_remaining_shrinkage_by_size": draw_shrinkage_left,
    "slab_age_for_remainder": draw_shrinkage_left,
}
# Those that set the candidates of an area side by side.
COMPARED = frozenset(name for name, draw in DRAWN.items() if draw is draw_crack_pull)


def chart_of(name: str, given: ChartInput) -> Chart | None:
    """The chart that explains a demand of one area.

    Parameters
    ----------
    name : str
        Name of a computed demand.
    given : ChartInput
        The chosen candidate in that area, its rulebook, the limits of the sheet, the other candidates.

    Returns
    -------
    Chart or None
        None where so much is open, or so little moves, that a chart would tell nothing.
    """
    demand = DEMANDS[name]
    draw = DRAWN.get(name)
    found = draw(demand, given) if draw is not None else None
    return found if found is not None else draw_along(demand, given)


def chart_input(
    evaluated: Evaluated,
    book: Rulebook,
    row: int,
    candidate: str | None,
    limits: Sequence[Mapping[str, Any]] = (),
) -> ChartInput:
    """What charts of one area are drawn of; the candidate by its id, as in ``advise.area_sheets``."""
    chosen = chosen_judgement(evaluated, row, candidate)
    own = one_row(chosen.candidate.frame, row)
    compared = [
        Compared(_name(one), own if one is chosen else one_row(one.candidate.frame, row))
        for one in evaluated.of_row(row)
    ]
    product = next((product for role, product, _ in chosen.candidate.products() if role == "membrane"), None)
    return ChartInput(own, book, tuple(limits), tuple(compared), product)


def _name(judgement: Judgement) -> str:
    membrane = judgement.candidate.membrane
    return membrane.name if membrane is not None else "the asker's own stack"


# Demands whose charts tell the same story, so that a report draws one of each.
_KINDS: dict[Draw, str] = {draw_allowable_span: "spans", draw_span_at_limits: "spans"}


def area_charts(
    evaluated: Evaluated,
    book: Rulebook,
    row: int,
    candidate: str | None,
    sheets: Sequence[Mapping[str, Any]],
    most: int = MOST_CHARTS,
) -> dict[str, str]:
    """Charts for the sheets of one area by name of the demand, as SVG text.

    Parameters
    ----------
    sheets : sequence of mapping
        As ``advise.area_sheets`` gives them. One chart of each kind comes first, on the sheet that uses
        most of its limit, then those of other numbers that a limit is held against.
    """
    given = chart_input(evaluated, book, row, candidate)
    drawn: dict[str, str] = {}
    kinds: set[Draw | str] = set()
    for sheet in sorted((one for one in sheets if one["applies"]), key=_rank):
        draw = DRAWN.get(sheet["demand"])
        kind = _KINDS.get(draw, draw) if draw is not None else None
        if len(drawn) >= most or (kind is None and not sheet["limits"]) or kind in kinds:
            continue
        chart = chart_of(sheet["demand"], replace(given, limits=tuple(sheet["limits"])))
        if chart is not None:
            drawn[sheet["demand"]] = chart_svg(chart)
            kinds |= {kind} if kind is not None else set()
    return drawn


def _rank(sheet: Mapping[str, Any]) -> tuple[bool, bool, float]:
    """The charts of the six kinds first, of each the one that uses most of its limit."""
    shares = [limit["utilisation"] for limit in sheet["limits"] if limit["utilisation"] is not None]
    return sheet["demand"] not in DRAWN, not sheet["limits"], -max(shares, default=0.0)
