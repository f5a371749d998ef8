"""Job files: TOML or JSON in, jobs out."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from undercourse.facts.jobs import Job, read_job
from undercourse.facts.vocabulary import Vocabulary
from undercourse.files.reading import Locator, parse_json, parse_toml, read_text


def load_job(path: Path, vocabulary: Vocabulary) -> Job:
    """Read a job file; raises Problems with every fault in one pass."""
    text = read_text(path)
    where = str(path)
    if path.suffix.lower() == ".json" or text.lstrip().startswith("{"):
        return read_job(parse_json(text, where), vocabulary, Locator(where, toml=False))
    return read_job(parse_toml(text, where), vocabulary, Locator(where, text))


def job_from_data(data: Any, vocabulary: Vocabulary, where: str) -> Job:
    """A job from already parsed JSON."""
    return read_job(data, vocabulary, Locator(where, toml=False))
