"""Pages of the demo reports and of layouts as small PNG files with a palette, for the README and these pages.

Run after ``make demo``: ``.venv/bin/python docs/page_images.py``. Needs pdftoppm (Debian: poppler-utils).
"""

from __future__ import annotations

import struct
import subprocess
import sys
import tempfile
import zlib
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from pypdf import PdfReader

HERE = Path(__file__).parent
OUT = HERE.parent / "out"
# File to write, report, heading of the area, what the page shows, dots per inch.
PAGES = (
    ("reports/cafe-first", "cafe", "Dining room", "Verdict", 80),
    ("reports/cafe-plan", "cafe", "Dining room", "Plan of sheets", 80),
    ("reports/heated-bath-first", "heated_bath", "Bath floor", "Verdict", 80),
    ("reports/heated-bath-section", "heated_bath", "Bath floor", "Section", 80),
    ("reports/laundry-first", "laundry", "Laundry", "Verdict", 80),
    ("reports/laundry-section", "laundry", "Laundry", "Section", 80),
    ("reports/laundry-list", "laundry", "Laundry", "Calculation sheets", 80),
    ("reports/laundry-sheet", "laundry", "Laundry", "Sheet 2 ", 80),
    ("reports/terrace-first", "terrace", "Timber landing", "Verdict", 80),
    ("reports/terrace-plan", "terrace", "Terrace", "Plan of sheets", 80),
    ("report", "laundry", "Laundry", "Verdict", 110),
)
# File to write, plan, options, what the page shows, share of the page's height from its top, dots per inch.
ROLL = ("--roll-length", "30 m", "--seam-gap", "4 mm")
PLANS = Path("tests/data/open")
LAYOUTS = (
    (
        "laying/dry-fit",
        PLANS / "rooms.geojson",
        ("--area", "WH floor 5 #3 + obstacles", *ROLL),
        "Dry-fit sheet",
        0.72,
        80,
    ),
    ("laying/cut-map", PLANS / "duplex_level1.dxf", ROLL, "Cut map 2", 0.58, 90),
)


def find_page(pdf: Path, area: str, shows: str) -> int:
    """Number of the first page that shows something, counted from where an area begins."""
    texts = [page.extract_text() for page in PdfReader(pdf).pages]
    begins = next(n for n, text in enumerate(texts) if f"\n{area}\nSite" in text)
    return next(n for n in range(begins, len(texts)) if f"\n{shows}" in texts[n]) + 1


def rasterize(pdf: Path, page: int, dpi: int) -> NDArray[np.uint8]:
    """One page as pixels [height, width, 3]."""
    command = ["pdftoppm", "-q", "-f", str(page), "-l", str(page), "-r", str(dpi), str(pdf)]
    data = subprocess.run(command, check=True, capture_output=True).stdout
    magic, size, _, pixels = data.split(b"\n", 3)
    assert magic == b"P6"
    width, height = map(int, size.split())
    return np.frombuffer(pixels, np.uint8)[: width * height * 3].reshape(height, width, 3)


def to_palette(pixels: NDArray[np.uint8]) -> tuple[NDArray[np.uint8], NDArray[np.uint8]]:
    """Palette [n, 3] and index [height, width]: the 256 commonest colors, the rest to the nearest."""
    coarse = (pixels >> 3).astype(np.int64)
    keys = (coarse[..., 0] << 10) | (coarse[..., 1] << 5) | coarse[..., 2]
    found, back, counts = np.unique(keys, return_inverse=True, return_counts=True)
    sums = np.stack(
        [np.bincount(back.ravel(), pixels[..., c].ravel().astype(float)) for c in range(3)], axis=1
    )
    colors = sums / counts[:, None]
    chosen = np.argsort(-counts)[:256]
    distance = ((colors[:, None, :] - colors[chosen][None, :, :]) ** 2).sum(axis=2)
    index = distance.argmin(axis=1)[back].reshape(keys.shape)
    assert len(found) == len(colors)
    return np.rint(colors[chosen]).astype(np.uint8), index.astype(np.uint8)


def write_png(path: Path, palette: NDArray[np.uint8], index: NDArray[np.uint8]) -> None:
    """An 8-bit palette PNG (ISO/IEC 15948, color type 3)."""

    def chunk(kind: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))

    height, width = index.shape
    rows = np.hstack([np.zeros((height, 1), np.uint8), index]).tobytes()
    head = struct.pack(">IIBBBBB", width, height, 8, 3, 0, 0, 0)
    body = chunk(b"IHDR", head) + chunk(b"PLTE", palette.tobytes()) + chunk(b"IDAT", zlib.compress(rows, 9))
    path.write_bytes(b"\x89PNG\r\n\x1a\n" + body + chunk(b"IEND", b""))


def show_layouts() -> None:
    """Lay what ``LAYOUTS`` names, and write the upper part of one page of each."""
    for name, plan, options, shows, share, dpi in LAYOUTS:
        with tempfile.TemporaryDirectory() as folder:
            pdf = Path(folder) / "layout.pdf"
            tool = Path(sys.executable).with_name("undercourse")
            command = [str(tool), "layout", str(HERE.parent / plan), *options, "-o", str(pdf)]
            subprocess.run(command, check=True, stdout=subprocess.DEVNULL)
            texts = [page.extract_text() for page in PdfReader(pdf).pages]
            page = next(number for number, text in enumerate(texts, start=1) if shows in text)
            pixels = rasterize(pdf, page, dpi)
        write_page(name, pixels[: int(share * len(pixels))])


def write_page(name: str, pixels: NDArray[np.uint8]) -> None:
    """Write one picture and say how large it is."""
    path = HERE / "images" / f"{name}.png"
    path.parent.mkdir(parents=True, exist_ok=True)
    write_png(path, *to_palette(pixels))
    print(f"{path.relative_to(HERE.parent)} {path.stat().st_size // 1000} kB")


def main() -> None:
    """Write every page."""
    show_layouts()
    if "--layouts" in sys.argv:
        return
    for name, report, area, shows, dpi in PAGES:
        pdf = OUT / f"{report}.pdf"
        if not pdf.is_file():
            sys.exit(f"{pdf} is missing; run make demo first")
        write_page(name, rasterize(pdf, find_page(pdf, area, shows), dpi))


if __name__ == "__main__":
    main()
