# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Errors that a user can cause and mend: one root, each says what was wrong and what to do.

A *bad call* (wrong field, unreadable mesh, unwritable folder) raises one of these. A *bad design*
(plates that clash, a web that is too thin) is no error: it is a finding of core/checks.
"""

from __future__ import annotations

__all__ = ["DesignError", "FrameError", "OutputError", "PinwrightError"]


class PinwrightError(ValueError):
    """Root of all errors that the user can mend; its text is fit to be shown as it is."""


class DesignError(PinwrightError):
    """A field of the design is missing, unknown or out of range.

    Parameters
    ----------
    field : dotted name as in the design file, e.g. ``sheet.thickness`` or ``motifs[2].normal``
    found : what stood there (``None`` for nothing)
    allowed : what may stand there, in words with units
    remedy : what to do, a short sentence; may be empty
    """

    def __init__(self, field: str, found: object, allowed: str, remedy: str = "") -> None:
        self.field = field
        self.found = found
        self.allowed = allowed
        self.remedy = remedy
        shown = "nothing" if found is None else repr(found)
        text = f"{field}: found {shown}, allowed is {allowed}."
        super().__init__(f"{text} {remedy}".rstrip())

    def __reduce__(self) -> tuple[type[DesignError], tuple[str, object, str, str]]:
        """Let it pass from a worker process whole: BaseException would keep the text alone."""
        return type(self), (self.field, self.found, self.allowed, self.remedy)


class FrameError(PinwrightError):
    """The frame cannot be used: unknown solid, open or non-manifold mesh, unreadable file."""


class OutputError(PinwrightError):
    """A result cannot be written: the folder is missing, not writable or full."""
