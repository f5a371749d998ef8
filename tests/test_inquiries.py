"""The questions put to trade desks can be written as jobs without saying more than was said."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest

import undercourse
from undercourse.base.domains import SLACK, Choices, Domain, Spec
from undercourse.facts.consistency import read_consistency
from undercourse.facts.jobs import read_job, settle_facts
from undercourse.facts.vocabulary import read_vocabulary

HERE = Path(__file__).parent / "inquiries"
DATA = Path(undercourse.__file__).parent / "data"
QUESTIONS: list[dict[str, Any]] = tomllib.loads((HERE / "index.toml").read_text("utf-8"))["question"]
VOCABULARY = read_vocabulary(tomllib.loads((DATA / "vocabulary.toml").read_text("utf-8")), [])
ROWS = read_consistency(tomllib.loads((DATA / "consistency.toml").read_text("utf-8")), VOCABULARY, "rows")
TOPICS = {
    topic
    for path in (DATA / "practice").glob("*.toml")
    for rows in tomllib.loads(path.read_text("utf-8")).values()
    for row in rows
    for topic in row.get("topic", [])
}
KINDS = {"floor", "rule", "symptom"}
VERDICTS = {"yes", "yes-with-conditions", "no", "depends"}


def is_settled(domain: Domain, spec: Spec) -> bool:
    if isinstance(spec, Choices):
        return spec.bits.bit_count() <= 1
    return spec.high - spec.low <= SLACK * max(1.0, abs(spec.high))


def test_index_and_job_files_agree() -> None:
    """Each question has its job file and each job file its question."""
    named = [row["id"] for row in QUESTIONS]
    assert len(named) == len(set(named)) == 38
    assert sorted(named) == sorted(path.stem for path in (HERE / "jobs").glob("*.toml"))


def test_most_questions_are_representable_and_the_rest_say_why() -> None:
    """The vocabulary holds the facts on which at least 34 of the 38 answers turn."""
    fit = [row["id"] for row in QUESTIONS if row["representable"]]
    assert len(fit) >= 34
    assert all(row.get("reason") for row in QUESTIONS if not row["representable"])


@pytest.mark.parametrize("row", QUESTIONS, ids=lambda row: row["id"])
def test_question_reads_as_one_possible_floor(row: dict[str, Any]) -> None:
    """The job reads without a fault, contradicts nothing, and what is asked back is still open in it."""
    path = HERE / "jobs" / f"{row['id']}.toml"
    where = path.name
    job = read_job(tomllib.loads(path.read_text("utf-8")), VOCABULARY, lambda keys: f"{where}: {keys}")
    assert len(job.areas) == 1
    assert job.areas[0].readings, "a question gives at least one fact"
    columns, contradictions = settle_facts(job.areas, VOCABULARY, ROWS)
    assert contradictions == {}
    assert row["kind"] in KINDS
    assert row["verdict"] in VERDICTS
    assert row["basis"] in {"stated", "inferred"}
    assert row["topic"]
    assert set(row["topic"]) <= TOPICS, "a topic has no rule and no note"
    assert row["paraphrase"]
    assert row["ask_first"].endswith("?")
    for name in row["ask_fact"]:
        domain = VOCABULARY.domains[name]
        assert not is_settled(domain, columns.spec(name, 0)), f"{name} is asked back, yet the job states it"
    if row["kind"] == "symptom":
        assert "symptom" in job.areas[0].readings
