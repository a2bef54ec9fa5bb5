# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Files in and out: plain words when one cannot be read, and never a half-written one."""

from __future__ import annotations

import contextlib
import os
import tempfile
from pathlib import Path

from ..errors import OutputError, PinwrightError

__all__ = ["read_text", "write_bytes", "write_text"]


def read_text(path: str | Path) -> str:
    """Return the text of a UTF-8 file (a byte order mark is dropped, line ends become newlines).

    Raises
    ------
    PinwrightError : no such file, a folder, not readable, not UTF-8 text.
    """
    try:
        if Path(path).is_dir():
            raise PinwrightError(f"{path} is a folder; name the design file in it.")
        data = Path(path).read_bytes()
    except FileNotFoundError:
        raise PinwrightError(f"{path}: there is no such file.") from None
    except (OSError, ValueError) as error:
        if isinstance(error, PinwrightError):
            raise
        raise PinwrightError(f"{path} cannot be read: {_reason(error)}.") from error
    try:
        return data.decode("utf-8-sig").replace("\r\n", "\n")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise PinwrightError(
            f"{path} is not UTF-8 text (line {line}). Save it as UTF-8 in your editor."
        ) from error


def write_text(path: str | Path, text: str) -> None:
    """Write a UTF-8 file whole; see `write_bytes`.

    Raises
    ------
    OutputError : the folder is missing, not writable or full; an older file is left as it was.
    """
    write_bytes(path, text.encode("utf-8"))


def write_bytes(path: str | Path, data: bytes) -> None:
    """Write a file whole: into a temporary file beside it, which then takes its place.

    A new file may be read by whom the system's mask allows; an older one keeps its mode.

    Raises
    ------
    OutputError : the folder is missing, not writable or full; an older file is left as it was.
    """
    target = Path(path)
    if target.is_dir():
        raise OutputError(f"{path} is a folder; name a file in it.")
    temporary = None
    try:
        handle, temporary = tempfile.mkstemp(dir=target.parent, prefix=f".{target.name}.")
        with os.fdopen(handle, "wb") as stream:
            stream.write(data)
        os.chmod(temporary, target.stat().st_mode if target.exists() else 0o666 & ~_umask())
        os.replace(temporary, target)
    except (OSError, ValueError) as error:
        if temporary is not None:
            with contextlib.suppress(OSError):
                os.unlink(temporary)
        raise OutputError(f"{path} cannot be written: {_reason(error)}.") from error


def _reason(error: Exception) -> str:
    text = error.strerror if isinstance(error, OSError) else None
    return (text if text is not None else str(error)).rstrip(".").lower()


def _umask() -> int:
    # The mask can only be read by setting it.
    mask = os.umask(0o022)
    os.umask(mask)
    return mask
