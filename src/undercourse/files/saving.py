"""A job file written again with facts that were learned since."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from undercourse.facts.vocabulary import Vocabulary
from undercourse.files.job_text import job_data, job_json, job_toml
from undercourse.files.reading import parse_json, parse_toml, read_text
from undercourse.files.writing import write_whole


def save_with_facts(
    source: Path, target: Path, told: Mapping[int, Mapping[str, Any]], vocabulary: Vocabulary
) -> None:
    """Write a job with more facts; TOML, or JSON where the new name ends so. Comments are not kept.

    Parameters
    ----------
    told : mapping
        Place of the area to its new facts; a job without areas takes them itself.
    """
    text = read_text(source)
    is_json = source.suffix.lower() == ".json" or text.lstrip().startswith("{")
    raw = parse_json(text, str(source)) if is_json else parse_toml(text, str(source))
    data = job_data(raw, vocabulary)
    for row, facts in told.items():
        part = data["areas"][row] if data["areas"] else data
        part["facts"] = {**part["facts"], **facts}
    written = job_json(data) if target.suffix.lower() == ".json" else job_toml(data, vocabulary)
    write_whole(target, written.encode("utf-8"))
