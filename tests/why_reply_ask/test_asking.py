"""Asking one fact at a time reaches what a job file with these facts reaches; steps can be taken back.

Every check here is derived: the same facts, said in a file, are answered by the ordinary way.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator, FormatChecker
from typer.testing import CliRunner

from undercourse.advise.answers import answer
from undercourse.advise.asking import Session, make_question
from undercourse.advise.losing import describe
from undercourse.advise.question_order import ordered_facts
from undercourse.advise.site_questions import site_facts
from undercourse.base.domains import Span
from undercourse.cli.app import app
from undercourse.cli.schemas import SCHEMAS
from undercourse.facts.jobs import Area
from undercourse.files.job_text import job_data, job_toml
from undercourse.files.jobfiles import load_job
from undercourse.files.reading import parse_toml

from .places import BOOK, DAY, DEMO, completions, job_of, judged, texts_of, verdict

# Facts taken out of the laundry's file, to be asked for again.
TAKEN = ("joist_span", "tile_thickness", "wants_waterproofing", "symptom", "framing_condition", "wheels")
Ask = Callable[..., tuple[str, str]]


def laundry() -> Area:
    """The laundry with all of its facts."""
    return job_of("laundry").areas[0]


def without(area: Area, names: tuple[str, ...]) -> Area:
    """An area of which some facts are not known."""
    return replace(area, readings={n: r for n, r in area.readings.items() if n not in names})


@pytest.fixture
def gap(tmp_path: Path) -> Path:
    """The laundry as a job file of one area that leaves the taken facts out."""
    raw = job_data(parse_toml((DEMO / "laundry.toml").read_text("utf-8"), "laundry"), BOOK.vocabulary)
    raw["areas"] = raw["areas"][:1]
    for part in (raw, raw["areas"][0]):
        part["facts"] = {n: v for n, v in part["facts"].items() if n not in TAKEN}
    path = tmp_path / "gap.toml"
    path.write_text(job_toml(raw, BOOK.vocabulary), "utf-8")
    return path


@pytest.fixture
def ask() -> Ask:
    """Run the command with lines to type; returns standard output and standard error."""

    def command(path: Path, lines: list[str], *options: str) -> tuple[str, str]:
        typed = "".join(f"{line}\n" for line in lines)
        result = CliRunner().invoke(app, ["ask", str(path), *options], input=typed, catch_exceptions=False)
        assert result.exit_code == 0
        assert "Traceback" not in result.output
        return result.stdout, result.stderr

    return command


def verdicts(document: dict) -> dict[str, str]:  # type: ignore[type-arg]
    """Verdict by candidate of a one-area answer."""
    return {c["id"]: c["verdict"] for c in document["areas"][0]["candidates"]}


def run_through(session: Session, said: dict[str, str]) -> list[str]:
    """Reply from a table until nothing is asked; the facts in the order of asking."""
    order = []
    while (question := session.question()) is not None:
        order.append(question.fact)
        assert len(order) < 60
        assert question.question.endswith("?")
        assert question.why
        if question.fact in said:
            outcome = session.reply(question.fact, said[question.fact])
            assert not outcome.problems
        else:
            session.skip(question.fact)
    return order


def test_replies_reach_the_verdicts_of_the_file_that_says_so(gap: Path, ask: Ask, tmp_path: Path) -> None:
    """Asked and typed, the facts give the same answer as written in a job; the saved job gives it again."""
    said = dict(texts_of(laundry()))
    session = Session(load_job(gap, BOOK.vocabulary).areas[0], BOOK, DAY)
    order = run_through(session, said)
    assert set(order) <= set(TAKEN)
    assert len(order) >= 3
    whole = replace(job_of("laundry"), areas=(laundry(),))
    saved = tmp_path / "saved.toml"
    out, aside = ask(gap, [said[name] for name in order], "--json", "--save", str(saved))
    document = json.loads(out)
    Draft202012Validator(SCHEMAS["answer"], format_checker=FormatChecker()).validate(document)
    assert verdicts(document) == verdicts(answer(whole, BOOK, DAY))
    assert "nothing more can change the answer" in " ".join(aside.split())
    assert answer(load_job(saved, BOOK.vocabulary), BOOK, DAY, advise=False)["areas"][0]["headline"] in aside
    assert verdicts(answer(load_job(saved, BOOK.vocabulary), BOOK, DAY)) == verdicts(document)


@pytest.mark.parametrize("name", ["Q07", "Q12", "Q29"])
def test_site_stops_that_are_not_unlikely_come_first_and_rare_ones_last(name: str) -> None:
    """Before anything about products, what may well stop the work; what hardly ever does, at the end."""
    evaluated = judged(job_of(name).areas[:1])
    order = ordered_facts(evaluated, BOOK, 0)
    stops = {one.name: one.comes_first for one in site_facts(evaluated, BOOK, 0)}
    likely = {fact for fact, first in stops.items() if first}
    rare = set(stops) - likely
    places = {fact: place for place, one in enumerate(order) for fact in one.facts}
    products = [place for place, one in enumerate(order) if not one.about_site and not one.pressing]
    assert likely
    assert rare & set(places)
    assert all(places[fact] < min(products) for fact in likely & set(places))
    last = [place for place, one in enumerate(order) if one.about_site and not set(one.facts) & likely]
    assert all(place > max(products) for place in last if not set(order[place].facts) & likely)
    question = make_question(evaluated, BOOK, 0, next(one for one in order if one.about_site))
    assert any("the work" in text and "decides: " in text for text in question.leads_to)


def test_reply_tells_what_it_changed_and_back_undoes_it() -> None:
    """After going back everything is as it was, the question too."""
    session = Session(without(laundry(), ("wants_heating",)), BOOK, DAY)
    before = (session.headline(), session.question(), session.now().readings)
    first = session.question()
    assert first is not None
    assert first.fact == "wants_heating"
    outcome = session.reply("wants_heating", "yes")
    assert any("not suitable" in text for text in outcome.changes)
    assert session.headline() == outcome.headline
    assert session.back() == "wants_heating"
    assert (session.headline(), session.question(), session.now().readings) == before
    assert session.back() is None


def test_contradiction_is_told_and_undone() -> None:
    """The shortest edge of a tile cannot be longer than its longest (by meaning of the words)."""
    session = Session(without(laundry(), ("tile_short_edge",)), BOOK, DAY)
    before = session.headline()
    outcome = session.reply("tile_short_edge", "24 in")
    (problem, *_) = outcome.problems
    assert "tile_long_edge" in str(problem)
    assert "cannot both be true" in str(problem)
    assert session.replies == []
    assert session.headline() == before
    against_file = session.reply("tile_long_edge", "24 in")
    assert "the job says" in str(against_file.problems[0])
    assert session.replies == []


@pytest.mark.parametrize("seed", range(2))
def test_when_nothing_is_asked_no_open_fact_that_decides_can_change_a_verdict(seed: int) -> None:
    """Possible floors beyond the end of asking: what suits keeps suiting, what does not never does."""
    session = Session(without(laundry(), TAKEN), BOOK, DAY)
    run_through(session, dict(texts_of(laundry())))
    area = session.now()
    made_so = [name for name in BOOK.vocabulary.facts if name in BOOK.made_so]
    floors = completions(area, 80, seed, leave=made_so)
    assert len(floors) >= 10
    now, again = judged([area]), judged(floors)
    for judgement in now.of_row(0):
        name = judgement.candidate.id
        found = {verdict(again, name, row) for row in range(len(floors))}
        if verdict(now, name) == "not_suitable":
            assert found == {"not_suitable"}, name
        elif verdict(now, name) in ("suitable", "suitable_if"):
            assert found <= {"suitable", "suitable_if"}, name
        else:
            assert verdict(now, name) == "needs_ruling"


def test_stopped_site_ends_the_asking() -> None:
    """Decayed framing is somebody else's to decide; no product is asked about."""
    session = Session(without(laundry(), ("framing_condition", "joist_span")), BOOK, DAY)
    outcome = session.reply("framing_condition", "wet or decayed")
    assert "stop" in outcome.headline.lower()
    assert session.question() is None


def test_dont_know_puts_off_and_about_is_a_range() -> None:
    """A fact that is put off is not asked again; about 12 ft 4 in is 5 percent either way."""
    session = Session(without(laundry(), ("joist_span", "wheels")), BOOK, DAY)
    first = session.question()
    assert first is not None
    session.skip(first.fact)
    second = session.question()
    assert second is None or second.fact != first.fact
    outcome = session.reply("joist_span", "about 12 ft 4 in")
    assert not outcome.problems
    low = session.evaluated.facts.columns.number("joist_span").low[0]
    assert low == pytest.approx(0.95 * (12 * 12 + 4) * 0.0254)
    assert session.new_facts() == {"joist_span": "about 12 ft 4 in"}


FAULTY = ["14", "14 furlongs", "over", "..", "-3 ft", "1e999 ft", "plywood", '"', "{}", "[", "é" * 3]
FAULTY += ["9" * 400, "\x1b[2J", "nan ft", "3 to ft", "about", "not 12 ft", "|", "= ="]


@pytest.mark.parametrize("line", FAULTY)
def test_faulty_text_is_told_with_its_fix_and_nothing_is_kept(line: str) -> None:
    """A span is no furlong, no panel, no infinity."""
    session = Session(without(laundry(), ("joist_span",)), BOOK, DAY)
    outcome = session.reply("joist_span", line)
    assert outcome.problems
    assert all(problem.what and problem.fix for problem in outcome.problems)
    assert session.replies == []


def test_faulty_text_on_the_terminal_asks_again(gap: Path, ask: Ask) -> None:
    """No reply ends the program: each is refused with its remedy, and the question stays."""
    first = Session(load_job(gap, BOOK.vocabulary).areas[0], BOOK, DAY).question()
    assert first is not None
    out, _ = ask(gap, [*FAULTY, "stop"])
    assert out.count("Not taken; the same question again.") == len(FAULTY)
    assert out.count(f"reply: {first.fact} = ") == len(FAULTY)
    assert out.count(f"1. {first.question}"[:60]) == 1


@pytest.mark.parametrize("word", ["help", "?help", "HELP", "??"])
def test_help_tells_how_to_find_out_and_what_to_write_and_asks_again(gap: Path, ask: Ask, word: str) -> None:
    """Help is no reply: nothing is kept, and the same question stands."""
    question = Session(load_job(gap, BOOK.vocabulary).areas[0], BOOK, DAY).question()
    assert question is not None
    out, _ = ask(gap, [word, "stop"])
    for name in question.facts:
        assert f"{name}: {BOOK.vocabulary[name].question}"[:60] in out
    assert "about 14 ft" in out
    assert "back undoes" in " ".join(out.split())
    assert out.count(f"1. {question.question}"[:60]) == 1
    assert "2. " not in out


def test_any_fact_may_be_told_at_any_time(gap: Path, ask: Ask, tmp_path: Path) -> None:
    """Told by name it counts; the question that stood is asked again."""
    question = Session(load_job(gap, BOOK.vocabulary).areas[0], BOOK, DAY).question()
    assert question is not None
    other = next(name for name in TAKEN if name not in question.facts and name not in ("wheels", "symptom"))
    saved = tmp_path / "saved.toml"
    out, _ = ask(gap, [f"{other} = {texts_of(laundry())[other]}", "stop"], "--save", str(saved))
    area = load_job(saved, BOOK.vocabulary).areas[0]
    assert area.readings[other].spec == laundry().readings[other].spec
    asked = out.partition("Stopped here.")[0]
    assert asked.count(question.question[:50]) == 2


def test_end_of_input_stop_and_back_at_the_start_are_no_faults(gap: Path, ask: Ask) -> None:
    """The answer is given on what is known."""
    for lines in ([], ["stop"], ["back", "quit"]):
        out, _ = ask(gap, lines)
        assert "Stopped here." in out
        assert "Verdict" in out
    assert "Nothing is there to undo." in ask(gap, ["back"])[0]


def test_back_on_the_terminal_asks_the_same_question_again(gap: Path, ask: Ask) -> None:
    """Typed, undone and typed otherwise, only the last reply counts."""
    first = Session(load_job(gap, BOOK.vocabulary).areas[0], BOOK, DAY).question()
    assert first is not None
    out, _ = ask(gap, ["don't know", "back", "stop"])
    assert f"Undone: {first.fact}." in out
    assert out.count(f"1. {first.question}"[:60]) == 2


def test_saved_json_reads_back_with_the_new_facts(gap: Path, ask: Ask, tmp_path: Path) -> None:
    """The ending of the name says which form is written."""
    first = Session(load_job(gap, BOOK.vocabulary).areas[0], BOOK, DAY).question()
    assert first is not None
    said = texts_of(laundry())[first.fact]
    path = tmp_path / "saved.json"
    ask(gap, [said, "stop"], "--save", str(path))
    area = load_job(path, BOOK.vocabulary).areas[0]
    assert area.readings[first.fact].spec == laundry().readings[first.fact].spec
    assert json.loads(path.read_text("utf-8"))["areas"][0]["facts"][first.fact] == said


def test_bytes_that_are_no_text_are_refused_like_any_other_reply(gap: Path) -> None:
    """A paste from elsewhere, on a terminal of plain ASCII: no traceback, the question stays."""
    import os
    import subprocess
    import sys

    plain = {**os.environ, "LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"}
    command = [sys.executable, "-c", "from undercourse.cli import main; main()", "ask", str(gap)]
    done = subprocess.run(command, input=b"\xff\xfe\xe9\nstop\n", capture_output=True, env=plain, check=False)
    assert done.returncode == 0
    assert b"Traceback" not in done.stderr
    assert b"Not taken" in done.stdout


@pytest.mark.parametrize(("values", "chosen", "text"), [
    ([70.0, 84.9995, 85.0, 85.0005, 95.0], [70.0, 84.9995, 85.0], "up to 85 %"),
    ([70.0, 84.9995, 85.0, 85.0005, 95.0], [70.0, 84.9995], "under 85 %"),
    ([70.0, 84.9995, 85.0, 85.0005, 95.0], [85.0005, 95.0], "over 85 %"),
    ([70.0, 84.9995, 85.0, 85.0005, 95.0], [85.0, 85.0005, 95.0], "at least 85 %"),
    ([70.0, 80.0, 95.0], [70.0, 80.0], "up to about 80 %"),
    ([70.0, 80.0, 95.0], [80.0, 95.0], "from about 80 %"),
    ([70.0, 80.0, 95.0], [70.0, 80.0, 95.0], "any value"),
])  # fmt: skip
def test_which_side_a_written_number_is_on_is_told(
    values: list[float], chosen: list[float], text: str
) -> None:
    """A limit of at most 85 % keeps 85 % itself; by meaning of the words."""
    spans = [Span(value / 100, value / 100) for value in values]
    kept = [Span(value / 100, value / 100) for value in chosen]
    assert describe(BOOK.vocabulary.domains["slab_rh"], spans, kept) == text


@pytest.mark.parametrize("command", ["ask", "reply", "why"])
def test_unknown_area_and_contradictory_job_are_refused(
    command: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """One line a fault on standard error, exit code 2, nothing on standard output."""
    from undercourse.cli import main

    bad = tmp_path / "bad.toml"
    bad.write_text('[finish]\ntile_long_edge = "4 in"\ntile_short_edge = "8 in"\n', "utf-8")
    for arguments, word in (([str(bad)], "tile_short_edge"), ([str(DEMO / "cafe.toml"), "--area", "x"], "x")):
        monkeypatch.setattr("sys.argv", ["undercourse", command, *arguments])
        with pytest.raises(SystemExit) as ended:
            main()
        out, err = capsys.readouterr()
        assert ended.value.code == 2
        assert out == ""
        assert word in err
        assert "Traceback" not in err
