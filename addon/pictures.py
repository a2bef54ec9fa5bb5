# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Pictures of a sculpture: where it is photographed, render settings, and the file.

The artist's own scene is rendered through a copy that shares its objects: camera, lights and world
are the artist's, while size, file and background are set on the copy and go with it.
"""

from __future__ import annotations

import os
from dataclasses import dataclass, field
from pathlib import Path

import bpy

from ..core.errors import OutputError
from . import framing, room, studio

__all__ = [
    "CYCLES", "OWN_SCENE", "ROOM", "STUDIO", "WORKBENCH", "PictureChoice", "Sitting", "finish",
    "has_light", "make_picture", "own_scene", "settle", "settle_file", "sit", "size_of",
    "usual_place",
]  # fmt: skip

CYCLES = "CYCLES"
WORKBENCH = "BLENDER_WORKBENCH"
OWN_SCENE = "SCENE"
STUDIO = "STUDIO"
ROOM = "ROOM"


@dataclass(frozen=True, slots=True)
class PictureChoice:
    """How a picture is made.

    size : pixels; engine, samples : of studio and room, samples are the most for each pixel
    view : from where the studio's camera looks
    place : `STUDIO`, `ROOM` or `OWN_SCENE` (its camera, lights, engine and samples as they are)
    transparent : no background, for a photo montage
    around : what stands in the room beside the sculpture
    """

    size: tuple[int, int] = (1600, 1200)
    engine: str = CYCLES
    samples: int = 64
    view: framing.View = field(default_factory=framing.View)
    keep_studio: bool = False
    place: str = STUDIO
    transparent: bool = False
    around: room.RoomChoice = field(default_factory=room.RoomChoice)


@dataclass(slots=True)
class Sitting:
    """A scene ready to be rendered into a file beside `path`, and what to take away afterwards."""

    scene: bpy.types.Scene
    made: list[bpy.types.ID]
    part: Path
    path: Path
    keep: bool = False


def make_picture(
    root: bpy.types.Object,
    path: Path,
    choice: PictureChoice,
    own: bpy.types.Scene | None = None,
) -> None:
    """Render a sculpture as it stands to a PNG file; the user's scene stays as it is.

    own : the scene for `OWN_SCENE`; None: the active one

    Raises
    ------
    OutputError : the folder cannot be written to; the own scene has no camera.
    """
    sitting = sit(root, path, choice, own)
    done = False
    try:
        bpy.ops.render.render(animation=True, scene=sitting.scene.name)
        done = True
    finally:
        finish(sitting, done)


def sit(
    root: bpy.types.Object,
    path: Path,
    choice: PictureChoice,
    own: bpy.types.Scene | None = None,
) -> Sitting:
    """Prepare a picture; afterwards `finish` must be called."""
    frame = (own or bpy.context.scene).frame_current
    part = _reserved(path, frame)
    try:
        if choice.place == OWN_SCENE:
            made = own_scene(own or bpy.context.scene)
        elif choice.place == ROOM:
            made = room.open_room(root, size=choice.size, choice=choice.around)
        else:
            made = studio.open_studio(
                root, size=choice.size, view=choice.view, backdrop=not choice.transparent
            )
    except BaseException:
        part.unlink(missing_ok=True)
        raise
    if choice.place == OWN_SCENE:
        settle_file(made.scene, choice)
    else:
        settle(made.scene, choice)
        if choice.place == ROOM:
            made.scene.view_settings.exposure = 0.0  # walls and window are told by eye for it
    # A still of a scene that is in no window is taken at frame 1; a film of one frame is not.
    made.scene.frame_start = made.scene.frame_end = frame
    made.scene.frame_set(frame)
    made.scene.render.filepath = str(part).replace(f"{frame:04d}.png", "####.png")
    return Sitting(made.scene, made.made, part, path, choice.keep_studio)


def finish(sitting: Sitting, done: bool) -> bool:
    """Move the picture to its place, if it was made, and take scene and objects away.

    Returns whether there is a picture.

    Raises
    ------
    OutputError : the file cannot be written.
    """
    try:
        done = done and sitting.part.stat().st_size > 0
        if done:
            sitting.part.chmod(0o644)
            sitting.part.replace(sitting.path)
    except OSError as error:
        raise OutputError(f"The picture {sitting.path} cannot be written: {error}.") from error
    finally:
        sitting.part.unlink(missing_ok=True)
        if not (done and sitting.keep):
            bpy.data.batch_remove(sitting.made)
    return done


def usual_place(scene: bpy.types.Scene) -> str:
    """Return the artist's own scene if it has a camera and some light, else the studio."""
    return OWN_SCENE if scene.camera is not None and has_light(scene) else STUDIO


def size_of(scene: bpy.types.Scene) -> tuple[int, int]:
    """Return the size of a scene's pictures, pixels."""
    render = scene.render
    share = render.resolution_percentage / 100
    return max(1, round(render.resolution_x * share)), max(1, round(render.resolution_y * share))


def has_light(scene: bpy.types.Scene) -> bool:
    """Tell whether anything lights a scene: lamps, or a world that is not black."""
    if any(obj.type == "LIGHT" and not obj.hide_render for obj in scene.objects):
        return True
    world = scene.world
    if world is None:
        return False
    if world.node_tree is None:
        return max(world.color[k] for k in range(3)) > 0
    for node in world.node_tree.nodes:
        if node.type == "BACKGROUND":
            color = node.inputs["Color"]
            if color.is_linked or max(color.default_value[:3]) > 0:
                return True
    return False


def own_scene(scene: bpy.types.Scene) -> studio.Studio:
    """Return a copy of a scene that shares its objects; raises OutputError without a camera."""
    if scene.camera is None:
        raise OutputError(f"The scene '{scene.name}' has no camera; add one, or take the studio.")
    copied = scene.copy()
    copied.name = "Picture"
    return studio.Studio(copied, [copied])


def _reserved(path: Path, frame: int) -> Path:
    """Return an empty file beside `path`, so that a folder that cannot be written to is known."""
    part = path.with_name(f".{path.stem}-{os.getpid()}-{frame:04d}.png")
    try:
        part.touch()
    except OSError as error:
        raise OutputError(f"No picture can be written to {path.parent}: {error}.") from error
    return part


def settle_file(scene: bpy.types.Scene, choice: PictureChoice) -> None:
    """Set what concerns the file: size, format, background."""
    render = scene.render
    render.resolution_x, render.resolution_y = choice.size
    render.resolution_percentage = 100
    render.use_file_extension = False
    render.use_overwrite, render.use_placeholder = True, False
    render.film_transparent = choice.transparent or render.film_transparent
    if hasattr(render.image_settings, "media_type"):  # 5.0 and later: first say that it is a still
        render.image_settings.media_type = "IMAGE"
    render.image_settings.file_format = "PNG"
    render.image_settings.color_mode = "RGBA" if render.film_transparent else "RGB"
    render.image_settings.color_depth = "8"


def settle(scene: bpy.types.Scene, choice: PictureChoice) -> None:
    """Set a scene that was made here to render as chosen."""
    render = scene.render
    render.engine = choice.engine
    render.use_compositing = False
    render.use_sequencer = False
    settle_file(scene, choice)
    _tone(scene)
    if choice.engine == CYCLES:
        _settle_cycles(scene.cycles, choice.samples)
    elif choice.engine == WORKBENCH:
        _settle_workbench(scene, choice.samples)


def _tone(scene: bpy.types.Scene) -> None:
    """Film-like highlights, so that bright metal does not clip."""
    scene.view_settings.view_transform = "AgX"
    scene.view_settings.look = "AgX - Medium High Contrast"
    scene.view_settings.exposure = 0.45
    scene.view_settings.gamma = 1.0


def _settle_cycles(cycles: bpy.types.PropertyGroup, samples: int) -> None:
    cycles.device = "CPU"
    cycles.samples = samples
    cycles.use_adaptive_sampling = True
    cycles.adaptive_min_samples = 8
    cycles.adaptive_threshold = 0.05
    try:
        cycles.denoiser = "OPENIMAGEDENOISE"
        cycles.denoising_input_passes = "RGB_ALBEDO_NORMAL"
        cycles.use_denoising = True
    except TypeError:  # a Blender built without that library
        cycles.use_denoising = False
    cycles.max_bounces = 8
    cycles.diffuse_bounces = 2
    cycles.glossy_bounces = 4
    cycles.transmission_bounces = 8
    cycles.sample_clamp_indirect = 6.0
    cycles.caustics_reflective = False
    cycles.caustics_refractive = False
    cycles.seed = 0


def _settle_workbench(scene: bpy.types.Scene, samples: int) -> None:
    shading = scene.display.shading
    shading.light = "STUDIO"
    shading.color_type = "MATERIAL"
    shading.show_cavity = True
    shading.cavity_type = "BOTH"
    shading.show_shadows = True
    shading.show_object_outline = True
    shading.object_outline_color = (0.08, 0.08, 0.08)
    steps = [step for step in (5, 8, 11, 16) if step <= max(samples, 5)]
    scene.display.render_aa = str(steps[-1])
