"""The template and the fonts that papers are set with."""

from __future__ import annotations

from pathlib import Path

from undercourse.papers import PaperAssets

_DATA = Path(__file__).resolve().parent.parent / "data"
FONT_FOLDER = _DATA / "fonts"
_PAPERS = _DATA / "papers"
_MAIN = "job_report.typ"


def load_paper_assets(main: str = _MAIN) -> PaperAssets:
    """The bytes of a template and of what it may import, and the folder of the shipped fonts."""
    found = {path.name: path.read_bytes() for path in sorted(_PAPERS.glob("*.typ"))}
    found["main.typ"] = found.pop(main)
    return PaperAssets(found, (str(FONT_FOLDER),))
