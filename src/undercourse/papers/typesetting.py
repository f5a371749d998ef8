"""Setting a paper with Typst: a template, data as JSON, fonts from the folders handed in."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Literal

import typst

Page = Literal["us-letter", "a4"]
PAGES: tuple[Page, ...] = ("us-letter", "a4")


@dataclass(frozen=True)
class PaperAssets:
    """What a paper is set with: the template's sources by name, and the folders that hold the fonts.

    The one named ``main.typ`` is the paper; the others are what it imports.
    """

    templates: Mapping[str, bytes]
    font_folders: tuple[str, ...]


def set_pdf(assets: PaperAssets, data: dict[str, Any], *, timestamp: int, page: Page) -> bytes:
    """A tagged PDF built to PDF/UA-1, fonts embedded; the same bytes for the same input.

    ``data`` reaches the template as one JSON text, so nothing in it is ever read as markup.
    """
    document = json.dumps(data, ensure_ascii=False, sort_keys=True)
    # Several sources as one dict: known to the typesetter, not to its type stubs.
    sources: Any = dict(assets.templates)
    result = typst.compile(
        sources,
        font_paths=typst.Fonts(include_system_fonts=False, font_paths=list(assets.font_folders)),
        ignore_system_fonts=True,
        format="pdf",
        sys_inputs={"data": document, "page": page},
        pdf_standards="ua-1",
        timestamp=timestamp,
    )
    assert isinstance(result, bytes)
    return result
