# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Pinwright: sculptures of flat sheet, fitted with tenons, pins and cross-laps.

The root of the repository is this package. It is a Blender extension too, so it hands
`register` and `unregister` on to addon/, which alone imports bpy.
"""

__version__ = "0.1.0"


def register() -> None:
    """Register the Blender layer (called by Blender when the extension is enabled)."""
    from . import addon

    addon.register()


def unregister() -> None:
    """Take the Blender layer out again, in reverse order."""
    from . import addon

    addon.unregister()
