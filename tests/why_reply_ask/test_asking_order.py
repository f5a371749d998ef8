"""Which question comes first and when asking ends; the author of a line or of the rules may put one first."""

from __future__ import annotations

import shutil
from dataclasses import replace
from importlib.resources import as_file
from itertools import pairwise
from pathlib import Path
from types import MappingProxyType

import numpy as np
import pytest

from undercourse.advise.asking import Session, make_question
from undercourse.advise.completions import draw_completions
from undercourse.advise.evaluating import evaluate
from undercourse.advise.exact import exact_verdicts
from undercourse.advise.leads import share_words, suiting_shares
from undercourse.advise.narrowing import prospect, undecided
from undercourse.advise.plausible import share_inside, usual_here
from undercourse.advise.question_order import ordered_facts
from undercourse.base.columns import lies_in
from undercourse.base.domains import Choices, Span, Spec, read_spec
from undercourse.base.problems import Problems
from undercourse.facts.jobs import Area, Reading
from undercourse.files.shipped import data_root, rulebook
from undercourse.judge.results import NEEDS_FACTS, SUITABLE_IF
from undercourse.line.practice import read_practice

from .hidden_floors import file_order, hidden_floors, ours, questions_until_settled, random_order
from .places import BOOK, DAY, job_of, judged

ROW = """
[[ask_first]]
fact = "freezing"
when = { exposure = "interior" }
because = "Cold stores are ours."
"""


def line_with(folder: Path, text: str) -> Path:
    """The demo line with more in its ``line.toml``."""
    with as_file(data_root().joinpath("demo", "line")) as demo:
        shutil.copytree(demo, folder)
    path = folder / "line.toml"
    path.write_text(path.read_text("utf-8") + text, "utf-8")
    return folder


def test_author_of_a_line_puts_a_fact_first_where_his_condition_holds(tmp_path: Path) -> None:
    """Before site stops and all else, with his reason; elsewhere, or once it is known, nothing changes."""
    book = rulebook(line_with(tmp_path / "line", ROW))
    area = job_of("Q34").areas[0]
    ordinary = Session(area, BOOK, DAY).question()
    session = Session(area, book, DAY)
    question = session.question()
    assert ordinary is not None
    assert question is not None
    assert ordinary.fact != "freezing"
    assert question.fact == "freezing"
    assert "Cold stores are ours." in question.why
    session.reply("freezing", "no")
    again = session.question()
    assert again is not None
    assert again.fact == ordinary.fact
    outside = replace(area, readings={**area.readings, "exposure": reading("exposure", "exterior open")})
    other = Session(outside, book, DAY).question()
    assert other is not None
    assert other.fact != "freezing"


def test_rules_of_the_trade_may_put_a_fact_first_after_those_of_the_line() -> None:
    """One of a question for several facts brings the whole question."""
    rows = [{"fact": "joist_span", "because": "Spans first."}, {"fact": "room", "because": "Rooms next."}]
    practice = read_practice([("mine.toml", {"ask_first": rows})], BOOK.domains)
    book = replace(BOOK, practice=replace(BOOK.practice, ask_first=practice.ask_first))
    known = {**job_of("Q34").areas[0].readings, "base": reading("base", "sawn joists")}
    order = ordered_facts(evaluate([Area("floor", known)], book, DAY), book, 0)
    assert "joist_span" in order[0].facts
    assert {"joist_size", "joist_spacing"} <= set(order[0].facts)
    assert order[1].fact == "room"
    assert "Spans first." in order[0].why


@pytest.mark.parametrize("row", [
    '[[ask_first]]\nfact = "frezing"\nbecause = "x"\n',
    '[[ask_first]]\nfact = "freezing"\n',
    '[[ask_first]]\nfact = "freezing"\nbecause = "x"\nif = { base = "masonry" }\n',
    '[[ask_first]]\nfact = "freezing"\nbecause = "x"\nwhen = { base = "jelly" }\n',
    '[[ask_first]]\nfact = "membrane_kind"\nbecause = "x"\n',
    '[[ask_first]]\nfact = "freezing"\nbecause = "x"\nwhen = { membrane_kind = "sound mat" }\n',
    'ask_first = "freezing"\n',
])  # fmt: skip
def test_faulty_row_is_told_with_its_fix(tmp_path: Path, row: str) -> None:
    """A column of a candidate is no fact that anybody can be asked for."""
    folder = line_with(tmp_path / "line", f"\n{row}" if row.startswith("[[") else "")
    if not row.startswith("[["):
        path = folder / "line.toml"
        path.write_text(row + path.read_text("utf-8"), "utf-8")
    with pytest.raises(Problems) as told:
        rulebook(folder)
    assert any("ask_first" in str(problem) for problem in told.value.problems)
    assert all(problem.fix for problem in told.value.problems)


def test_what_means_nothing_yet_is_asked_after_what_it_hangs_on() -> None:
    """How deep a notch is after whether there is one; never where there is none."""
    facts = BOOK.vocabulary
    hanging = {name: [leader for leader, _ in fact.asked_where] for name, fact in facts.facts.items()}
    assert sum(map(bool, hanging.values())) > 20
    for name in ("Q07", "Q08", "Q12", "Q14", "Q16", "Q29", "Q34", "Q35"):
        evaluated = judged(job_of(name).areas[:1])
        order = ordered_facts(evaluated, BOOK, 0)
        places = {fact: place for place, one in enumerate(order) for fact in one.facts}
        for fact, place in places.items():
            for leader, spec in facts[fact].asked_where:
                truth = evaluated.facts.says(leader, spec)
                assert bool(truth.may[0])
                assert bool(truth.must[0]) or places.get(leader, 0) <= place


def test_asking_ends_where_every_verdict_is_proven_though_limits_leave_one_open() -> None:
    """An office asks too much of the laundry's sheet and a restaurant too, each by its own limit."""
    area = job_of("laundry").areas[0]
    either = "office or reception | restaurant or hospital public space"
    open_one = replace(area, readings={**area.readings, "occupancy": reading("occupancy", either)})
    by_limits = judged([open_one])
    assert undecided(by_limits, 0)
    proven = exact_verdicts(by_limits, BOOK, 0)
    assert all(one.exact and one.verdict != NEEDS_FACTS for one in proven.values())
    session = Session(open_one, BOOK, DAY)
    assert not undecided(session.evaluated, 0)
    assert session.question() is None


def test_plausible_floors_hardly_ever_contradict_themselves() -> None:
    """What hangs on other facts is drawn after them, from what they leave."""
    for name in ("Q07", "Q08", "Q12", "Q14", "Q29", "Q35"):
        drawn = prospect(judged(job_of(name).areas[:1]), BOOK, 0).drawn
        assert drawn.sound.mean() > 0.9


@pytest.mark.parametrize(
    "fact", ["joist_grade", "chemicals", "panel_edges", "joist_span", "tile_thickness", "slab_rh", "slab_age"]
)
def test_values_are_drawn_as_often_as_they_weigh(fact: str) -> None:
    """Weights of site stops and draws of plausible floors are two workings of one assumption."""
    evaluated = judged([Area("floor", {})], set())
    known, facts = BOOK.vocabulary[fact], evaluated.facts.columns
    drawn = draw_completions(evaluated, BOOK, 0, [fact], 4000, seed=5)
    now = facts.spec(fact, 0)
    for inside in parts_of(now):
        weight = share_inside(known, now, inside, usual_here(known, facts, 0))
        often = float(lies_in(drawn.columns[fact], inside).must.mean())
        assert abs(weight - often) < 5 * np.sqrt(max(weight * (1 - weight), 0.001) / 4000)


def parts_of(whole: Spec) -> list[Spec]:
    """Each choice by itself, or the quarters of a range."""
    if isinstance(whole, Choices):
        return [Choices(1 << place) for place in range(whole.bits.bit_length()) if whole.bits >> place & 1]
    ends = np.linspace(whole.low, whole.high, 5).tolist()
    return [Span(low, high) for low, high in pairwise(ends)]


@pytest.mark.parametrize(
    ("name", "fact"), [("Q29", "crack_width"), ("Q29", "wants_uncoupling"), ("Q35", "finish")]
)
def test_estimates_are_the_shares_of_other_draws_too(name: str, fact: str) -> None:
    """Per range of replies, 2,000 plausible floors drawn otherwise suit as often, within five deviations."""
    evaluated = judged(job_of(name).areas[:1])
    waiting = undecided(evaluated, 0)
    names = [*prospect(evaluated, BOOK, 0).drawn.names]
    drawn = draw_completions(evaluated, BOOK, 0, names, 2000, seed=77)
    again = drawn.judge(evaluated, BOOK, 0, list(waiting)).of_row(0)
    suits = np.any([one.verdict <= SUITABLE_IF for one in again], axis=0)
    told = suiting_shares(evaluated, BOOK, 0, fact)
    assert len(told) >= 2
    for spec, share, count in told:
        rows = drawn.sound & lies_in(drawn.columns[fact], spec).must
        other = float(suits[rows].mean())
        deviation = np.sqrt(max(other * (1 - other), 0.01) * (1 / count + 1 / rows.sum()))
        assert abs(share - other) < 5 * deviation


def test_replies_that_settle_nothing_alone_are_told_as_estimates() -> None:
    """Said to be one, in plain words, for each range."""
    texts = [text for name in ("Q07", "Q29", "Q34") for text in leads_to(name)]
    likely = [text for text in texts if "plausible case" in text]
    assert likely
    assert all("an estimate on usual values" in text for text in likely)
    assert any("some sheet still suits in" in text for text in likely)
    assert share_words(0.02) == "hardly any plausible case"
    assert share_words(0.42) == "about 4 of 10 plausible cases"
    assert share_words(0.99) == "nearly all plausible cases"


def leads_to(name: str) -> list[str]:
    """What the replies to the first twelve questions of a job are told to lead to."""
    evaluated = judged(job_of(name).areas[:1])
    order = ordered_facts(evaluated, BOOK, 0)[:12]
    return [text for one in order for text in make_question(evaluated, BOOK, 0, one).leads_to]


def test_fewer_questions_settle_an_answer_than_in_the_order_of_the_file_or_by_chance() -> None:
    """Forty floors with a hidden truth and one sheet; the figures over a thousand floors are in the docs."""
    products = BOOK.line.products
    kept = {k: p for k, p in products.items() if "membrane" not in p.roles or k == "high-meadow-8"}
    book = replace(BOOK, line=replace(BOOK.line, products=MappingProxyType(kept)))
    floors = hidden_floors(book, 40, 3, DAY, more=40)
    policies = (ours, file_order, random_order(5))
    means = [float(np.mean(questions_until_settled(floors, policy, book, DAY))) for policy in policies]
    assert means[0] > 0
    assert means[0] < 0.75 * min(means[1:])


def reading(name: str, text: str) -> Reading:
    """A reading as in a job file."""
    return Reading(read_spec(BOOK.vocabulary.domains[name], text), "test", said=text)
