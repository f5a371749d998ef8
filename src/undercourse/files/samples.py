"""The sample areas that ship with the program: small floors of every kind, facts only."""

from __future__ import annotations

from undercourse.facts.jobs import Area, read_job
from undercourse.facts.vocabulary import Vocabulary
from undercourse.files.reading import Locator, parse_toml
from undercourse.files.shipped import data_root

SAMPLES = "sample_areas.toml"


def sample_areas(vocabulary: Vocabulary) -> list[Area]:
    """The areas on which a line is tried; raises Problems with every fault of their file."""
    text = data_root().joinpath("demo", SAMPLES).read_text(encoding="utf-8")
    return list(read_job(parse_toml(text, SAMPLES), vocabulary, Locator(SAMPLES, text)).areas)
