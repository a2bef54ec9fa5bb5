# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""A film from beginning to end: plan, keys, camera, captions, frames, movie. Each is one call.

The long ones are generators that yield a word and a share, so that an operator can go on with them
bit by bit while the window stays alive; without a window they are run to their end.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import bpy

from ..core.assembly.captions import captions, subtitles
from ..core.assembly.steps_read import with_steps
from ..core.assembly.timeline import timeline_in_steps
from ..core.design.files import write_text
from ..core.errors import PinwrightError
from ..core.results import Build
from . import animate, film, making, movie, pictures, plan_store, plan_view, studio

__all__ = [
    "ASSEMBLY", "KEEP", "TURNTABLE", "UNFOLDING", "FilmChoice", "animating", "film_scene",
    "planned_build", "render_movie", "write_subtitles",
]  # fmt: skip

ASSEMBLY = "ASSEMBLY"
UNFOLDING = "UNFOLDING"
TURNTABLE = "TURNTABLE"
KEEP = "KEEP"  # no camera is made: the artist's own stays

Progress = Iterator[tuple[str, float]]


@dataclass(frozen=True, slots=True)
class FilmChoice:
    """What is animated and how it is seen; drop : mm, None: as the timeline takes it."""

    what: str = ASSEMBLY
    seconds: float = 30.0
    start: int = 1
    camera: str = film.FOLLOW
    captions: bool = True
    drop: float | None = None
    fit_range: bool = True


def planned_build(root: bpy.types.Object) -> Build:
    """Return the build of a sculpture with the plan that is kept on it.

    Raises
    ------
    PinwrightError : there is no plan, or the sculpture has changed since.
    """
    plan = plan_store.plan_of(root)
    if plan is None or not plan_store.fits(root):
        raise PinwrightError(f"'{root.name}' has no plan that fits it; press Plan Assembly first.")
    return with_steps(making.build_of(root), plan["steps"])


def animating(scene: bpy.types.Scene, root: bpy.types.Object, choice: FilmChoice) -> Progress:
    """Write the keys of an animation, and its camera and captions."""
    clock = animate.Clock.of(scene, choice.start)
    size = _size(scene)
    if choice.what == ASSEMBLY:
        yield "Reading the plan", 0.0
        build = planned_build(root)
        shown = timeline_in_steps(build, choice.seconds, choice.drop)
        line = None
        while line is None:
            try:
                yield "Laying out the flights", 0.6 * next(shown)
            except StopIteration as done:
                line = done.value
        plan_view.leave(root)
        film.remove(root)
        for share in animate.baking_assembly(root, build, line, clock):
            yield "Writing keyframes", 0.6 + 0.3 * share
        points = film.film_points(root, line)
        lines = captions(build, line) if choice.captions else ()
    else:
        yield "Writing keyframes", 0.1
        film.remove(root)
        if choice.what == UNFOLDING:
            animate.clear(root)
            animate.bake_unfolding(root, choice.seconds, clock)
        else:
            animate.bake_turn(root, choice.seconds, clock)
        points = film.scene_points(scene, root, clock)
        lines = ()
    yield "Placing the camera", 0.9
    camera = scene.camera
    if choice.camera != KEEP:
        camera = film.add_camera(
            scene, root, points, choice.seconds, clock, how=choice.camera, size=size
        )
    if lines and camera is not None and choice.camera != KEEP:
        film.add_captions(scene, root, camera, lines, clock, size)
    if choice.fit_range:
        scene.frame_start, scene.frame_end = clock.start, clock.last(choice.seconds)
    scene.frame_set(clock.start)
    yield "Done", 1.0


def film_scene(
    scene: bpy.types.Scene, root: bpy.types.Object, choice: pictures.PictureChoice
) -> studio.Studio:
    """Return a scene to render an animation in: a copy of the artist's own, or a studio.

    The studio is as large as all that is ever seen; it takes the film's camera if there is one.
    """
    if choice.place == pictures.OWN_SCENE:
        made = pictures.own_scene(scene)
        pictures.settle_file(made.scene, choice)
    else:
        clock = animate.Clock.of(scene)
        every = film.scene_box(scene, root)
        made = studio.open_studio(
            root, size=choice.size, view=choice.view, points=every, backdrop=not choice.transparent
        )
        pictures.settle(made.scene, choice)
        camera = film.own_camera(root)
        if camera is not None:
            film.home(made.scene, root)
            made.scene.camera = camera
        elif made.scene.camera is not None:
            made.scene.camera.data.dof.use_dof = False
        made.scene.render.fps = scene.render.fps
        made.scene.render.fps_base = scene.render.fps_base
        made.scene.frame_set(clock.start)
    made.scene.frame_start, made.scene.frame_end = scene.frame_start, scene.frame_end
    made.scene.frame_step = 1
    return made


def render_movie(
    scene: bpy.types.Scene,
    root: bpy.types.Object,
    path: Path,
    choice: pictures.PictureChoice,
    *,
    frames: Path | None = None,
) -> None:
    """Render an animation to frames and join them into an MP4 file; waits until it is done.

    frames : folder of the frames, kept; rendering goes on where it stopped. None: beside the movie
    """
    folder = frames or path.with_name(f"{path.stem}-frames")
    made = film_scene(scene, root, choice)
    try:
        movie.settle_frames(made.scene, folder, path.stem, transparent=choice.transparent)
        bpy.ops.render.render(animation=True, scene=made.scene.name)
    finally:
        studio.close_studio(made)
    files = movie.frame_files(folder, path.stem, scene.frame_start, scene.frame_end)
    movie.join_frames(files, path, scene.render.fps / scene.render.fps_base)


def write_subtitles(root: bpy.types.Object, path: Path, choice: FilmChoice) -> None:
    """Write the captions of an assembly as a subtitle file."""
    build = planned_build(root)
    shown = timeline_in_steps(build, choice.seconds, choice.drop)
    while True:
        try:
            next(shown)
        except StopIteration as done:
            write_text(path, subtitles(captions(build, done.value)))
            return


def _size(scene: bpy.types.Scene) -> tuple[int, int]:
    return scene.render.resolution_x, scene.render.resolution_y
