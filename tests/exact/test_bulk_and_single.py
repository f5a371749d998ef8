"""Many areas in one table and one area by itself never disagree, except where the exact effort is tighter.

Derived: the same floors judged both ways. Cases where they differ are counted, and each is one that bulk
leaves open.
"""

from __future__ import annotations

import datetime as dt
import io
import json
import random
from collections import Counter
from pathlib import Path

import pytest
from tests.exact.test_proofs import FLOORS
from tests.judge.floors import BOOK, half_known

from undercourse.advise.evaluating import evaluate
from undercourse.advise.exact import exact_verdicts
from undercourse.cli.bulk import answer_lines
from undercourse.facts.jobs import Area
from undercourse.files.job_text import job_json
from undercourse.files.jobfiles import load_job
from undercourse.files.reading import parse_toml
from undercourse.judge.results import NEEDS_FACTS, VERDICT_WORDS
from undercourse.web.state import ready_state

DAY = dt.date(2026, 11, 25)
ASKED = sorted((Path(__file__).parents[1] / "inquiries" / "jobs").glob("*.toml"))
OPEN = VERDICT_WORDS[NEEDS_FACTS]


def floors(seed: int, count: int) -> list[Area]:
    """Half-known floors without contradiction."""
    rng = random.Random(seed)
    found: list[Area] = []
    while len(found) < count:
        area = half_known(rng)
        if not evaluate([area], BOOK, DAY, only=()).problems:
            found.append(area)
    return found


def single(area: Area, day: dt.date) -> dict[str, str]:
    """The exact verdicts of an area by itself."""
    proven = exact_verdicts(evaluate([area], BOOK, day), BOOK, 0)
    return {name: VERDICT_WORDS[one.verdict] for name, one in proven.items()}


def compare(bulk: dict[str, str], alone: dict[str, str]) -> Counter[str]:
    """How often both say the same, and how often only cases close what bulk leaves open; nothing else is."""
    assert bulk.keys() == alone.keys()
    tally: Counter[str] = Counter()
    for name, verdict in bulk.items():
        if verdict == alone[name]:
            tally["alike"] += 1
        else:
            assert verdict == OPEN, (name, verdict, alone[name])
            tally["tighter alone"] += 1
    return tally


def test_rows_of_a_table_say_what_areas_say_alone(capsys: pytest.CaptureFixture[str]) -> None:
    """Half-known floors, and those that only cases close, in one table and one by one."""
    areas = [*floors(31, 24), *(area for area, _, _ in FLOORS)]
    table = evaluate(areas, BOOK, DAY)
    tally: Counter[str] = Counter()
    for row, area in enumerate(areas):
        bulk = {one.candidate.id: VERDICT_WORDS[int(one.verdict[row])] for one in table.of_row(row)}
        tally += compare(bulk, single(area, DAY))
    with capsys.disabled():
        print(f"\nBulk and single: {dict(tally)}.")
    assert tally["tighter alone"] >= len(FLOORS)
    assert tally["alike"] > 20 * tally["tighter alone"]


def test_lines_of_jobs_say_what_jobs_say_alone() -> None:
    """Questions as they came, as JSON lines in brief, against each job from its own file."""
    paths = ASKED[::4]
    states = [ready_state(parse_toml(p.read_text(encoding="utf-8"), p.name), BOOK.vocabulary) for p in paths]
    lines = [json.dumps(json.loads(job_json(state))) for state in states]
    out = io.StringIO()
    answer_lines(lines, out, BOOK, DAY, True, False)
    tally: Counter[str] = Counter()
    for path, line in zip(paths, out.getvalue().splitlines(), strict=True):
        job = load_job(path, BOOK.vocabulary)
        for area, said in zip(job.areas, json.loads(line)["areas"], strict=True):
            bulk = {one["id"]: one["verdict"] for one in said["candidates"]}
            tally += compare(bulk, single(area, job.date or DAY))
    assert tally["alike"] > 40
