# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Eyes and hands in Blender's window: find a field, drag it, press keys, take a picture.

Blender is started with --enable-event-simulate, so the mouse and keys here are its own events and
go the same way as a user's. Every function that must wait for the window is a generator that
yields seconds.
"""

from __future__ import annotations

import subprocess
from collections.abc import Iterator
from pathlib import Path

import bpy
import imbuf
import numpy as np

Wait = Iterator[float]
BEAT = 0.06  # s, for the window to take in one event
ROW = 11  # pixels between two looks down the sidebar; half a field


def window() -> bpy.types.Window:
    return bpy.context.window_manager.windows[0]


def area() -> bpy.types.Area:
    return max(
        (a for a in window().screen.areas if a.type == "VIEW_3D"), key=lambda a: a.width * a.height
    )


def region(kind: str = "WINDOW") -> bpy.types.Region:
    return next(r for r in area().regions if r.type == kind)


def here(kind: str = "WINDOW"):
    """Return a context as if the mouse were in the 3D view, or in its sidebar."""
    return bpy.context.temp_override(window=window(), area=area(), region=region(kind))


def show_sidebar() -> Wait:
    """Open the sidebar at the extension's tab; it must have been drawn once before."""
    area().spaces[0].show_region_ui = True
    yield 1.0
    region("UI").active_panel_category = "Pinwright"
    region("UI").tag_redraw()
    yield 0.5
    yield from to_top()


def height() -> int:
    """Return where the sidebar's lower edge is, in pixels of what it could show in all."""
    return round(region("UI").view2d.region_to_view(0, 0)[1])


def _scroll(pixels: int) -> Wait:
    with here("UI"):
        bpy.ops.view2d.pan("EXEC_DEFAULT", deltax=0, deltay=pixels)
    region("UI").tag_redraw()
    yield 0.3


def to_top() -> Wait:
    """Scroll the sidebar up as far as it goes."""
    yield from _scroll(20000)


def page_down() -> Wait:
    """Scroll the sidebar down by what it shows, less a few rows; or as far as it goes."""
    yield from _scroll(60 - region("UI").height)


def move(x: int, y: int) -> Wait:
    window().event_simulate(type="MOUSEMOVE", value="NOTHING", x=x, y=y)
    yield BEAT


def press(key: str, *, ctrl: bool = False, shift: bool = False) -> Wait:
    """Press and release a key with the mouse in the middle of the 3D view."""
    main = region()
    x, y = main.x + main.width // 3, main.y + main.height // 2
    yield from move(x, y)
    for value in ("PRESS", "RELEASE"):
        window().event_simulate(type=key, value=value, x=x, y=y, ctrl=ctrl, shift=shift)
        yield BEAT
    yield 0.3


def undo() -> Wait:
    yield from press("Z", ctrl=True)


def redo() -> Wait:
    yield from press("Z", ctrl=True, shift=True)


def fields(found: dict[str, tuple[int, int]], wanted: set[str]) -> Wait:
    """Move the mouse down the sidebar until it was over the fields of all settings wanted."""
    side = region("UI")
    x = side.x + int(side.width * 0.7)
    for y in range(side.y + side.height - 10, side.y + 10, -ROW):
        yield from move(x, y)
        with here("UI"):
            under = bpy.context.property
        if under is not None:
            found.setdefault(under[1].rpartition(".")[2], (x, y))
        if wanted <= found.keys():
            break
    yield from move(area().x + 100, area().y + 100)


def drag(place: tuple[int, int], pixels: int, steps: int, look) -> Wait:
    """Drag from a place to the right in some steps; calls `look` after each."""
    x, y = place
    yield from move(x, y)
    window().event_simulate(type="LEFTMOUSE", value="PRESS", x=x, y=y)
    yield BEAT
    for step in range(1, steps + 1):
        yield from move(x + pixels * step // steps, y)
        look()
    window().event_simulate(type="LEFTMOUSE", value="RELEASE", x=x + pixels, y=y)
    yield 0.4


def shoot(path: Path, side: bool = False) -> Wait:
    """Write a picture of the window, or of the sidebar alone."""
    yield from move(area().x + 40, area().y + 40)
    yield 0.3
    # Blender's own operator reads a black buffer where the processor draws.
    subprocess.run(["import", "-window", "root", str(path)], check=True)
    if side:
        strip = region("UI")
        picture = imbuf.load(str(path))
        corner = (strip.x, max(strip.y, 0))
        picture.crop(corner, (strip.x + strip.width - 1, strip.y + strip.height - 1))
        imbuf.write(picture, filepath=str(path))
    yield 0.0


def pixels(path: Path) -> np.ndarray:
    """Return a picture's pixels (height, width, 4) in 0..1."""
    image = bpy.data.images.load(str(path))
    width, height = image.size
    values = np.empty(width * height * 4, dtype=np.float32)
    image.pixels.foreach_get(values)
    bpy.data.images.remove(image)
    return values.reshape(height, width, 4)
