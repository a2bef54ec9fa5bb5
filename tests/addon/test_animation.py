# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Animations as keyframes, frames that can be shared, pictures that leave the scene alone."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

bpy = pytest.importorskip("bpy")

from pinwright.addon import (  # noqa: E402
    animate,
    dimensions,
    exploded,
    figure,
    film,
    making,
    movie,
    pictures,
    room,
    shoot,
    studio,
    tags,
)
from pinwright.core.assembly.timeline import assembly_timeline  # noqa: E402
from pinwright.core.errors import OutputError, PinwrightError  # noqa: E402
from tests.builders import small_design  # noqa: E402
from tests.interlocks import TRIAD, rotor  # noqa: E402

SECONDS = 4.0
NEAR = 0.001  # mm


def planned_root(design=None) -> bpy.types.Object:
    root = making.add_design(bpy.context, design or small_design(), "SHEET")
    bpy.context.view_layer.objects.active = root
    root.select_set(True)
    bpy.ops.pinwright.plan_assembly(wait=True)
    bpy.context.scene.render.fps = 10
    return root


def animated(what: str = shoot.ASSEMBLY, design=None, **choice) -> bpy.types.Object:
    root = planned_root(design)
    for _ in shoot.animating(bpy.context.scene, root, shoot.FilmChoice(what, SECONDS, **choice)):
        pass
    return root


def worlds(root: bpy.types.Object) -> dict[str, np.ndarray]:
    """Matrices of the plates in mm."""
    found = {}
    for piece in tags.pieces(root):
        if tags.PLATE in piece:
            world = np.array(piece.matrix_world, dtype=float)
            world[:3, 3] /= root[tags.UNIT]
            found[piece[tags.PLATE]] = world
    return found


@pytest.mark.parametrize("design", [small_design(), rotor(3, TRIAD)])
def test_keyframes_play_the_timeline_and_end_in_the_design(design) -> None:
    root = animated(design=design)
    build = shoot.planned_build(root)
    line = assembly_timeline(build, SECONDS)
    scene = bpy.context.scene
    for moment in np.linspace(0.0, SECONDS, 9):
        frame = scene.frame_start + moment * 10
        scene.frame_set(int(frame), subframe=float(frame % 1))
        seen = worlds(root)
        hidden = {o[tags.PLATE]: o.hide_render for o in tags.pieces(root) if tags.PLATE in o}
        for number, plate in enumerate(build.plates):
            track = line.plates[number]
            assert hidden[plate.id] == (track.times[0] > moment + 1e-6)
            if not hidden[plate.id]:
                pose = track.pose(float(moment))
                pose[:3, 3] += line.lift.at(float(moment))[0]
                assert np.abs(seen[plate.id] - pose @ plate.world_from_part).max() < 0.5
    scene.frame_set(scene.frame_end)
    for number, world in worlds(root).items():
        plate = next(p for p in build.plates if p.id == number)
        assert np.abs(world - plate.world_from_part).max() < NEAR


def test_a_cleared_animation_leaves_no_trace() -> None:
    root = planned_root(rotor(3, TRIAD))
    kinds = ("objects", "meshes", "cameras", "curves", "collections", "actions", "scenes")
    before = {kind: set(getattr(bpy.data, kind).keys()) for kind in kinds}
    places = worlds(root)
    for _ in shoot.animating(bpy.context.scene, root, shoot.FilmChoice(seconds=SECONDS)):
        pass
    assert bpy.data.actions
    assert any(piece.modifiers for piece in tags.pieces(root)) == any(
        step.springs for step in shoot.planned_build(root).steps
    )
    assert bpy.ops.pinwright.clear_animation() == {"FINISHED"}
    bpy.context.view_layer.update()
    assert {kind: set(getattr(bpy.data, kind).keys()) for kind in kinds} == before
    for piece in tags.pieces(root):
        assert not piece.modifiers
        assert not piece.vertex_groups
        assert piece.animation_data is None
        assert not piece.hide_render
    for plate, world in worlds(root).items():
        assert np.abs(world - places[plate]).max() < NEAR


def test_a_changed_sculpture_is_told_from_its_animation() -> None:
    root = animated(shoot.TURNTABLE)
    assert animate.is_animated(root)
    assert animate.fits(root)
    root.pinwright.thickness = 4.0
    bpy.ops.pinwright.rebuild_sculpture()
    assert animate.is_animated(root)
    assert not animate.fits(root)


def test_an_artists_own_keys_on_the_root_stay() -> None:
    root = planned_root()
    root.location = (1.0, 0.0, 0.0)
    root.keyframe_insert("location", frame=1)
    own = root.animation_data.action
    for _ in shoot.animating(bpy.context.scene, root, shoot.FilmChoice(seconds=SECONDS)):
        pass
    assert root.animation_data.action == own
    animate.clear(root)
    assert root.animation_data.action == own
    assert tuple(root.location) == (1.0, 0.0, 0.0)


def test_the_exploded_view_opens_and_closes() -> None:
    root = animated(shoot.UNFOLDING)
    scene = bpy.context.scene
    rest = worlds(root)
    scene.frame_set((scene.frame_start + scene.frame_end) // 2)
    open_now = worlds(root)
    scene.frame_set(scene.frame_end)
    assert all(np.abs(world - rest[plate]).max() < NEAR for plate, world in worlds(root).items())
    animate.clear(root)
    exploded.apply(root, 1.0)
    bpy.context.view_layer.update()
    for plate, world in worlds(root).items():
        assert np.abs(world - open_now[plate]).max() < 0.01
    assert max(np.abs(open_now[plate] - rest[plate]).max() for plate in rest) > 10


def test_a_turntable_turns_once_about_the_upright() -> None:
    root = animated(shoot.TURNTABLE)
    scene = bpy.context.scene
    scene.frame_set(scene.frame_start)
    before = np.array(root.matrix_world)
    scene.frame_set((scene.frame_start + scene.frame_end) // 2)
    half = np.array(root.matrix_world) @ np.linalg.inv(before)
    assert np.allclose(half[:3, :3], np.diag([-1.0, -1.0, 1.0]), atol=1e-5)
    scene.frame_set(scene.frame_end)
    assert np.allclose(np.array(root.matrix_world), before, atol=1e-5)


@pytest.mark.parametrize("how", [film.FOLLOW, film.ORBIT])
def test_the_camera_sees_what_stands(how: str) -> None:
    from bpy_extras.object_utils import world_to_camera_view

    root = animated(camera=how)
    line = assembly_timeline(shoot.planned_build(root), SECONDS)
    scene = bpy.context.scene
    for frame in np.linspace(scene.frame_start, scene.frame_end, 6).round().astype(int):
        scene.frame_set(int(frame))
        moment = (frame - scene.frame_start) / 10
        balls, _ = line.balls(float(moment), flying=False)
        for point in balls * root[tags.UNIT]:  # the root stands at the origin
            seen = world_to_camera_view(scene, scene.camera, _vector(point))
            assert -0.02 < seen.x < 1.02
            assert -0.02 < seen.y < 1.02
            assert seen.z > 0


def test_one_caption_at_a_time() -> None:
    root = animated()
    scene = bpy.context.scene
    lines = [o for o in bpy.data.objects if o.type == "FONT" and o.get(film.CAMERA) == root.name]
    assert lines
    for frame in range(scene.frame_start, scene.frame_end + 1):
        scene.frame_set(frame)
        assert sum(not line.hide_render for line in lines) == 1


def test_a_plan_is_asked_for() -> None:
    root = making.add_design(bpy.context, small_design(), "SHEET")
    bpy.context.view_layer.objects.active = root
    with pytest.raises(PinwrightError, match="Plan Assembly"):
        list(shoot.animating(bpy.context.scene, root, shoot.FilmChoice(seconds=SECONDS)))
    assert not bpy.ops.pinwright.animate.poll()


# ---------------------------------------------------------------- files


def small_scene() -> bpy.types.Scene:
    root = animated(shoot.TURNTABLE, camera=film.STILL)
    scene = bpy.context.scene
    scene.frame_end = scene.frame_start + 2
    scene.render.resolution_x, scene.render.resolution_y = 32, 18
    made = shoot.film_scene(scene, root, pictures.PictureChoice((32, 18), samples=1))
    made.scene.cycles.use_denoising = False
    return made.scene


def test_frames_go_on_where_they_stopped_and_become_a_movie(tmp_path: Path) -> None:
    scene = small_scene()
    movie.settle_frames(scene, tmp_path / "frames", "turn")
    bpy.ops.render.render(animation=True, scene=scene.name)
    files = movie.frame_files(tmp_path / "frames", "turn", scene.frame_start, scene.frame_end)
    assert len(files) == 3
    files[1].unlink()
    with pytest.raises(OutputError, match="1 of 3 frames"):
        movie.frame_files(tmp_path / "frames", "turn", scene.frame_start, scene.frame_end)
    old = [path.stat().st_mtime_ns for path in (files[0], files[2])]
    reserved = tmp_path / "frames" / "turn-0002.png"
    reserved.touch()  # another machine is at it
    bpy.ops.render.render(animation=True, scene=scene.name)
    assert reserved.stat().st_size == 0
    assert movie.abandoned(tmp_path / "frames", "turn", age=-1.0) == [reserved]
    reserved.unlink()
    bpy.ops.render.render(animation=True, scene=scene.name)
    assert files[1].stat().st_size > 0
    assert [path.stat().st_mtime_ns for path in (files[0], files[2])] == old
    movie.join_frames(files, tmp_path / "turn.mp4", 10.0)
    assert (tmp_path / "turn.mp4").read_bytes()[4:8] == b"ftyp"  # ISO 14496-12
    clip = bpy.data.movieclips.load(str(tmp_path / "turn.mp4"))
    assert (tuple(clip.size), clip.frame_duration) == ((32, 18), 3)
    assert "Movie" not in bpy.data.scenes


def test_a_folder_that_cannot_be_made_is_told(tmp_path: Path) -> None:
    (tmp_path / "file").touch()
    with pytest.raises(OutputError, match="No frames"):
        movie.settle_frames(bpy.context.scene, tmp_path / "file" / "frames", "turn")


# ---------------------------------------------------------------- pictures


def test_a_picture_in_the_artists_scene_touches_nothing(tmp_path: Path) -> None:
    root = making.add_design(bpy.context, small_design(), "PARTS")
    scene = bpy.context.scene
    with pytest.raises(OutputError, match="no camera"):
        pictures.make_picture(
            root, tmp_path / "a.png", pictures.PictureChoice(place=pictures.OWN_SCENE)
        )
    camera = bpy.data.objects.new("Own", bpy.data.cameras.new("Own"))
    camera.location, camera.rotation_euler = (0.0, -1.0, 0.0), (np.pi / 2, 0.0, 0.0)
    scene.collection.objects.link(camera)
    scene.camera = camera
    scene.render.engine = "CYCLES"
    scene.cycles.samples, scene.cycles.use_denoising, scene.cycles.device = 1, False, "CPU"
    scene.render.filepath = "//own"
    before = (scene.render.resolution_x, scene.render.filepath, scene.render.film_transparent)
    blocks = {kind: set(getattr(bpy.data, kind).keys()) for kind in ("scenes", "objects", "lights")}
    choice = pictures.PictureChoice((48, 36), place=pictures.OWN_SCENE, transparent=True)
    pictures.make_picture(root, tmp_path / "a.png", choice)
    image = bpy.data.images.load(str(tmp_path / "a.png"))
    alpha = np.array(image.pixels[:]).reshape(36, 48, 4)[:, :, 3]
    assert alpha[0, 0] == 0.0
    assert alpha.max() == 1.0
    assert before == (
        scene.render.resolution_x, scene.render.filepath, scene.render.film_transparent,
    )  # fmt: skip
    assert blocks == {kind: set(getattr(bpy.data, kind).keys()) for kind in blocks}
    assert [path.name for path in tmp_path.iterdir()] == ["a.png"]


def test_light_is_seen_and_decides_the_usual_place() -> None:
    scene = bpy.context.scene
    scene.world = None
    assert not pictures.has_light(scene)
    assert pictures.usual_place(scene) == pictures.STUDIO
    scene.camera = bpy.data.objects.new("Own", bpy.data.cameras.new("Own"))
    lamp = bpy.data.objects.new("Lamp", bpy.data.lights.new("Lamp", "SUN"))
    scene.collection.objects.link(lamp)
    assert pictures.usual_place(scene) == pictures.OWN_SCENE


def test_the_room_hangs_the_sculpture_over_heads_and_leaves_no_trace() -> None:
    root = making.add_design(bpy.context, small_design(), "SHEET")
    kinds = ("scenes", "objects", "meshes", "curves", "lights", "cameras", "worlds")
    before = {kind: set(getattr(bpy.data, kind).keys()) for kind in kinds}
    build = making.build_of(root)
    rings = [
        np.column_stack([np.array(build.parts[p.part].outline.exterior.coords), np.full(n, z)])
        @ p.world_from_part[:3, :3].T
        + p.world_from_part[:3, 3]
        for p in build.plates
        for n in [len(build.parts[p.part].outline.exterior.coords)]
        for z in (-1.5, 1.5)
    ]
    pins = [joint.pins[0] for joint in build.joints]
    ends = [pin.centre + s * pin.length / 2 * pin.axis for pin in pins for s in (-1, 1)]
    sizes = np.ptp(np.concatenate([*rings, ends]), axis=0) * root[tags.UNIT]
    made = room.open_room(root, size=(80, 60))
    points = studio.points_of(root)
    assert np.ptp(points, axis=0) == pytest.approx(sizes, abs=1e-6)  # evaluated in the new scene
    low = points[:, 2].min()
    floor = next(obj for obj in made.scene.objects if obj.name.startswith("Floor"))
    assert low - floor.data.vertices[0].co.z == pytest.approx(2.3)
    person = next(obj for obj in made.scene.objects if figure.FIGURE in obj)
    assert person.dimensions.z == pytest.approx(1.7, abs=0.03)
    studio.close_studio(made)
    assert {kind: set(getattr(bpy.data, kind).keys()) for kind in kinds} == before


def test_the_figure_is_made_of_closed_surfaces() -> None:
    person = figure.add_figure(bpy.context.scene.collection, 0.001, (0.0, 0.0, 0.0))
    mesh = person.data
    uses = np.zeros(len(mesh.edges), dtype=int)
    for polygon in mesh.polygons:
        for loop in polygon.loop_indices:
            uses[mesh.loops[loop].edge_index] += 1
    assert (uses == 2).all()
    assert not mesh.validate()


@pytest.mark.parametrize(
    ("mm", "metric", "text"),
    [
        (981.0, True, "981 mm"),
        (2300.0, True, "2.30 m"),
        (2300.0, False, "7' 7\""),
        (254.0, False, '10"'),
    ],
)
def test_lengths_are_said_as_on_a_drawing(mm: float, metric: bool, text: str) -> None:
    assert dimensions.length_text(mm, metric) == text


def _vector(point: np.ndarray):
    from mathutils import Vector

    return Vector(point)
