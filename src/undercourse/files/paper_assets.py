"""The template and the fonts that papers are set with."""

from __future__ import annotations

from pathlib import Path

from undercourse.papers import PaperAssets

_DATA = Path(__file__).resolve().parent.parent / "data"
FONT_FOLDER = _DATA / "fonts"
_TEMPLATE = _DATA / "papers" / "job_report.typ"


def load_paper_assets() -> PaperAssets:
    """The template's bytes and the folder of the shipped fonts."""
    return PaperAssets(_TEMPLATE.read_bytes(), (str(FONT_FOLDER),))
