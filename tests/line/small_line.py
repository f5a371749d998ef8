"""Small lines written for one test each."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from undercourse.base.problems import Problem, Problems
from undercourse.files.shipped import rulebook
from undercourse.judge.rulebook import Rulebook

HEAD = """
[line]
maker = "Invented"
name = "Test line"
revision = "1"
date = 2026-09-01
currency = "USD"
"""
PACK = """
[[pack]]
size = "1 m x 10 m"
price = 100.0
currency = "USD"
price_date = 2026-09-01
"""


def product(identity: str, more: str = "", role: str = "membrane", kind: str = "uncoupling sheet") -> str:
    """The text of one product file."""
    top, _, rest = more.partition("\n[")
    rest = f"[{rest}" if rest else ""
    kind_line = f'kind = "{kind}"\n' if role == "membrane" else ""
    return f'id = "{identity}"\nrole = "{role}"\nname = "{identity}"\n{kind_line}{top}\n{PACK}\n{rest}'


def write(folder: Path, files: dict[str, str]) -> Path:
    """A line folder with a head and these files."""
    folder.mkdir(exist_ok=True)
    for name, text in {"line.toml": HEAD, **files}.items():
        (folder / name).write_text(text, "utf-8")
    return folder


def bound(folder: Path, files: dict[str, str]) -> Rulebook:
    """A line under the shipped rules."""
    return rulebook(write(folder, files))


def faults_of(folder: Path, files: dict[str, str]) -> tuple[Problem, ...]:
    """The faults that reading a line finds."""
    with pytest.raises(Problems) as caught:
        bound(folder, files)
    return caught.value.problems


def says(problems: tuple[Problem, ...], pattern: str) -> Problem:
    """The one fault whose text holds a pattern."""
    found = [problem for problem in problems if re.search(pattern, str(problem))]
    assert len(found) == 1, [str(problem) for problem in problems]
    return found[0]
