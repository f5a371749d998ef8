"""What the templates of the plan page are given."""

from __future__ import annotations

from typing import Any

from starlette.datastructures import State

from undercourse.files.plan_parts import UNIT_NAMES
from undercourse.files.plans import KINDS
from undercourse.judge.rulebook import Rulebook
from undercourse.web import plan_picture, plan_views
from undercourse.web.plan_carried import seal, write_plan
from undercourse.web.plan_entries import SIZES, PlanEntry, sheet_products, write_held
from undercourse.web.plan_views import PlanPage
from undercourse.web.state import write_state

UNITS = {"": "as the file says", **UNIT_NAMES}
Parts = dict[str, Any]


def show_parts(app: State, page: PlanPage, full: bool = True) -> Parts:
    """What the templates show of a page.

    Parameters
    ----------
    app : State
        The application's: the line's ``book``, and ``plan_key`` that layouts are sealed with.
    full : bool
        With the plan itself, areas, cuts and maps; what moves under a finger does without.
    """
    hand = plan_views.in_hand(page.layout, page.entry.at)
    parts = _form_parts(app.book, page) | {
        "page": page,
        "plan": page.plan,
        "layout": page.layout,
        "hand": hand,
        "turn": plan_views.turn_text(hand) if hand else "",
        "start": plan_views.line_text(hand) if hand else "",
        "full": full,
        "sealed": "",
        "sealed_own": "",
        "sealed_marks": "",
        "joint_m": None,
        "notes": [],
        "chart": None,
        "ways": [],
        "cuts": [],
        "maps": [],
    }
    if page.plan is not None:
        parts |= _plan_parts(page, hand["name"] if hand else "", app.plan_key, full)
    if page.layout is not None:
        parts |= _layout_parts(app, page, page.layout)
        if full:
            parts["cuts"] = plan_views.cut_rows(page.layout)
            parts["maps"] = plan_views.cut_maps(page.layout, page.plan["file"] if page.plan else "")
    return parts


def _form_parts(book: Rulebook, page: PlanPage) -> Parts:
    return {
        "entry": page.entry,
        "line": book.basis["line"],
        "units": UNITS,
        "kinds": ",".join(KINDS),
        "products": sheet_products(book.line),
        "held": write_held(page.entry.held),
        "state": write_state(page.state) if page.state is not None else "",
        "sizes": {key: label for key, (label, _, _) in SIZES.items()},
    }


def _plan_parts(page: PlanPage, at: str, key: bytes, full: bool) -> Parts:
    assert page.plan is not None
    moves = plan_picture.spread(page.chosen)
    return {
        "carried": write_plan(page.plan) if full else "",
        "storeys": plan_views.storeys(page.plan, page.entry.picked) if full else [],
        "box": plan_picture.view_box(page.chosen, moves),
        "floor": plan_picture.draw_floor(page.chosen, page.layout, page.entry.held, at, moves),
        "marks": plan_picture.draw_marks(page.marks, moves),
        "sealed_marks": seal(page.marks, key),
        "joint_m": plan_views.joint_length(page.marks),
    }


def _layout_parts(app: State, page: PlanPage, layout: dict[str, Any]) -> Parts:
    own = page.own if page.entry.held else None
    return {
        "sentence": plan_views.sentence_of(layout, len(page.chosen)),
        "rows": plan_views.rows_of(layout, own, _currency(app.book, page.entry)),
        "bound": plan_views.bound_words(layout),
        "sealed": seal(layout, app.plan_key),
        "sealed_own": seal([rules_of(page), page.own], app.plan_key) if page.own else "",
        "notes": plan_views.notes_of(layout, page.marks),
        "chart": plan_views.compare_chart(page),
        "ways": plan_views.way_rows(page),
    }


def _currency(book: Rulebook, entry: PlanEntry) -> str | None:
    """The currency of the sheet's prices; without a name where they were typed, None where there are none."""
    if entry.product in book.line.products:
        return book.line.currency
    return "" if entry.sheet is not None and entry.sheet.roll_prices else None


def rules_of(page: PlanPage) -> str:
    """What the program's own layout depends on: areas and sheet."""
    return repr((page.entry.picked, page.entry.sheet))
