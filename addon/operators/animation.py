# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Animate a sculpture, render the frames, join them into a movie."""

from __future__ import annotations

from pathlib import Path

import bpy
from bpy.props import StringProperty
from bpy_extras.io_utils import ExportHelper

from .. import animate, film, movie, operating, pictures, plan_store, shoot, studio, tags
from ..render_job import RenderJob, needs_idle_renderer
from ..words import worded

__all__ = ["CLASSES"]

_BIT = 0.04  # s of work between two looks at the window


class PINWRIGHT_OT_animate(bpy.types.Operator):
    """Write the animation as keyframes on the plates, pins and a camera; Esc stops"""  # noqa: D400 - a tooltip

    bl_idname = "pinwright.animate"
    bl_label = "Animate"
    bl_options = {"REGISTER", "UNDO"}

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        if not operating.needs_own_sculpture(cls, context):
            return False
        root = tags.root_of(context.active_object)
        if context.scene.pinwright_film.what == shoot.ASSEMBLY and not plan_store.fits(root):
            cls.poll_message_set("Plan the assembly first")
            return False
        return True

    @operating.reported
    def execute(self, context: bpy.types.Context) -> set[str]:
        for _ in self._work(context):
            pass
        return self._finished(context)

    def invoke(self, context: bpy.types.Context, event: bpy.types.Event) -> set[str]:
        self._bits = self._work(context)
        manager = context.window_manager
        manager.progress_begin(0, 100)
        self._timer = manager.event_timer_add(0.01, window=context.window)
        manager.modal_handler_add(self)
        return {"RUNNING_MODAL"}

    def modal(self, context: bpy.types.Context, event: bpy.types.Event) -> set[str]:
        if event.type == "ESC":
            return self._stopped(context, None)
        if event.type != "TIMER":
            return {"PASS_THROUGH"}
        import time

        until = time.monotonic() + _BIT
        try:
            while time.monotonic() < until:
                text, share = next(self._bits)
                context.window_manager.progress_update(100 * share)
                context.workspace.status_text_set(f"{text}: {100 * share:.0f} %   Esc stops")
        except StopIteration:
            self._put_away(context)
            return self._finished(context)
        except (shoot.PinwrightError, ReferenceError) as error:
            return self._stopped(context, error)
        return {"RUNNING_MODAL"}

    def _work(self, context: bpy.types.Context) -> shoot.Progress:
        settings = context.scene.pinwright_film
        choice = shoot.FilmChoice(
            settings.what,
            settings.seconds,
            context.scene.frame_start,
            settings.camera,
            settings.captions,
            settings.drop if settings.use_drop else None,
        )
        return shoot.animating(context.scene, tags.root_of(context.active_object), choice)

    def _stopped(self, context: bpy.types.Context, error: Exception | None) -> set[str]:
        """Take half an animation out again."""
        self._put_away(context)
        self._bits.close()
        root = tags.root_of(context.active_object)
        if root is not None:
            animate.clear(root)
            film.remove(root)
        if error is None:
            self.report({"INFO"}, "Stopped; the sculpture stands as before")
        else:
            self.report({"ERROR"}, str(error))
        return {"CANCELLED"}

    def _put_away(self, context: bpy.types.Context) -> None:
        context.window_manager.progress_end()
        context.workspace.status_text_set(None)
        context.window_manager.event_timer_remove(self._timer)

    def _finished(self, context: bpy.types.Context) -> set[str]:
        scene = context.scene
        self.report(
            {"INFO"},
            worded(
                "Animated frames {first} to {last}", first=scene.frame_start, last=scene.frame_end
            ),
        )
        return {"FINISHED"}


class PINWRIGHT_OT_clear_animation(bpy.types.Operator):
    """Take the keyframes, the camera and the captions out; the sculpture stands as designed"""  # noqa: D400 - a tooltip

    bl_idname = "pinwright.clear_animation"
    bl_label = "Clear Animation"
    bl_options = {"REGISTER", "UNDO"}

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        if not operating.needs_own_sculpture(cls, context):
            return False
        if not animate.is_animated(tags.root_of(context.active_object)):
            cls.poll_message_set("The sculpture has no animation made here")
            return False
        return True

    def execute(self, context: bpy.types.Context) -> set[str]:
        root = tags.root_of(context.active_object)
        animate.clear(root)
        film.remove(root)
        return {"FINISHED"}


class PINWRIGHT_OT_render_frames(bpy.types.Operator, RenderJob):
    """Render the scene's frames as PNG files; frames that are there are passed over, so that it can be stopped, taken up again and shared between machines"""  # noqa: D400, E501 - a tooltip

    bl_idname = "pinwright.render_frames"
    bl_label = "Render Frames"
    bl_options = {"REGISTER"}

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        return operating.needs_sculpture(cls, context) and needs_idle_renderer(cls)

    @operating.reported
    def execute(self, context: bpy.types.Context) -> set[str]:
        scene, root = context.scene, tags.root_of(context.active_object)
        settings = scene.pinwright_film
        place = pictures.STUDIO if settings.place == pictures.ROOM else settings.place
        self._made = shoot.film_scene(
            scene,
            root,
            pictures.PictureChoice(
                size=pictures.size_of(scene), place=place, transparent=settings.transparent
            ),
        )
        self._folder, self._stem = frames_place(context)
        self._range = (scene.frame_start, scene.frame_end)
        try:
            movie.settle_frames(
                self._made.scene, self._folder, self._stem, transparent=settings.transparent
            )
        except BaseException:
            studio.close_studio(self._made)
            raise
        return self.render(context, self._made.scene.name)

    def job_ended(self, context: bpy.types.Context) -> set[str]:
        studio.close_studio(self._made)
        files = movie.frame_files(self._folder, self._stem, *self._range)
        self.report(
            {"INFO"},
            worded("{count} frames stand in {folder}", count=len(files), folder=self._folder),
        )
        return {"FINISHED"}


class PINWRIGHT_OT_join_frames(bpy.types.Operator, ExportHelper, RenderJob):
    """Join the rendered frames into an MP4 file"""  # noqa: D400 - a tooltip

    bl_idname = "pinwright.join_frames"
    bl_label = "Join Frames to Movie"
    bl_options = {"REGISTER"}

    filename_ext = ".mp4"
    filter_glob: StringProperty(default="*.mp4", options={"HIDDEN"})

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        return operating.needs_sculpture(cls, context) and needs_idle_renderer(cls)

    @operating.reported
    def execute(self, context: bpy.types.Context) -> set[str]:
        scene = context.scene
        folder, stem = frames_place(context)
        files = movie.frame_files(folder, stem, scene.frame_start, scene.frame_end)
        self._path = Path(bpy.path.ensure_ext(bpy.path.abspath(self.filepath), ".mp4"))
        rate = scene.render.fps / scene.render.fps_base
        self._scene, self._part = movie.cutting_room(files, self._path, rate)
        return self.render(context, self._scene.name)

    def invoke(self, context: bpy.types.Context, event: bpy.types.Event) -> set[str]:
        self.filepath = operating.suggested_path(context, ".mp4")
        return ExportHelper.invoke(self, context, event)

    def job_ended(self, context: bpy.types.Context) -> set[str]:
        movie.finish_movie(self._scene, self._part, self._path)
        self.report({"INFO"}, worded("Wrote {path}", path=self._path))
        return {"FINISHED"}


def frames_place(context: bpy.types.Context) -> tuple[Path, str]:
    """Return folder and stem of the frames of the active sculpture."""
    stem = Path(operating.suggested_path(context, "")).name
    given = context.scene.pinwright_film.folder
    if given.startswith("//") and not bpy.data.filepath:
        raise shoot.PinwrightError("Save the file first, or choose a folder for the frames.")
    return Path(bpy.path.abspath(given)), stem


CLASSES = (
    PINWRIGHT_OT_animate,
    PINWRIGHT_OT_clear_animation,
    PINWRIGHT_OT_render_frames,
    PINWRIGHT_OT_join_frames,
)
