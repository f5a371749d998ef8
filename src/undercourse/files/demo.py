"""The demo jobs that ship with the program."""

from __future__ import annotations

from undercourse.facts.jobs import Job, read_job
from undercourse.facts.vocabulary import Vocabulary
from undercourse.files.reading import Locator, parse_toml
from undercourse.files.shipped import data_root


def demo_jobs(vocabulary: Vocabulary) -> list[tuple[str, Job]]:
    """Name and job of every demo job, in name order."""
    found = []
    folder = data_root().joinpath("demo").joinpath("jobs")
    for entry in sorted(folder.iterdir(), key=lambda item: item.name):
        if entry.name.endswith(".toml"):
            text = entry.read_text(encoding="utf-8")
            job = read_job(parse_toml(text, entry.name), vocabulary, Locator(entry.name, text))
            found.append((entry.name.removesuffix(".toml"), job))
    return found
