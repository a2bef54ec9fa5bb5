# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Texts with figures in them, in the language of the window.

Blender translates what it is given whole; a text into which figures were put before is in no
translator's table. So the text is looked up first, and the figures follow.
"""

from __future__ import annotations

import bpy

__all__ = ["worded"]


def worded(text: str, **values: object) -> str:
    """Return `text` translated, with each {name} in it replaced by the value of that name."""
    found = bpy.app.translations.pgettext_iface(text)
    return found.format(**values) if values else found
