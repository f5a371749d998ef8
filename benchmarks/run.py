"""Speeds, by hand: ``make bench``. Each is printed beside a yardstick measured in the same run.

The yardstick is one addition of two NumPy arrays of one element, so that figures of different machines
can be compared. Laying, with waste and bounds, comes last and takes longest: ``benchmarks/laying.py``.
"""

from __future__ import annotations

import datetime as dt
import io
import json
import os
import random
import subprocess
import sys
import time
from importlib.resources import as_file
from pathlib import Path

from benchmarks import laying
from benchmarks.measuring import best_of, yardstick
from benchmarks.open_facts import open_fact_rows
from undercourse.advise.answers import answer
from undercourse.cli.bulk import answer_lines
from undercourse.facts.jobs import Job
from undercourse.files.demo import demo_jobs
from undercourse.files.reporting import prepare, report_pdf
from undercourse.files.shipped import data_root, rulebook

DAY = dt.date(2026, 11, 25)


def one_area(name: str) -> Job:
    """The first area of a demo job."""
    job = dict(demo_jobs(rulebook(None).vocabulary))[name]
    return Job(job.name, job.date, job.areas[:1])


def random_jobs(count: int) -> list[str]:
    """Jobs of some twenty facts, four in five of them given."""
    rng = random.Random(1)
    found = []
    for number in range(count):
        facts = {
            "jurisdiction": "US",
            "exposure": "interior",
            "room": rng.choice(["bathroom", "kitchen", "laundry", "hall"]),
            "base": rng.choice(["sawn joists", "slab on ground", "suspended slab"]),
            "joist_spacing": rng.choice([12, 16, 19.2, 24]),
            "joist_span": round(rng.uniform(96, 200), 1),
            "joist_size": rng.choice(["2x8", "2x10", "2x12"]),
            "joist_species": "DF-L",
            "joist_grade": "No.2",
            "live_load": 40,
            "finish": rng.choice(["ceramic", "porcelain", "natural stone"]),
            "tile_long_edge": rng.choice([4, 8, 12, 24]),
            "wet_exposure": rng.choice(["dry", "splashed"]),
            "occupancy": "dwelling",
            "wheels": "none",
            "heating": "none",
            "top_surface": rng.choice(["plywood", "OSB", "concrete"]),
            "slab_rh": round(rng.uniform(60, 95), 1),
        }
        kept = {name: value for name, value in facts.items() if rng.random() < 0.8}
        found.append(json.dumps({"name": f"job {number}", "facts": kept, "areas": [{"name": "floor"}]}))
    return found


def command(job: Path) -> float:
    """Wall time of the whole command, byte code allowed."""
    environment = {key: value for key, value in os.environ.items() if key != "PYTHONDONTWRITEBYTECODE"}
    line = [
        str(Path(sys.executable).with_name("undercourse")),
        "answer",
        str(job),
        "--without",
        "advise",
        "--json",
    ]
    return best_of(5, lambda: subprocess.run(line, check=True, stdout=subprocess.DEVNULL, env=environment))


def main() -> None:
    """Measure and print."""
    book = rulebook(None)
    unit = yardstick()
    laundry = one_area("laundry")
    jobs = random_jobs(6000)
    answer(laundry, book, DAY, advise=False)
    rows: list[tuple[str, float, str]] = []
    rows.append(
        (
            "answer, one area, in process",
            best_of(20, lambda: answer(laundry, book, DAY, advise=False)),
            "below 10 ms",
        )
    )
    rows.append(("answer with advise, one area", best_of(5, lambda: answer(laundry, book, DAY)), ""))
    with as_file(data_root().joinpath("demo")) as folder:
        rows.append(("answer as a command", command(Path(folder) / "jobs" / "laundry.toml"), "below 0.8 s"))
    full = dict(demo_jobs(book.vocabulary))["laundry"]
    papers = prepare(full, book, DAY)
    rows.append(
        (
            "report of a job, answer to PDF",
            best_of(3, lambda: report_pdf(prepare(full, book, DAY))),
            "below 2 s",
        )
    )
    rows.append(("  of which the PDF", best_of(3, lambda: report_pdf(papers)), ""))
    rows += open_fact_rows()
    bulk = best_of(3, lambda: answer_lines(jobs, io.StringIO(), book, DAY, True, False), time.process_time)
    print(f"yardstick: one small NumPy addition {unit * 1e6:.2f} µs")
    for name, seconds, aim in rows:
        print(f"{name:34s} {seconds * 1e3:9.1f} ms   {seconds / unit:11,.0f} additions   {aim}")
    print(f"{'answer --jsonl --brief':34s} {len(jobs) / bulk:9,.0f} jobs a second and core   aim 5,000")
    print("\nLaying")
    laying.main()


if __name__ == "__main__":
    main()
