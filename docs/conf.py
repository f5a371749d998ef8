"""Sphinx settings. Nothing is fetched: no scripts, fonts or formulas from elsewhere."""

from __future__ import annotations

import sys
from pathlib import Path

from sphinx.application import Sphinx

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE))

from generated import fill  # noqa: E402

from undercourse import __version__  # noqa: E402

project = "Undercourse"
author = "the Undercourse authors"
project_copyright = "2026, the Undercourse authors; Apache-2.0"
release = version = __version__

extensions = ["myst_parser"]
source_suffix = {".md": "markdown"}
exclude_patterns = ["_build"]
myst_enable_extensions = ["deflist"]
myst_heading_anchors = 3
# Job files and lines are TOML; the lexer of that name ships with the highlighter.
highlight_language = "none"

html_theme = "furo"
html_title = f"Undercourse {release}"
html_show_sourcelink = False
html_copy_source = False
html_theme_options = {"footer_icons": []}


def put_in(app: Sphinx, name: str, source: list[str]) -> None:
    """Fill the marked places of a page from the program."""
    source[0] = fill(source[0])


def setup(app: Sphinx) -> None:
    """Connect what fills the pages."""
    app.connect("source-read", put_in)
