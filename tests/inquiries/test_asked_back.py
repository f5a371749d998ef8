"""The figures of what is asked first are those of this tree; practice, not a standard."""

from __future__ import annotations

from .asked_back import asked, kept

# Floors asked about again here; all of them by ``python -m tests.inquiries.asked_back``.
SOME = ("Q07", "Q09", "Q34")


def test_kept_figures_are_those_of_this_tree() -> None:
    """Three floors asked about again take as many questions as the table of the docs counts."""
    since = kept()["since"]["questions"]
    found = {one.id: len(one.questions) for one in asked(SOME)}
    assert found == {name: since[name] for name in SOME}


def test_fewer_questions_than_before_and_no_fewer_of_those_asked_back_at_first() -> None:
    """Whoever knows nothing is let go sooner, and of what was asked back no less comes early."""
    before, since = kept()["before"], kept()["since"]
    assert since["mean_questions"] < before["mean_questions"] / 4
    assert since["first_five"] >= before["first_five"]
    assert since["left_open"] <= before["left_open"]
    assert since["compared"] == before["compared"] == len(since["questions"])
