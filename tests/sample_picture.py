"""Makes the sample paper under out/sample and the picture in README: a question paper beside its mark scheme.

Run: python tests/sample_picture.py. Needs pdftoppm (Debian: poppler-utils). Run it again when the look of the sheets changes.
"""

from __future__ import annotations

import subprocess
import tempfile
from pathlib import Path

from PIL import Image, ImageOps

from molewright.cli import main

SAMPLE = Path(__file__).resolve().parents[1] / "out" / "sample"
ORDER = [
    "paper",
    "direct-one-to-two",
    "direct-purity",
    "back-portions",
    "iron-tablets",
    "--level",
    "structured",
    "--seed",
    "1902",
]
TITLE = "Titration calculations: a sample"


def page(pdf: Path, number: int, folder: Path) -> Image.Image:
    """One page as a picture with a thin frame."""
    stem = folder / f"{pdf.stem}-{number}"
    subprocess.run(
        ["pdftoppm", "-r", "88", "-png", "-gray", "-f", str(number), "-l", str(number), "-singlefile", pdf, stem],
        check=True,
    )
    return ImageOps.expand(Image.open(stem.with_suffix(".png")), border=1, fill=120)


def make() -> None:
    """Write the sample and its picture."""
    for old in SAMPLE.glob("*"):
        old.unlink()
    if main([*ORDER, "--title", TITLE, "--to", str(SAMPLE)]) != 0:
        raise SystemExit(1)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        pages = [page(next(SAMPLE.glob(f"*-{kind}.pdf")), 2, folder) for kind in ("questions", "mark-scheme")]
        pair = Image.new("L", (sum(one.width for one in pages) + 24, pages[0].height), 255)
        across = 0
        for one in pages:
            pair.paste(one, (across, 0))
            across += one.width + 24
        pair.quantize(16).save(SAMPLE / "pair.png", optimize=True)


if __name__ == "__main__":
    make()
