"""The page about laying names what the program has: layers, endings, options, and methods compared."""

from __future__ import annotations

import re
import runpy
import shlex
from pathlib import Path

import pytest
import typer
from benchmarks.laying import BEGIN, EFFORTS, END
from benchmarks.simple_laying import METHODS
from typer.testing import CliRunner

from undercourse.cli.app import app
from undercourse.files.layout_out import ENDINGS
from undercourse.files.plans import KINDS
from undercourse.papers.layout_dxf import LAYERS

from .reading import DOCS, ROOT, shell_lines

PAGE = (DOCS / "laying.md").read_text("utf-8")
FIGURES = PAGE.split(BEGIN)[1].split(END)[0]


def test_every_layer_of_a_drawing_is_told() -> None:
    """No layer more, none less."""
    rows = re.search(r"^\| Layer \|.*?\n\n", PAGE, re.M | re.S)
    assert rows
    assert set(re.findall(r"`([A-Z-]+)`", rows.group(0))) == set(LAYERS)


def test_every_kind_of_plan_and_of_file_is_told() -> None:
    """Plans in, layouts out."""
    for heads, endings in (("| File |", KINDS), ("| Ending |", ENDINGS)):
        rows = re.search(rf"^{re.escape(heads)}.*?\n\n", PAGE, re.M | re.S)
        assert rows
        assert set(re.findall(r"`(\.[a-z]+)`", rows.group(0))) == set(endings)


def test_options_come_from_the_command() -> None:
    """The table is made when the page is built, so that it holds each of them."""
    made = runpy.run_path(str(DOCS / "generated.py"))["layout_options"]()
    params = typer.main.get_command(app).commands["layout"].params  # type: ignore[attr-defined]
    options = [name for param in params if param.param_type_name == "option" for name in param.opts]
    assert len(options) > 12
    assert all(f"`{name}`" in made for name in options)
    assert "<!-- generated: layout_options -->" in PAGE


@pytest.mark.parametrize(
    "words", ["yardstick", "total | median | nine in ten", "Without head joints", "cable"]
)
def test_measured_figures_stand_on_the_page(words: str) -> None:
    """They are put there by the measuring itself, with date and yardstick."""
    assert re.match(r"\d{4}-\d\d-\d\d; yardstick: one small NumPy addition [\d.]+ µs\.", FIGURES)
    assert words in re.sub(r" +", " ", FIGURES)


def test_every_method_stands_in_the_table_of_both_sets() -> None:
    """Ours beside the plain ones."""
    for title in [title for title, _ in METHODS.values()] + [f"`lay_out`, {effort}" for effort in EFFORTS]:
        assert FIGURES.count(f"| {title} ") == 2, title


def test_printed_commands_run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Every command of the page can be typed as it stands, and writes what it names."""
    monkeypatch.chdir(tmp_path)
    lines = [shlex.split(line) for line in shell_lines(PAGE)]
    assert len(lines) >= 3
    for words in lines:
        assert words[0] == ".venv/bin/undercourse"
        typed = [str(ROOT / word) if word.startswith("tests/") else word for word in words[1:]]
        result = CliRunner().invoke(app, typed)
        assert result.exit_code == 0, (words, result.output, result.exception)
        if "-o" in words:
            assert (tmp_path / words[words.index("-o") + 1]).stat().st_size > 1000
