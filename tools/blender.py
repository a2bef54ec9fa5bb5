# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Find a Blender program on this machine, and say how a command line for it begins.

Looked for in this order: what the variable BLENDER names, the script ``real-blender`` in the folder
``shared/tools`` beside the repository (it runs a Blender of its own as root), ``blender`` on PATH.
"""

from __future__ import annotations

import os
import shutil
from dataclasses import dataclass
from pathlib import Path

__all__ = ["ROOT", "Blender", "find_blender"]

ROOT = Path(__file__).resolve().parent.parent
_SCRIPT = ROOT.parent / "shared" / "tools" / "real-blender"


@dataclass(frozen=True, slots=True)
class Blender:
    """A Blender program: where it is, and whether it lives in a system of its own."""

    program: str
    enclosed: bool

    def headless(self, *arguments: str) -> list[str]:
        """Return a command that runs Blender without a window, in the current folder.

        ``--command`` must be the first argument and needs no ``--background``.
        """
        if self.enclosed:
            return [self.program, "run", "--", *arguments]
        if arguments[:1] == ("--command",):
            return [self.program, *arguments]
        return [self.program, "--background", "-noaudio", *arguments]

    def beside(self, *command: str) -> list[str]:
        """Return a command that runs another program where Blender lives."""
        return [self.program, "shell", "--", *command] if self.enclosed else list(command)

    @property
    def name(self) -> str:
        """The program's name in the system that it lives in."""
        return "blender" if self.enclosed else self.program


def find_blender() -> Blender | None:
    """Return the Blender to use, or None where there is none."""
    named = os.environ.get("BLENDER")
    if named:
        found = shutil.which(named)
        if found is None:
            raise SystemExit(f"BLENDER is {named!r}, and that is no program that can be started")
        return Blender(found, enclosed=False)
    root = hasattr(os, "geteuid") and os.geteuid() == 0
    if root and os.access(_SCRIPT, os.X_OK):
        return Blender(str(_SCRIPT), enclosed=True)
    found = shutil.which("blender")
    return Blender(found, enclosed=False) if found else None
