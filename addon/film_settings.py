# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Settings of animations and pictures, one group on each scene."""

from __future__ import annotations

import bpy
from bpy.props import BoolProperty, EnumProperty, FloatProperty, StringProperty

from . import film, pictures, shoot
from .lengths import length

__all__ = ["CLASSES", "PLACES", "PinwrightFilm"]

WHAT = (
    (shoot.ASSEMBLY, "Assembly", "Plates come in as planned, modules join, the whole is lifted"),
    (shoot.UNFOLDING, "Unfolding", "The exploded view opens, stays, and closes again"),
    (shoot.TURNTABLE, "Turntable", "The sculpture turns once about the upright axis"),
)
CAMERAS = (
    (film.FOLLOW, "Follow", "A new camera that comes nearer where little is seen"),
    (film.STILL, "Still", "A new camera that sees all from one place"),
    (film.ORBIT, "Orbit", "A new camera that goes a quarter round"),
    (shoot.KEEP, "As It Is", "The scene's own camera, untouched"),
)
PLACES = (
    (pictures.OWN_SCENE, "This Scene", "With the scene's camera, lights and render settings"),
    (pictures.STUDIO, "Studio", "A studio of its own, outside of this scene"),
    (pictures.ROOM, "Room", "A plain room with a window, a person for scale, and measures"),
)


class PinwrightFilm(bpy.types.PropertyGroup):
    """What is animated, how it is seen, where the files go."""

    what: EnumProperty(name="Animate", items=WHAT, description="What moves")
    seconds: FloatProperty(
        name="Length",
        description="Of the animation, in seconds",
        default=30.0,
        min=1.0,
        max=3600.0,
        soft_max=300.0,
        subtype="TIME_ABSOLUTE",
        unit="TIME_ABSOLUTE",
    )
    camera: EnumProperty(name="Camera", items=CAMERAS, description="From where it is seen")
    captions: BoolProperty(
        name="Captions",
        description="A line of text before the camera for each step, or a few steps",
        default=True,
    )
    use_drop: BoolProperty(
        name="Set Lift",
        description="Choose how far the whole is lifted in the end, instead of by its size",
    )
    drop: length("Lift", 600.0, "How far the whole is lifted when it is together", step=10.0)
    folder: StringProperty(
        name="Frames",
        description="Folder of the frames; several machines can work into the same one",
        default="//frames/",
        subtype="DIR_PATH",
    )
    place: EnumProperty(
        name="Place", items=PLACES, default=pictures.STUDIO, description="Where it is rendered"
    )
    transparent: BoolProperty(
        name="No Background", description="For a photo montage: PNG files with a clear background"
    )


CLASSES = (PinwrightFilm,)
