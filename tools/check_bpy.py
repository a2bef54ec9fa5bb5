# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Show that bpy works here: import it and render a small picture with the drawing engine.

Run by tools/system_libraries.sh. Only doing it tells which system libraries are missing.
"""

from __future__ import annotations

import os
import sys
import tempfile
from pathlib import Path

import bpy


def main() -> None:
    """Render 16 by 16 pixels of the start-up scene and look whether a picture came out."""
    scene = bpy.context.scene
    scene.render.engine = "BLENDER_WORKBENCH"
    scene.render.resolution_x = scene.render.resolution_y = 16
    with tempfile.TemporaryDirectory() as folder:
        picture = Path(folder) / "check.png"
        scene.render.filepath = str(picture)
        bpy.ops.render.render(write_still=True)
        if not picture.is_file() or picture.stat().st_size == 0:
            raise SystemExit("bpy was imported, but no picture was written")
    print(f"bpy {bpy.app.version_string} draws")


main()
sys.stdout.flush()
# Blender may hang or crash while the interpreter takes it down after a picture; the work is done.
os._exit(0)
