# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Paint the gallery of the README: the eight found designs of examples/ under their names.

Run from the environment: ``.venv/bin/python tools/gallery.py PICTURE.png``.
"""

from __future__ import annotations

import sys
from pathlib import Path

from pinwright.core.design.files import write_bytes
from pinwright.core.design.read import read_design
from pinwright.core.search.picture import best_view, paint
from pinwright.core.search.png import png_bytes
from pinwright.core.search.samples import cloud_of
from pinwright.core.search.sheet import contact_sheet

FOUND = (
    "demo",
    "arch-globe",
    "sail-frames",
    "copper-rose",
    "linked-triangles",
    "tide-whirl",
    "four-petals",
    "first-knot",
)
SIZE = 420  # pixels of one picture's side


def main() -> None:
    """Paint and write."""
    folder = Path(__file__).resolve().parents[1] / "examples"
    pictures = []
    for number, stem in enumerate(FOUND, 1):
        design = read_design(folder / f"{stem}.toml")
        cloud = cloud_of(design)
        pictures.append((number, design.name, paint(cloud, best_view(cloud), SIZE)))
    line = "every joint at 90 degrees; found by pinwright search; design files in examples/"
    sheet = contact_sheet(pictures, "Eight found sculptures", line)
    write_bytes(Path(sys.argv[1]), png_bytes(sheet))


if __name__ == "__main__":
    main()
