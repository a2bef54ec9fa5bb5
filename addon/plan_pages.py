# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Pages to print: one picture for each step or module, with what to do beside it.

The pages are rendered in a scene of their own, into which the sculpture is only linked: the user's
scene, camera and render settings are not touched. How the sculpture is shown is put back at last.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import Any

import bpy
import numpy as np
from mathutils import Matrix, Vector

from ..core.assembly.stage import first_step_of, shown_pose
from . import framing, labels, plan_store, plan_view, tags
from .page_scene import page_scene, render_page

__all__ = ["BOTH", "PageChoice", "count", "make"]

BOTH = "BOTH"
_PICTURE = 0.66  # of the page's width; the rest is text
_MARGIN = 0.035  # of the page's height
_KEPT = ("mode", "step", "approach", "module", "isolate", "colors", "labels")
_INK = (0.02, 0.02, 0.022)
_GREY = (0.25, 0.25, 0.26)
_TOLD = {"coming": "Comes in", "holds": "Holds on to it", "bends": "Bends", "stands": "Stands"}


@dataclass(frozen=True, slots=True)
class PageChoice:
    """What is printed: `plan_view.STEPS`, `MODULES` or `BOTH`; pixels of a page, with labels."""

    what: str = BOTH
    size: tuple[int, int] = (1754, 1240)  # A4 across at 150 dots an inch
    with_labels: bool = True


@dataclass(frozen=True, slots=True)
class _Page:
    name: str  # of the file
    title: str
    under: str
    text: str
    settings: dict[str, Any]
    module: str | None  # whose outer side is looked at; None: the whole
    legend: tuple[str, ...] = ()


def count(root: bpy.types.Object, choice: PageChoice) -> int:
    """Return how many pages there will be."""
    return len(_pages(root, choice))


def make(root: bpy.types.Object, folder: Path, choice: PageChoice) -> Iterator[Path]:
    """Render page after page; yields each file when it is written.

    Raises
    ------
    OutputError : a file cannot be written.
    """
    plan = root.pinwright_plan
    kept = {name: getattr(plan, name) for name in _KEPT}
    pages = _pages(root, choice)
    try:
        with page_scene(root, choice.size) as scene:
            for number, page in enumerate(pages, start=1):
                for name, value in page.settings.items():
                    setattr(plan, name, value)
                foot = f"{root.name}, page {number} of {len(pages)}"
                with _laid_out(scene, root, page, choice, foot):
                    path = folder / page.name
                    render_page(scene, path)
                yield path
    finally:
        for name, value in kept.items():
            setattr(plan, name, value)
        labels.drop_unused()


# ---------------------------------------------------------------- what is on the pages


def _pages(root: bpy.types.Object, choice: PageChoice) -> list[_Page]:
    record = plan_store.plan_of(root)
    order = plan_view.module_order(record)
    found = []
    if choice.what in (plan_view.MODULES, BOTH) and len(order) > 1:
        found += [_module_page(record, module, k) for k, module in enumerate(order)]
    if choice.what in (plan_view.STEPS, BOTH) or not found:
        found += [_step_page(record, step) for step in record["steps"]]
    return found


def _module_page(record: dict[str, Any], module: str, place: int) -> _Page:
    members = sorted(p for p, name in record["members"].items() if name == module)
    steps = [step for step in record["steps"] if step["module"] == module]
    minutes = sum(step["minutes"] for step in steps)
    numbers = f"Steps {steps[0]['n']} to {steps[-1]['n']}. " if steps else ""
    text = f"{len(members)} plates: {', '.join(members)}. {numbers}"
    if steps:
        text += f"About {minutes:.0f} minutes at the table."
    else:
        first = first_step_of(record["steps"], record["members"], module)
        text += f"They come into the whole one by one, from step {first} on."
    shown = {"mode": plan_view.MODULES, "module": place, "isolate": True}
    shown |= {"colors": plan_view.PART, "labels": "SHOWN"}
    return _Page(f"module-{module}.png", f"Module {module}", "", text, shown, module)


def _step_page(record: dict[str, Any], step: dict[str, Any]) -> _Page:
    total = len(record["steps"])
    place = f"At the table of {step['module']}" if step["module"] else "At the whole"
    people = f"{step['people']} {'person' if step['people'] == 1 else 'people'}"
    under = f"{place}; {people}, about {step['minutes']:.1f} minutes"
    shown = {"mode": plan_view.STEPS, "step": step["n"], "approach": 0.0, "isolate": True}
    shown |= {"colors": plan_view.ROLE, "labels": "COMING"}
    bent = {one["plate"] for one in step["spring"]} - set(step["add"])
    legend = ("coming", "holds", *(("bends",) if bent else ()), "stands")
    name = f"step-{step['n']:0{len(str(total))}d}.png"
    title = f"Step {step['n']} of {total}"
    return _Page(name, title, under, step["say"], shown, step["module"], legend)


# ---------------------------------------------------------------- how they are laid out


@contextmanager
def _laid_out(
    scene: bpy.types.Scene, root: bpy.types.Object, page: _Page, choice: PageChoice, foot: str
) -> Iterator[None]:
    """Turn the camera to what is shown, and put the page's words beside it."""
    scene.view_layers[0].update()
    made: list[bpy.types.ID] = []
    try:
        shown = [piece for piece in tags.pieces(root) if not piece.hide_render]
        depth = _look(scene, root, shown, page, choice)
        scene.view_layers[0].update()
        plane = labels.plane_of(scene, scene.camera, depth)
        if page.settings["mode"] == plan_view.STEPS:
            made += _arrow(scene, root)
        if choice.with_labels:
            entries = [(labels.anchor_of(p), p[tags.PLATE]) for p in plan_view.labelled(root)]
            if entries:
                frame = (0.01, 0.03, _PICTURE - 0.01, 0.97)
                made += labels.bake(scene, scene.camera, entries, scene.collection, 0.021, frame)
        made += _words(scene, plane, page, foot)
        scene.view_layers[0].update()
        yield
    finally:
        bpy.data.batch_remove(made)


def _look(
    scene: bpy.types.Scene,
    root: bpy.types.Object,
    shown: list[bpy.types.Object],
    page: _Page,
    choice: PageChoice,
) -> float:
    """Fit what is shown into the picture's part of the page; return a depth before all of it."""
    axes = _axes(root, shown, page.module)
    corners = [piece.matrix_world @ Vector(c) for piece in shown for c in piece.bound_box]
    if not corners:
        corners = [root.matrix_world.translation]
    local = np.array([corner.to_tuple() for corner in corners]) @ axes.T
    low, high = local.min(axis=0), local.max(axis=0)
    extent = np.maximum(high - low, 1e-6)
    ratio = choice.size[1] / choice.size[0]
    room = 0.68 * _PICTURE if choice.with_labels else 0.92 * _PICTURE
    width = max(extent[0] / room, extent[1] / (0.86 * ratio))
    middle = (low + high) / 2
    away = 2.0 * width
    # The middle of what is shown goes to the middle of the picture's part, not of the page.
    place = np.array([middle[0] + (0.5 - _PICTURE / 2) * width, middle[1], high[2] + away])
    camera = scene.camera
    camera.data.ortho_scale = width
    camera.data.clip_start, camera.data.clip_end = 0.01 * width, away + extent[2] + width
    turn = Matrix(axes.T.tolist()).to_4x4()
    camera.matrix_world = Matrix.Translation(Vector((place @ axes).tolist())) @ turn
    return 0.5 * away


def _axes(root: bpy.types.Object, shown: list[bpy.types.Object], module: str | None) -> np.ndarray:
    """Return the camera's right, up and back (3, 3): a module is seen from its outer side."""
    if module is None:
        return _best_view(root, shown)
    usual = framing.axes(framing.View(32.0, 20.0))
    ways = [p[tags.EXPLODE_MODULE] for p in shown if p.get(tags.MODULE) == module]
    out = np.array(root.matrix_world.to_3x3() @ Vector(ways[0])) if ways else np.zeros(3)
    length = float(np.linalg.norm(out))
    if length < 1e-9:
        return usual
    back = out / length
    upright = np.array([0.0, 0.0, 1.0]) if abs(back[2]) < 0.95 else np.array([0.0, 1.0, 0.0])
    right = np.cross(upright, back)
    right /= np.linalg.norm(right)
    back = back + 0.25 * np.cross(back, right) + 0.15 * right  # a little from above: depth is seen
    back /= np.linalg.norm(back)
    right = np.cross(upright, back)
    right /= np.linalg.norm(right)
    return np.stack((right, np.cross(back, right), back))


def _best_view(root: bpy.types.Object, shown: list[bpy.types.Object]) -> np.ndarray:
    """Return the view, of eight round about, that shows what comes in best: broad, in front."""
    stage = plan_view.stage_of(root)
    coming = [p for p in shown if stage is not None and p.get(tags.PLATE) in stage.coming]
    views = [framing.axes(framing.View(32.0 + 45.0 * k, 20.0)) for k in range(8)]
    if not coming or len(coming) == sum(tags.PLATE in p for p in shown):
        return views[0]
    normals = np.array([(p.matrix_world.to_3x3() @ Vector((0, 0, 1))).to_tuple() for p in coming])
    middles = np.array(
        [(labels.anchor_of(p) - root.matrix_world.translation).to_tuple() for p in coming]
    )
    out = middles.mean(axis=0)
    out /= max(float(np.linalg.norm(out)), 1e-9)
    return max(
        views, key=lambda axes: float(np.abs(normals @ axes[2]).mean() + 0.7 * out @ axes[2])
    )


def _arrow(scene: bpy.types.Scene, root: bpy.types.Object) -> list[bpy.types.ID]:
    """Make an arrow along the way of what comes in, from where it is shown to its place."""
    record, plan = plan_store.plan_of(root), root.pinwright_plan
    step = record["steps"][plan.step - 1]
    coming = [p for p in tags.pieces(root) if p.get(tags.PLATE) in step["add"]]
    if len(step["way"]) < 2 or not coming:
        return []
    unit = root.get(tags.UNIT, 0.001)
    reach = plan_view.REACH * record["extent"]
    middle = sum((labels.anchor_of(p) for p in coming), Vector()) / len(coming)
    local = root.matrix_world.inverted() @ middle / unit
    back = Matrix(np.linalg.inv(shown_pose(step, plan.approach, reach)).tolist())
    places = []
    for share in np.linspace(0.0, 1.0, 13):
        pose = Matrix(shown_pose(step, float(share), reach).tolist())
        places.append(root.matrix_world @ ((pose @ back @ local) * unit))
    length = sum((b - a).length for a, b in pairwise(places))
    if length < 1e-9:
        return []
    curve = bpy.data.curves.new("Way", "CURVE")
    curve.dimensions, curve.bevel_resolution = "3D", 3
    curve.bevel_depth = 0.006 * scene.camera.data.ortho_scale * _PICTURE
    head = places[-1] + (places[-2] - places[-1]).normalized() * min(
        5.0 * curve.bevel_depth, 0.5 * length
    )
    line = [p for p in places[:-1] if (p - places[-1]).length > (head - places[-1]).length]
    points = [*((p, 0.35) for p in line), (head, 0.35), (head, 1.4), (places[-1], 0.0)]
    spline = curve.splines.new("POLY")
    spline.points.add(len(points) - 1)
    for point, (at, radius) in zip(spline.points, points, strict=True):
        point.co, point.radius = (*at, 1.0), radius
    obj = bpy.data.objects.new("Way", curve)
    obj.color = (0.02, 0.02, 0.02, 1.0)
    scene.collection.objects.link(obj)
    return [obj, curve]


def _words(scene: bpy.types.Scene, plane: Any, page: _Page, foot: str) -> list[bpy.types.ID]:
    """Make the texts beside the picture, and what the colors mean."""
    made: list[bpy.types.ID] = []
    width, height = plane.size
    x, column = _PICTURE + 0.01, (1.0 - _PICTURE - 0.01) * width - _MARGIN * height

    def put(text: str, y: float, size: float, color: tuple[float, float, float] = _INK) -> None:
        at = labels.plane_point(scene, plane, x, y)
        made.extend(
            labels.text_object(
                scene.collection, scene.camera, text, at, size * height, width=column, color=color
            )
        )

    put(page.title, 0.90, 0.052)
    if page.under:
        put(page.under, 0.845, 0.021, _GREY)
    put(page.text, 0.76, 0.026)
    for number, role in enumerate(reversed(page.legend)):
        y = 0.09 + 0.042 * number
        made.extend(_swatch(scene, plane, x, y, plan_view.ROLE_COLORS[role]))
        at = labels.plane_point(scene, plane, x + 0.028, y)
        made.extend(
            labels.text_object(
                scene.collection, scene.camera, _TOLD[role], at, 0.021 * height, color=_GREY
            )
        )
    put(foot, 0.03, 0.017, _GREY)
    return made


def _swatch(
    scene: bpy.types.Scene, plane: Any, x: float, y: float, color: tuple[float, float, float]
) -> list[bpy.types.ID]:
    """Make a small square of a color."""
    across = 0.024 * plane.size[1] / plane.size[0]
    corners = [(x, y), (x + across, y), (x + across, y + 0.024), (x, y + 0.024)]
    mesh = bpy.data.meshes.new("Color")
    mesh.from_pydata(
        [labels.plane_point(scene, plane, *corner).to_tuple() for corner in corners],
        [],
        [(0, 1, 2, 3)],
    )
    obj = bpy.data.objects.new("Color", mesh)
    obj.color = (*color, 1.0)
    scene.collection.objects.link(obj)
    return [obj, mesh]
