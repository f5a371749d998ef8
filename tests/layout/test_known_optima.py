"""Cut plans through ``lay_out`` against optima known beforehand: planted, reasoned out, or by trying all.

Every floor here is a rectangle no wider than the roll, with its start line held and head joints off, so that
its one strip is the rectangle itself. What is left is how to cut given rectangles across, then lengthwise,
with all rolls but the last counted whole. Lengths are whole centimetres. The last tests lay wider floors.
"""

from __future__ import annotations

import itertools
import random
from collections.abc import Iterator, Sequence
from dataclasses import asdict

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from layout_validator import faults
from planted import triplets
from shapely import box

from undercourse.layout import AreaPlan, Layout, PartRoll, Sheet, lay_out, layout_document

Rectangle = tuple[int, int]  # across, along, in centimetres


def sheet_of(width: int, *lengths: int, **rules: object) -> Sheet:
    """A sheet without gaps or head joints; sizes in centimetres."""
    given_rules = {"edge_gap_m": 0.0, "smallest_piece_m": 0.01, "head_joints_allowed": False, **rules}
    return Sheet(width / 100, tuple(length / 100 for length in lengths), **given_rules)


def cut(rectangles: Sequence[Rectangle], sheet: Sheet, effort: str = "normal") -> Layout:
    """Lay one floor for each rectangle, check the layout, and return it."""
    floors = {f"floor {n}": box(0, 0, long / 100, wide / 100) for n, (wide, long) in enumerate(rectangles)}
    plans = [AreaPlan(name, floor, direction_deg=0.0, start_m=0.0) for name, floor in floors.items()]
    laid = lay_out(plans, sheet, effort=effort)
    assert not laid.uncovered
    assert faults(layout_document(laid), floors, asdict(sheet)) == []
    assert len(laid.pieces) == len(rectangles)
    return laid


def used_cm(laid: Layout) -> float:
    """Length of roll that counts: whole rolls but the last, and what is used of the last."""
    return round(laid.consumed_area_m2 / laid.sheet.width_m * 100, 3)


def bound_cm(laid: Layout) -> float:
    """The same as proven for these strips, no less than proven for any layout."""
    assert laid.sheet_any_layout_m2 <= laid.sheet_these_strips_m2 + 1e-9
    assert laid.rolls_any_layout <= laid.rolls_these_strips
    return round(laid.sheet_these_strips_m2 / laid.sheet.width_m * 100, 3)


def partitions(things: Sequence[int]) -> Iterator[list[list[int]]]:
    """Every way to part things into groups."""
    if not things:
        yield []
        return
    first, rest = things[0], things[1:]
    for groups in partitions(rest):
        yield [[first], *groups]
        for place, group in enumerate(groups):
            yield [*groups[:place], [first, *group], *groups[place + 1 :]]


def least_used(rectangles: Sequence[Rectangle], width: int, length: int) -> tuple[int, int]:
    """Rolls and counted length of the best plan, by trying every one.

    Segments are groups that fit side by side and are as long as their longest; rolls are groups of segments
    that fit end to end.
    """
    segmented = set()
    for groups in partitions(range(len(rectangles))):
        if all(sum(rectangles[one][0] for one in group) <= width for group in groups):
            segmented.add(tuple(sorted(max(rectangles[one][1] for one in group) for group in groups)))
    best = (len(rectangles) + 1, 0)
    for segments in segmented:
        for rolls in partitions(range(len(segments))):
            filled = [sum(segments[one] for one in roll) for roll in rolls]
            if max(filled) <= length and len(rolls) <= best[0]:
                best = min(best, (len(rolls), (len(rolls) - 1) * length + min(filled)))
    return best


@pytest.mark.parametrize(("count", "seed"), list(itertools.product([2, 4, 7, 12], [1, 2, 3])))
def test_triplets_fill_every_roll(count: int, seed: int) -> None:
    """Planted: ``count`` full rolls. The bound is that, and the plan wastes nothing."""
    laid = cut([(100, length) for length in triplets(count, seed)], sheet_of(100, 1000))
    assert bound_cm(laid) == count * 1000
    assert laid.rolls_these_strips == count
    assert used_cm(laid) == count * 1000


@pytest.mark.parametrize(("count", "seed"), [(20, 1), (30, 2), (60, 3)])
def test_many_triplets_cost_at_most_one_roll_in_twenty_more(count: int, seed: int) -> None:
    """Planted, and too many for a proof each time: the bound is still reached by the planted plan only."""
    laid = cut([(100, length) for length in triplets(count, seed)], sheet_of(100, 1000), "quick")
    assert bound_cm(laid) == count * 1000
    assert len(laid.rolls) <= count + -(-count // 20)


def planted_cuts(rolls: int, chance: random.Random) -> list[Rectangle]:
    """Rolls of 100 by 1000 cut across, then ripped, with nothing left over."""
    found = []
    for _ in range(rolls):
        across = sorted(chance.sample(range(150, 900, 10), 2))
        for low, high in itertools.pairwise([0, *across, 1000]):
            rips = sorted(chance.sample(range(25, 76, 5), chance.choice([0, 1, 1])))
            found += [(b - a, high - low) for a, b in itertools.pairwise([0, *rips, 100])]
    chance.shuffle(found)
    return found


@pytest.mark.parametrize("seed", range(8))
def test_planted_cross_cuts_and_rips_are_found_again(seed: int) -> None:
    """Planted: two full rolls. The area alone needs them, and a plan without any waste is found."""
    laid = cut(planted_cuts(2, random.Random(seed)), sheet_of(100, 1000), "thorough")
    assert bound_cm(laid) == 2000
    assert used_cm(laid) == 2000


@settings(max_examples=40, deadline=None, derandomize=True)
@given(st.integers(1, 4), st.integers(0, 10**6), st.floats(0.5, 1.0))
def test_bounds_stay_below_what_is_planted(rolls: int, seed: int, kept: float) -> None:
    """Some of what was cut from so many rolls can be cut from them again: no bound may be above."""
    chance = random.Random(seed)
    some = [one for one in planted_cuts(rolls, chance) if chance.random() < kept] or [(100, 500)]
    laid = cut(some, sheet_of(100, 1000), "quick")
    assert laid.rolls_these_strips <= rolls
    assert bound_cm(laid) <= rolls * 1000
    assert bound_cm(laid) <= used_cm(laid)


REASONED = {
    # Two of these are longer than a roll: each needs its own, whatever their sum.
    "seven a little over half": ([(100, 51)] * 7, 100, 6 * 100 + 51),
    "three to a roll": ([(100, 33)] * 7, 100, 2 * 100 + 33),
    # 60 and 40 fill a roll; 30 is left for the last one.
    "what is left is short": ([(100, 60), (100, 40), (100, 30)], 100, 130),
    # Widths of 60 lie apart (12 > 10); each 40 lies beside one of them.
    "narrow beside wide": ([(60, 90)] * 3 + [(40, 80)] * 3, 500, 270),
    "three abreast": ([(33, 70)] * 7, 500, 3 * 70),
    # A lane holds one piece: the two short ones cannot share the lane beside the long one.
    "one piece to a lane": ([(60, 100), (40, 50), (40, 50)], 500, 150),
    # By length the two long narrow ones are abreast, then the two short ones.
    "like lengths abreast": ([(50, 200), (50, 90), (50, 200), (50, 90)], 500, 290),
}


@pytest.mark.parametrize("name", REASONED)
def test_small_cases_by_reasoning(name: str) -> None:
    """The least length follows from the comment beside each case; the program proves the same."""
    rectangles, length, least = REASONED[name]
    laid = cut(rectangles, sheet_of(100, length))
    assert used_cm(laid) == least
    assert bound_cm(laid) == least


def test_reasoned_cases_agree_with_trying_all() -> None:
    """The search that the next tests rest on finds what was reasoned out."""
    for rectangles, length, least in REASONED.values():
        assert least_used(rectangles, 100, length)[1] == least


@settings(max_examples=60, deadline=None, derandomize=True)
@given(st.lists(st.integers(8, 100), min_size=1, max_size=7))
def test_lengths_against_trying_all(lengths: list[int]) -> None:
    """Full width, up to seven pieces: as good as the best plan, and no bound above it."""
    rectangles = [(100, length) for length in lengths]
    rolls, least = least_used(rectangles, 100, 100)
    laid = cut(rectangles, sheet_of(100, 100))
    assert (len(laid.rolls), used_cm(laid)) == (rolls, least)
    assert bound_cm(laid) <= least
    assert laid.rolls_these_strips <= rolls


@settings(max_examples=60, deadline=None, derandomize=True)
@given(
    st.lists(
        st.tuples(st.sampled_from([20, 30, 35, 45, 50, 60, 75, 100]), st.integers(10, 100)),
        min_size=1,
        max_size=6,
    ),
    st.sampled_from([100, 140, 600]),
)
def test_rectangles_against_trying_all(rectangles: list[Rectangle], length: int) -> None:
    """Cross cuts, then rips, up to six pieces: as good as the best plan, and no bound above it."""
    rolls, least = least_used(rectangles, 100, length)
    laid = cut(rectangles, sheet_of(100, length), "thorough")
    assert bound_cm(laid) <= least
    assert laid.rolls_these_strips <= rolls
    assert (len(laid.rolls), used_cm(laid)) == (rolls, least)


def least_paid(lengths: Sequence[int], sheet: Sheet) -> float:
    """Cost of sheet of the best plan over rolls to buy and rolls on site, by trying every one.

    A roll on site is paid whole; so is every one that is bought, but for one where all are of one length,
    which is paid as far as it is used.
    """
    bought = [(round(length * 100), sheet.price(length)) for length in sheet.roll_lengths_m]
    site = [(round(part.length_m * 100), part.price) for part in sheet.part_rolls]
    best = float("inf")
    for groups in partitions(range(len(lengths))):
        filled = [sum(lengths[one] for one in group) for group in groups]
        for taken in itertools.product([None, *range(len(site))], repeat=len(groups)):
            own = [one for one in taken if one is not None]
            if len(set(own)) < len(own):
                continue
            fits = all(one is None or site[one][0] >= used for one, used in zip(taken, filled, strict=True))
            rest = [used for one, used in zip(taken, filled, strict=True) if one is None]
            if not fits or max(rest, default=0) > max(size for size, _ in bought):
                continue
            whole = [min(price for size, price in bought if size >= used) for used in rest]
            part = [min(price * used / size for size, price in bought if size >= used) for used in rest]
            saved = max((a - b for a, b in zip(whole, part, strict=True)), default=0.0)
            saved = saved if len(bought) == 1 else 0.0
            best = min(best, sum(site[one][1] for one in own) + sum(whole) - saved)
    return best


@settings(max_examples=60, deadline=None, derandomize=True)
@given(
    st.lists(st.integers(20, 100), min_size=1, max_size=5),
    st.sampled_from([60, 75, 90, 110]),
    st.lists(st.tuples(st.integers(30, 120), st.sampled_from([0, 10, 60])), max_size=2),
)
def test_bought_and_part_rolls_never_cost_less_than_trying_all(
    lengths: list[int], price: int, site: list[tuple[int, int]]
) -> None:
    """Rolls of 100 and 160 at two prices, others on site: no cost below the least, no bound above it."""
    sheet = sheet_of(
        100,
        100,
        160,
        roll_prices=(float(price), 120.0),
        part_rolls=tuple(PartRoll(length / 100, float(cost)) for length, cost in site),
        seam_cost_m=0.0,
        cut_cost=0.0,
    )
    laid = cut([(100, length) for length in lengths], sheet, "thorough")
    least = least_paid(lengths, sheet)
    assert laid.objective_terms["sheet"] >= least - 1e-6
    assert layout_document(laid)["bounds"]["objective"] <= least + 1e-6


def test_part_roll_is_used_where_it_costs_less() -> None:
    """Arithmetic: 3 m lie on site and are paid, so 5 m are bought. A dear part roll stays where it is."""
    rectangles = [(100, 300), (100, 500)]
    paid = cut(rectangles, sheet_of(100, 1000, part_rolls=(PartRoll(3.0, 0.0),)))
    assert paid.objective_terms["sheet"] == pytest.approx(5.0)
    dear = cut(rectangles, sheet_of(100, 1000, part_rolls=(PartRoll(3.0, 4.0),)))
    assert dear.objective_terms["sheet"] == pytest.approx(8.0)


@pytest.mark.parametrize(("strips", "length", "gap"), [(3, 420, 0.4), (5, 730, 0.5), (1, 250, 0.3)])
def test_floor_of_whole_strips_and_gaps_is_laid_without_waste(strips: int, length: int, gap: float) -> None:
    """Arithmetic: n strips and n - 1 gaps fill the floor, so that n lengths of roll are enough."""
    sheet = sheet_of(100, 5000, seam_gap_m=gap / 100, smallest_piece_m=0.3)
    floor = box(0, 0, length / 100, (strips * 100 + (strips - 1) * gap) / 100)
    laid = lay_out([AreaPlan("floor", floor)], sheet)
    assert faults(layout_document(laid), {"floor": floor}, asdict(sheet)) == []
    assert used_cm(laid) == pytest.approx(strips * length, abs=0.05)
    assert laid.sheet_any_layout_m2 <= strips * length / 100


@pytest.mark.parametrize(
    ("across", "along", "size", "gap"), [(4, 6, 25, 0.5), (3, 10, 30, 0.4), (8, 8, 10, 1)]
)
def test_bound_of_any_layout_allows_for_the_smallest_pieces(
    across: int, along: int, size: int, gap: float
) -> None:
    """Arithmetic: a grid of smallest squares with gaps between them is a layout too; no bound is above it."""
    sheet = sheet_of(100, 3000, head_joints_allowed=True, seam_gap_m=gap / 100, smallest_piece_m=size / 100)
    wide, long = ((count * size + (count - 1) * gap) / 100 for count in (across, along))
    laid = lay_out([AreaPlan("floor", box(0, 0, long, wide))], sheet)
    assert laid.sheet_any_layout_m2 <= across * along * (size / 100) ** 2


@pytest.mark.parametrize(
    ("length", "roll", "least"),
    [
        (730, 500, 730),
        (1234, 500, 1234),
        (2600, 1000, 2600),
        # 5 cm are left for a second roll, but a piece is no shorter than 30: one roll is counted whole.
        (505, 500, 530),
    ],
)
def test_head_joints_leave_no_waste(length: int, roll: int, least: int) -> None:
    """Arithmetic: with head joints and no gaps a strip takes its own length, however short the rolls."""
    sheet = sheet_of(100, roll, head_joints_allowed=True, smallest_piece_m=0.3)
    floor = box(0, 0, length / 100, 1.0)
    laid = lay_out([AreaPlan("floor", floor, direction_deg=0.0, start_m=0.0)], sheet)
    assert faults(layout_document(laid), {"floor": floor}, asdict(sheet)) == []
    assert used_cm(laid) == pytest.approx(least, abs=0.05)
    assert length - 0.05 <= bound_cm(laid) <= least + 0.05
