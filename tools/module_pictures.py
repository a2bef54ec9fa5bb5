# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Make the pictures of three modules taken apart, for a teacher: labels, leaders, ways of the tabs.

Run from the environment: ``.venv/bin/python tools/module_pictures.py FOLDER [NAME ...]``. The
sculpture is built in Blender, all but one module is hidden, and the module is rendered as its
exploded view has it, with a small picture of it put together beside it: shaded plainly, in seconds,
or with FINE=1 by Cycles, in minutes.
"""

from __future__ import annotations

import os
import sys
from dataclasses import dataclass
from itertools import pairwise, product
from pathlib import Path

import bpy
import numpy as np
import numpy.typing as npt
from mathutils import Matrix, Vector

import pinwright.addon
from pinwright.addon import exploded, framing, labels, looks, making, tags
from pinwright.addon.page_scene import page_scene
from pinwright.core.assembly.label_anchors import seen_points
from pinwright.core.design.read import read_design
from pinwright.core.pipeline import build
from pinwright.core.results import Build, Module

Floats = npt.NDArray[np.float64]

SIZE = (1500, 1060)
SAMPLES = 12
INK, GREY, WAY = (0.02, 0.02, 0.025), (0.2, 0.2, 0.21), (0.55, 0.08, 0.02)
ROOM = (0.15, 0.66, 0.10, 0.84)  # of the page, x and y, for the module taken apart
_OUTSIDE = 0.012  # share of the page that a view from the module's own outer side is worth
SMALL = (0.86, 0.24, 0.22)  # middle of the small picture and its height, of the page


@dataclass(frozen=True, slots=True)
class Shot:
    """One picture: of which module of which example."""

    example: str
    module: int


SHOTS = {
    "module-copper-rose": Shot("copper-rose", 0),
    "module-harbour-lantern": Shot("harbour-lantern", 0),
    "module-arch-globe": Shot("arch-globe", 0),
}


def main() -> None:
    """Render what is asked for; leaves at once, for Blender may hang when Python winds up."""
    folder, names = Path(sys.argv[1]), sys.argv[2:] or list(SHOTS)
    folder.mkdir(parents=True, exist_ok=True)
    pinwright.addon.register()
    for name in names:
        path = folder / f"{name}.{os.environ.get('KIND', 'jpg')}"
        _shoot(SHOTS[name], path)
        print(path, flush=True)
    sys.stdout.flush()
    os._exit(0)


def _shoot(shot: Shot, path: Path) -> None:
    examples = Path(__file__).resolve().parents[1] / "examples"
    bpy.ops.wm.read_homefile(use_factory_startup=True, use_empty=True)
    design = read_design(examples / f"{shot.example}.toml")
    result = build(design)
    root = making.add_design(bpy.context, design, "PARTS")
    exploded.apply(root, 1.0)
    module = result.modules[shot.module]
    mine = set(module.plates)
    ids = {result.plates[p].id for p in mine}
    joints = {result.joints[j].id for j in module.joints}
    for piece in tags.pieces(root):
        shown = piece.get(tags.PLATE) in ids or piece.get(tags.JOINT) in joints
        piece.hide_render = piece.hide_viewport = not shown
        piece.color = (*_color(result, piece), 1.0)
    with page_scene(root, SIZE) as scene:
        scene.view_layers[0].update()
        if os.environ.get("FINE"):
            _light(scene)
        shown = [piece for piece in tags.pieces(root) if not piece.hide_render]
        axes = _best_axes(result, sorted(mine), module.explode)
        _aim(scene, shown, axes)
        _label(scene, root, result, sorted(mine), axes)
        _ways(scene, root, result, module.joints)
        _small(scene, root, shown, axes)
        _words(scene, result, module)
        _render(scene, path)


def _color(result: Build, piece: bpy.types.Object) -> tuple[float, float, float]:
    """Return the color of a plate's part, a dark grey for pins."""
    marks = [part.mark for part in result.parts]
    if piece.get(tags.PART) not in marks:
        return (0.1, 0.1, 0.11)
    red, green, blue = looks.part_rgb(marks.index(piece[tags.PART]))
    return (red, green, blue)


def _best_axes(result: Build, plates: list[int], out: Floats) -> Floats:
    """Return right, up and back of the view in which the worst seen plate is seen best."""
    poses = _apart(result, plates)
    outlines = [result.parts[result.plates[p].part].outline for p in plates]
    spots = np.concatenate([
        np.asarray(o.exterior.coords) @ m[:3, :2].T + m[:3, 3]
        for o, m in zip(outlines, poses, strict=True)
    ])  # fmt: skip
    out = out / max(float(np.linalg.norm(out)), 1e-9)
    best, found = -1.0, np.eye(3)
    for turn, lift in product(range(0, 360, 20), (-40, -15, 12, 35, 60)):
        axes = framing.axes(framing.View(turn, lift))
        extent = np.ptp(spots @ axes.T, axis=0)
        width = max(extent[0] / (ROOM[1] - ROOM[0]), extent[1] / (ROOM[3] - ROOM[2]) * 1.4)
        room = np.sort(seen_points(outlines, poses, axes)[1]) / width
        score = float(room[0] + 0.3 * room.mean() + _OUTSIDE * axes[2] @ out)
        if score > best:
            best, found = score, axes
    return found


def _apart(result: Build, plates: list[int]) -> Floats:
    """Return where plates stand in the exploded view, (n, 4, 4), mm."""
    poses = np.array([result.plates[p].world_from_part for p in plates])
    poses[:, :3, 3] += [_gone(result, p) for p in plates]
    return poses


def _corners(pieces: list[bpy.types.Object]) -> Floats:
    return np.array([tuple(p.matrix_world @ Vector(c)) for p in pieces for c in p.bound_box])


def _aim(scene: bpy.types.Scene, shown: list[bpy.types.Object], axes: Floats) -> None:
    """Set the camera, which sees in parallel, so that all shown stands in its part of the page."""
    local = _corners(shown) @ axes.T
    low, high = local.min(axis=0), local.max(axis=0)
    ratio = SIZE[1] / SIZE[0]
    wide, tall = ROOM[1] - ROOM[0], (ROOM[3] - ROOM[2]) * ratio
    width = max((high[0] - low[0]) / wide, (high[1] - low[1]) / tall)
    middle = (low + high) / 2
    place = np.array([
        middle[0] + (0.5 - (ROOM[0] + ROOM[1]) / 2) * width,
        middle[1] + (0.5 - (ROOM[2] + ROOM[3]) / 2) * width * ratio,
        high[2] + 2.0 * width,
    ])  # fmt: skip
    camera = scene.camera
    camera.data.ortho_scale = width
    camera.data.clip_start, camera.data.clip_end = 0.01 * width, 8.0 * width
    turn = Matrix(axes.T.tolist()).to_4x4()
    camera.matrix_world = Matrix.Translation(Vector((place @ axes).tolist())) @ turn
    scene.view_layers[0].update()


def _label(
    scene: bpy.types.Scene,
    root: bpy.types.Object,
    result: Build,
    plates: list[int],
    axes: Floats,
) -> None:
    """Label each plate at the largest place of it that is seen."""
    unit = root[tags.UNIT]
    poses = _apart(result, plates)
    outlines = [result.parts[result.plates[p].part].outline for p in plates]
    points, _ = seen_points(outlines, poses, axes)
    entries = [
        (Vector((unit * point).tolist()), result.plates[p].id)
        for point, p in zip(points, plates, strict=True)
    ]
    frame = (0.03, 0.12, 0.74, 0.84)
    labels.bake(scene, scene.camera, entries, scene.collection, 0.026, frame)
    width = scene.camera.data.ortho_scale
    for point, _ in entries:
        _dot(scene, point + Vector((1.2 * width * axes[2]).tolist()), 0.0035 * width)


def _dot(scene: bpy.types.Scene, at: Vector, radius: float) -> None:
    """Put a dot where a leader ends, before all plates."""
    curve = bpy.data.curves.new("Dot", "CURVE")
    curve.dimensions, curve.bevel_depth, curve.bevel_resolution = "3D", radius, 4
    spline = curve.splines.new("POLY")
    spline.points.add(1)
    back = scene.camera.matrix_world.to_3x3() @ Vector((0.0, 0.0, 1.0))
    for point, place in zip(spline.points, (at, at + 0.01 * radius * back), strict=True):
        point.co = (*place, 1.0)
    curve.use_fill_caps = True
    curve.materials.append(labels._material(INK))
    obj = bpy.data.objects.new("Dot", curve)
    obj.color = (*INK, 1.0)
    scene.collection.objects.link(obj)


def _gone(result: Build, plate: int) -> Floats:
    one = result.plates[plate]
    return one.explode + result.modules[one.module].explode


def _ways(
    scene: bpy.types.Scene, root: bpy.types.Object, result: Build, joints: tuple[int, ...]
) -> None:
    """Draw a dashed line from each tab to the slot that it goes into."""
    unit = root[tags.UNIT]
    width = scene.camera.data.ortho_scale
    curve = bpy.data.curves.new("Ways of Tabs", "CURVE")
    curve.dimensions, curve.bevel_depth = "3D", 0.0009 * width
    for number in joints:
        joint = result.joints[number]
        for middle in joint.tabs or (joint.centre,):
            start, end = (unit * (middle + _gone(result, p)) for p in joint.plates)
            count = max(int(np.linalg.norm(end - start) / (0.009 * width)), 1)
            for a, b in pairwise(np.linspace(0.0, 1.0, 2 * count + 1)[: 2 * count + 1]):
                if round(a * 2 * count) % 2 == 0:
                    spline = curve.splines.new("POLY")
                    spline.points.add(1)
                    for point, share in zip(spline.points, (a, b), strict=True):
                        point.co = (*(start + share * (end - start)), 1.0)
    curve.materials.append(labels._material(WAY))
    obj = bpy.data.objects.new("Ways of Tabs", curve)
    obj.color = (*WAY, 1.0)
    scene.collection.objects.link(obj)


def _small(
    scene: bpy.types.Scene, root: bpy.types.Object, shown: list[bpy.types.Object], axes: Floats
) -> None:
    """Show the module put together, small, in a corner of the page."""
    together = [piece.copy() for piece in shown]
    for copy in together:
        copy.delta_location = (0.0, 0.0, 0.0)
        copy.parent = None
        scene.collection.objects.link(copy)
    scene.view_layers[0].update()
    local = _corners(together) @ axes.T
    low, high = local.min(axis=0), local.max(axis=0)
    width = scene.camera.data.ortho_scale
    x, y, tall = SMALL
    share = tall * width * SIZE[1] / SIZE[0] / max(high[1] - low[1], (high[0] - low[0]) * 0.8)
    plane = labels.plane_of(scene, scene.camera, 2.0 * width)
    aim = labels.plane_point(scene, plane, x, y)
    middle = Vector(((low + high) / 2 @ axes).tolist())
    move = Matrix.Translation(aim) @ Matrix.Scale(share, 4) @ Matrix.Translation(-middle)
    for copy in together:
        copy.matrix_world = move @ copy.matrix_world


def _words(scene: bpy.types.Scene, result: Build, module: Module) -> None:
    """Write title, parts and a line about the dashes."""
    plane = labels.plane_of(scene, scene.camera, 0.5 * scene.camera.data.ortho_scale)
    height = plane.size[1]

    def write(text: str, x: float, y: float, size: float, color: tuple[float, ...] = INK) -> None:
        at = labels.plane_point(scene, plane, x, y)
        labels.text_object(scene.collection, scene.camera, text, at, size * height, color=color)

    counts: dict[str, int] = {}
    for p in module.plates:
        mark = result.parts[result.plates[p].part].mark
        counts[mark] = counts.get(mark, 0) + 1
    pins = sum(len(result.joints[j].pins) for j in module.joints)
    write(f"{result.design.name}: module {module.id}", 0.03, 0.925, 0.042)
    same = len(result.modules)
    write(f"one of {same} modules, {len(module.plates)} plates", 0.03, 0.885, 0.024, GREY)
    y = 0.80
    write("To have on the table", 0.78, y, 0.026)
    marks = [part.mark for part in result.parts]
    rows = [
        (f"{count} x part {mark}", tuple(0.75 * c for c in looks.part_rgb(marks.index(mark))))
        for mark, count in sorted(counts.items())
    ]
    rows += [(f"{pins} pins", GREY)] if pins else []
    rows += [(f"{len(module.joints)} joints to close", GREY)]
    for row, color in rows:
        y -= 0.042
        write(row, 0.78, y, 0.024, color)
    write("Put together", 0.78, SMALL[1] + SMALL[2] / 2 + 0.04, 0.026)
    write("Dashes lead each tab to its slot.", 0.03, 0.045, 0.022, WAY)
    write("Cut edges are sharp, closing joints pinch:", 0.62, 0.065, 0.022, GREY)
    write("wear gloves, keep your fingers clear.", 0.62, 0.03, 0.022, GREY)


def _light(scene: bpy.types.Scene) -> None:
    """Light the page evenly, with one soft sun, and let Cycles render it."""
    scene.render.engine = "CYCLES"
    scene.cycles.device, scene.cycles.samples = "CPU", SAMPLES
    scene.cycles.use_denoising = True
    scene.cycles.max_bounces = 4
    world = scene.world
    if bpy.app.version < (5, 0, 0):
        world.use_nodes = True
    nodes = world.node_tree.nodes
    nodes.clear()
    links = world.node_tree.links
    # What the camera sees is white paper; what lights the plates is a little less.
    path, mix = nodes.new("ShaderNodeLightPath"), nodes.new("ShaderNodeMixShader")
    air, paper = nodes.new("ShaderNodeBackground"), nodes.new("ShaderNodeBackground")
    output = nodes.new("ShaderNodeOutputWorld")
    air.inputs["Color"].default_value = (0.62, 0.65, 0.70, 1.0)
    paper.inputs["Color"].default_value = (1.0, 1.0, 1.0, 1.0)
    links.new(path.outputs["Is Camera Ray"], mix.inputs[0])
    links.new(air.outputs[0], mix.inputs[1])
    links.new(paper.outputs[0], mix.inputs[2])
    links.new(mix.outputs[0], output.inputs["Surface"])
    sun = bpy.data.lights.new("Page Sun", "SUN")
    sun.energy, sun.angle = 2.2, np.radians(12.0)
    obj = bpy.data.objects.new("Page Sun", sun)
    obj.parent = scene.camera
    obj.rotation_euler = (np.radians(-32.0), np.radians(-28.0), 0.0)
    scene.collection.objects.link(obj)


def _render(scene: bpy.types.Scene, path: Path) -> None:
    settings = scene.render.image_settings
    settings.file_format = "PNG" if path.suffix == ".png" else "JPEG"
    settings.quality = 88
    scene.render.filepath = str(path)
    bpy.ops.render.render(write_still=True, scene=scene.name)


if __name__ == "__main__":
    main()
