# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The folder of a build: build.json, a DXF and an SVG for each part, tables and a README.txt.

Everything is rendered before the disk is touched, and then written all or nothing.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from ..errors import OutputError, PinwrightError
from ..results import Build
from .build_json import build_json, read_build_json
from .drawing import part_drawing
from .dxf import part_dxf
from .folder import write_all
from .marks import PartMarks, part_marks
from .names import cut_names
from .readme import readme_text
from .svg import part_svg
from .table import joints_csv, parts_csv, plates_csv

__all__ = ["build_files", "write_build"]


def build_files(build: Build, kerf: bool = False) -> dict[str, bytes]:
    """Return all files of a build by relative name, build.json last.

    Parameters
    ----------
    build : any build
    kerf : cut files make up for `design.sheet.kerf`; build.json and tables are always true size

    Raises
    ------
    OutputError : a feature is narrower than the kerf, or a number is not finite
    """
    marks: Sequence[PartMarks | None] = [None] * len(build.parts)
    if build.design.keying.marks:
        marks = part_marks(build)
    drawings = [
        part_drawing(part, build.design.sheet, kerf, marks=own)
        for part, own in zip(build.parts, marks, strict=True)
    ]
    files: dict[str, bytes] = {}
    for name, drawing in zip(cut_names(part.mark for part in build.parts), drawings, strict=True):
        files[f"cut/{name}.dxf"] = part_dxf(drawing)
        files[f"cut/{name}.svg"] = part_svg(drawing)
    files["parts.csv"] = parts_csv(build)
    files["plates.csv"] = plates_csv(build)
    files["joints.csv"] = joints_csv(build)
    files["README.txt"] = readme_text(build, drawings).encode("utf-8")
    # Last, so that a folder whose writing was cut short still lists its earlier files.
    files["build.json"] = build_json(build)
    return files


def write_build(
    build: Build, folder: str | os.PathLike[str], kerf: bool = False
) -> tuple[Path, ...]:
    """Write a build's files into `folder` and return their paths, build.json last.

    Cut files of an earlier build in the same folder go away if its build.json lists them; nothing
    else is removed.

    Raises
    ------
    OutputError : nothing was written; says why and what to do
    """
    _refuse_foreign(Path(folder))
    files = build_files(build, kerf)
    current = {name.upper() for name in files}
    stale = [name for name in _earlier_cut_files(Path(folder)) if name.upper() not in current]
    return write_all(folder, files, stale)


def _refuse_foreign(folder: Path) -> None:
    """Refuse to write over files of the user's own: of our names, but no build.json beside them."""
    ours = ("README.txt", "parts.csv", "plates.csv", "joints.csv", "build.json")
    there = [name for name in ours if (folder / name).exists()]
    if there and not _is_build(folder):
        raise OutputError(
            f"--out: {folder} holds files that are no earlier build: {', '.join(there)}. "
            "Allowed is a new or empty folder, or one of an earlier build. Choose another "
            "folder, or move these files."
        )


def _is_build(folder: Path) -> bool:
    try:
        read_build_json(folder / "build.json")
    except PinwrightError:
        return False
    return True


def _earlier_cut_files(folder: Path) -> list[str]:
    try:
        parts: Any = read_build_json(folder / "build.json")["parts"]
    except PinwrightError:
        return []
    if not isinstance(parts, Sequence):
        return []
    marks = [part.get("mark") for part in parts if isinstance(part, dict)]
    names = cut_names(mark for mark in marks if isinstance(mark, str))
    return [f"cut/{name}.{kind}" for name in names for kind in ("dxf", "svg")]
