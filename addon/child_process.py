# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""A program of Blender's Python that works beside Blender: its start, its words, its end.

The process writes what it has to say into a file of its own, which is read as it grows: reading a
pipe would block the window on some systems.
"""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
import tempfile
from contextlib import suppress
from pathlib import Path
from typing import Any

import bpy

from ..core.errors import OutputError

__all__ = ["Child"]


class Child:
    """One running program.

    program : the file that Blender's Python runs; kind : word for the names of its papers
    behind : how far it stands back behind the window, 0 to 19 (as ``nice`` counts)

    Raises
    ------
    OutputError : Blender's Python cannot be started.
    """

    def __init__(self, program: Path, kind: str, behind: int = 10) -> None:
        self.papers = Path(tempfile.mkdtemp(prefix=f"{kind}-", dir=bpy.app.tempdir or None))
        self._read = 0  # bytes
        self._rest = b""  # of a line that was not whole yet
        try:
            self.process = self._started(program, behind)
        except OSError as error:
            shutil.rmtree(self.papers, ignore_errors=True)
            where = sys.executable or "(unknown)"
            raise OutputError(f"Blender's Python at {where} cannot be started: {error}.") from error

    def _started(self, program: Path, behind: int) -> subprocess.Popen:
        options: dict[str, Any] = {}
        if sys.platform == "win32":
            options["creationflags"] = (
                subprocess.CREATE_NO_WINDOW | subprocess.BELOW_NORMAL_PRIORITY_CLASS
            )
        told, faults = self.papers / "told", self.papers / "faults"
        with open(told, "wb") as told_file, open(faults, "wb") as faults_file:
            process = subprocess.Popen(
                # -I: neither this folder nor the user's own packages come before Blender's.
                [sys.executable, "-I", str(program)],
                stdin=subprocess.PIPE,
                stdout=told_file,
                stderr=faults_file,
                **options,
            )
        if hasattr(os, "setpriority"):
            with suppress(OSError):  # the window comes first
                os.setpriority(os.PRIO_PROCESS, process.pid, behind)
        return process

    def say(self, line: str) -> None:
        """Write a line to the process."""
        with suppress(OSError):  # it has ended: the next poll tells why
            self.process.stdin.write(line.encode("ascii") + b"\n")
            self.process.stdin.flush()

    def heard(self) -> list[dict[str, Any]]:
        """Return the records that were written since the last time."""
        with open(self.papers / "told", "rb") as file:
            file.seek(self._read)
            text = file.read()
        self._read += len(text)
        *lines, self._rest = (self._rest + text).split(b"\n")
        return [json.loads(line) for line in lines]

    def last_words(self) -> str:
        """Return why it ended without an answer; all of it goes to the terminal."""
        words = (self.papers / "faults").read_text("utf-8", "replace").strip()
        sys.stderr.write(words + "\n")
        return words.splitlines()[-1] if words else f"exit status {self.process.returncode}"

    def hang_up(self) -> None:
        """Tell the process that nobody is there any more."""
        with suppress(OSError):
            self.process.stdin.close()

    def put_away(self) -> None:
        """Remove what it wrote."""
        self.hang_up()
        shutil.rmtree(self.papers, ignore_errors=True)
