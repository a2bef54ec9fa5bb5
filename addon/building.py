# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""A build that would hold up the window is made by a process beside Blender.

Whoever waits for it looks now and then; when it has ended the build is at hand (see `store`), so
that the ordinary way of showing a sculpture finds it there. Nothing of Blender's is kept here.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path

from ..core.beside.handing import hand, taken
from ..core.errors import PinwrightError
from ..core.results import Build
from . import making, store
from .child_process import Child

__all__ = ["LOOK_EVERY", "Building", "seconds_of"]

LOOK_EVERY = 0.1  # s
PATIENCE = 0.5  # s that the window may stand still
_CHILD = Path(__file__).with_name("build_child.py")
_EACH = 0.015  # s for each motif: measured with meshes of 30 to 174 edges, all different
_WORDS = {
    "frame": "Frame",
    "plates": "Plates",
    "joints": "Joints",
    "outlines": "Outlines",
    "modules": "Modules",
    "checks": "Checks",
    "done": "Checks",
}


def seconds_of(order: making.Order) -> float:
    """Return about how long a build takes: it grows with the motifs, not with their copies."""
    if order.at_hand() is not None:
        return 0.0
    motifs = len(order.design.motifs)
    if order.frame is not None and not motifs:
        motifs = len(order.frame.edges) // order.frame.group.order
    return _EACH * motifs


class Building:
    """One build that is being made.

    stage : in words; share : of it that is done, 0 to 1; fault : why it cannot be built, or nothing
    seconds : of the processor that it took, when it is there

    Raises
    ------
    OutputError : Blender's Python cannot be started, or a file cannot be written.
    """

    def __init__(self, order: making.Order) -> None:
        self.order = order
        self.stage, self.share, self.fault = "Start", 0.0, ""
        self.build: Build | None = None
        self.seconds = 0.0
        self._done = False
        self._child = Child(_CHILD, "build", behind=3)  # somebody waits for it
        papers = self._child.papers
        self._file = papers / "build"
        job = {"path": sys.path, "order": str(papers / "order"), "build": str(self._file)}
        try:
            hand((order.design, order.frame), papers / "order")
        except PinwrightError:
            self.stop()
            raise
        self._child.say(json.dumps(job))

    def look(self) -> bool:
        """Take in what it said; True: it has ended, and the build is at hand if there is one."""
        ended = self._child.process.poll() is not None  # before reading: nothing comes after it
        for record in self._child.heard():
            if "error" in record:
                self.fault = record["error"]
            elif "done" in record:
                self._done, self.seconds = True, record["done"]
            else:
                self.stage, self.share = _WORDS[record["stage"]], record["share"]
        if not ended:
            return False
        try:
            if self._done:
                self.build = taken(self._file)
                store.remember(self.build, store.frame_text(self.order.mesh))
            elif not self.fault:
                self.fault = f"The build broke off: {self._child.last_words()}"
        except PinwrightError as error:
            self.fault = str(error)
        self._child.put_away()
        return True

    def stop(self) -> None:
        """Give it up."""
        self._child.process.kill()
        self._child.process.wait()
        self._child.put_away()
