# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Write many files into a folder: all of them, or none and everything as it was before.

New files are first written in full to a hidden folder inside the target, which is thus on the same
disk for certain, and only then moved into place one by one. Whatever they replace is kept until the
last one stands.
"""

from __future__ import annotations

import errno
import os
import shutil
import tempfile
from collections.abc import Iterable, Mapping
from pathlib import Path

from ..errors import OutputError

__all__ = ["write_all"]


def write_all(
    folder: str | os.PathLike[str], contents: Mapping[str, bytes], remove: Iterable[str] = ()
) -> tuple[Path, ...]:
    """Write `contents` into `folder`, which is made if need be.

    Parameters
    ----------
    folder : target; missing parents are made too
    contents : file's bytes by relative name with '/' between folders; moved in in this order
    remove : relative names of files that go away; missing ones are passed over

    Returns
    -------
    tuple of Path : the files written, in the order of `contents`

    Raises
    ------
    OutputError : something could not be written; the folder is as it was before
    """
    target = Path(folder)
    change = _Change(target)
    try:
        written = change.make(contents, remove)
    except BaseException as error:
        kept = change.take_back()
        if isinstance(error, OSError):
            raise OutputError(_explained(target, error, kept)) from error
        raise
    change.close()
    return written


class _Change:
    """What has been done to the folder so far, so that it can be undone."""

    def __init__(self, target: Path) -> None:
        self._target = target
        self._work: Path | None = None
        self._made: list[Path] = []  # folders, outermost first
        self._moved: list[tuple[Path, Path | None]] = []  # file, what stood there before

    def make(self, contents: Mapping[str, bytes], remove: Iterable[str]) -> tuple[Path, ...]:
        self._make_folder(self._target)
        work = self._work = Path(tempfile.mkdtemp(prefix=".writing-", dir=self._target))
        fresh = []
        for number, (name, content) in enumerate(contents.items()):
            fresh.append((work / f"new{number}", self._target / name))
            fresh[-1][0].write_bytes(content)
        for source, place in fresh:
            self._make_folder(place.parent)
            old = self._kept(place)
            os.replace(source, place)
            self._moved.append((place, old))
        for name in remove:
            self._remove(self._target / name)
        return tuple(place for _, place in fresh)

    def close(self) -> None:
        if self._work is not None:
            shutil.rmtree(self._work, ignore_errors=True)

    def take_back(self) -> Path | None:
        """Undo everything; return the folder with the old files if some could not be put back."""
        kept = None
        for place, old in reversed(self._moved):
            try:
                place.unlink(missing_ok=True)
                if old is not None:
                    os.rename(old, place)
            except OSError:
                kept = self._work
        if kept is None:
            self.close()
        for made in reversed(self._made):
            try:
                made.rmdir()
            except OSError:
                break  # somebody else has put a file there meanwhile: theirs to keep
        return kept

    def _make_folder(self, folder: Path) -> None:
        missing = [path for path in (folder, *folder.parents) if not path.exists()]
        for path in reversed(missing):
            path.mkdir()
            self._made.append(path)

    def _kept(self, place: Path) -> Path | None:
        """Copy what stands at `place` aside, so that `place` is never empty in between."""
        if not os.path.lexists(place):
            return None
        assert self._work is not None
        copy = self._work / f"old{len(self._moved)}"
        shutil.copy2(place, copy, follow_symlinks=False)
        return copy

    def _remove(self, place: Path) -> None:
        if place.is_file():
            old = self._kept(place)
            place.unlink()
            self._moved.append((place, old))


def _explained(folder: Path, error: OSError, kept: Path | None) -> str:
    reason = error.strerror or str(error)
    if error.errno == errno.ENOSPC:
        remedy = "Free some space or choose another disk."
    elif isinstance(error, PermissionError):
        remedy = "Choose a folder that you may write to, or close the program that holds a file."
    elif isinstance(error, FileExistsError | NotADirectoryError | IsADirectoryError):
        remedy = "Something of that name is in the way: choose another folder or move it."
    else:
        remedy = "Choose another folder."
    about = "" if error.filename is None else f" at {error.filename}"
    state = "Nothing was written." if kept is None else f"The files that were there are in {kept}."
    return f"Folder {folder}: cannot be written ({reason}{about}). {state} {remedy}"
