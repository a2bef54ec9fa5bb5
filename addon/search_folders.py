# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Where searches are kept: each in a folder of its own, beside the file if that was saved."""

from __future__ import annotations

from pathlib import Path

import bpy

from ..core.errors import OutputError
from .search_settings import PinwrightSearch

__all__ = ["new_folder"]


def new_folder(settings: PinwrightSearch) -> Path:
    """Make a folder that no search has had yet.

    Raises
    ------
    OutputError : it cannot be made there.
    """
    place = _place(settings)
    name = f"{settings.group}{settings.motifs}-seed-{settings.seed}"
    number = 1
    while True:
        folder = place / (name if number == 1 else f"{name}-{number}")
        try:
            folder.mkdir(parents=True)
        except FileExistsError as error:
            if not folder.is_dir():
                raise OutputError(f"{folder} cannot be made: a file is in its way.") from error
            number += 1
        except OSError as error:
            raise OutputError(f"{folder} cannot be made: {error.strerror}.") from error
        else:
            return folder


def _place(settings: PinwrightSearch) -> Path:
    """Return where searches go."""
    if settings.folder:
        if settings.folder.startswith("//") and not bpy.data.filepath:
            raise OutputError(
                f"The folder {settings.folder} is beside the file, and that is not saved yet. "
                "Save it, or choose another folder."
            )
        return Path(bpy.path.abspath(settings.folder))
    if bpy.data.filepath:
        file = Path(bpy.data.filepath)
        return file.with_name(f"{file.stem}-searches")
    return Path(bpy.app.tempdir) / "searches"
