# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Run all steps of the walk in Blender's window, and write how each ended.

``blender --enable-event-simulate --python tests/gui/walk.py -- EXTENSION.zip FOLDER [WHAT]``; see
tools/run_gui.py. A step that fails ends the walk: what follows would build on sand. With
``figures`` times are measured instead; with a name of ``PARTS`` only that part is
walked.
"""

from __future__ import annotations

import json
import os
import sys
import time
import traceback
from collections.abc import Iterator
from pathlib import Path

import bpy

ROOT = Path(__file__).resolve().parent.parent.parent
sys.path.insert(0, str(ROOT))
sys.dont_write_bytecode = True

from tests.gui import artist, figures, manners, pictures, planning, steps  # noqa: E402

PARTS = {"artist": artist.STEPS, "manners": manners.STEPS, "planning": planning.STEPS}


class Walk:
    """Takes one beat of the current step at a time, called by Blender's timer."""

    def __init__(self, zip_file: Path, out: Path, what: str = "walk") -> None:
        self.notes = steps.Notes(zip_file, out, ROOT)
        self.left = [
            *steps.STEPS,
            *artist.STEPS,
            *manners.STEPS,
            *planning.STEPS,
            *steps.LAST,
            *pictures.STEPS,
        ]
        if what == "figures":
            self.left = [steps.install, *figures.STEPS]
        elif what in PARTS:
            self.left = [steps.install, steps.demo, *PARTS[what], *steps.LAST]
        self.report: list[dict[str, object]] = []
        self.running: Iterator[float] | None = None
        self.name = ""
        self.began = 0.0

    def beat(self) -> float | None:
        """Go on until the step wants to wait; returns the seconds, None at the end."""
        try:
            if self.running is None:
                if not self.left:
                    self._note(True, "")
                    self._leave(0)
                step = self.left.pop(0)
                self.name = " ".join((step.__doc__ or "").split())
                self.began = time.monotonic()
                self.running = step(self.notes)
            return next(self.running)
        except StopIteration:
            self._note(True, "")
            self.running = None
            if not self.left:
                self.name = "the end"
            return 0.05
        except BaseException:
            self._note(False, traceback.format_exc(limit=-4))
            self._leave(1)
            return None

    def _note(self, ok: bool, message: str) -> None:
        seconds = time.monotonic() - self.began
        said, self.notes.said = self.notes.said, []
        row = {"name": self.name, "ok": ok, "seconds": seconds, "message": message, "notes": said}
        self.report.append(row)
        text = json.dumps(self.report, indent=1)
        (self.notes.out / "report.json").write_text(text, encoding="utf-8")

    def _leave(self, code: int) -> None:
        """End at once: what is not saved is of no interest, and no question must be asked."""
        sys.stdout.flush()
        sys.stderr.flush()
        os._exit(code)


def main() -> None:
    """Start the walk when the window has been drawn once."""
    sys.stdout.reconfigure(line_buffering=True)
    bpy.context.preferences.view.show_splash = False
    zip_file, out, *what = sys.argv[sys.argv.index("--") + 1 :]
    walk = Walk(Path(zip_file), Path(out), *what)
    bpy.app.timers.register(walk.beat, first_interval=1.5, persistent=True)


main()
