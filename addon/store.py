# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""What a sculpture's root carries in the .blend: its design as text, its frame, its figures.

A build is never saved: it is computed again from the design when files are wanted. The last few
builds are remembered by their design, so that this costs nothing right after building.
"""

from __future__ import annotations

import json
from dataclasses import replace
from functools import lru_cache
from pathlib import Path

import bpy
import numpy as np
import numpy.typing as npt

from ..core.design.files import write_text
from ..core.design.model import Design
from ..core.design.read import design_from_text
from ..core.design.write import format_design, write_design
from ..core.errors import PinwrightError
from ..core.results import Build
from . import tags
from .properties import PinwrightFigures, PinwrightJointClass

__all__ = [
    "FrameMesh",
    "frame_of",
    "frame_text",
    "keep",
    "known_build",
    "remember",
    "show_figures",
    "stored_design",
    "write_design_files",
]

FrameMesh = tuple[npt.NDArray[np.float64], list[tuple[int, ...]]]
_VERSION = 1
_MOST = 10
_builds: list[tuple[Build, str]] = []  # newest last, each with the text of its frame


def keep(root: bpy.types.Object, build: Build, frame: FrameMesh | None) -> None:
    """Write a build's design, and the mesh that is its frame, on a root; keep the build at hand."""
    design = build.design
    root[tags.VERSION] = _VERSION
    root[tags.DESIGN] = format_design(design)
    root[tags.FOLDER] = design.folder
    root[tags.FRAME] = frame_text(frame)
    remember(build, root[tags.FRAME])


def stored_design(root: bpy.types.Object) -> Design:
    """Return the design that a sculpture was built from.

    Raises
    ------
    PinwrightError : the text is not a design, or was written by a newer version.
    """
    if root.get(tags.VERSION, 0) > _VERSION:
        raise PinwrightError(f"'{root.name}' was saved by a newer version of this extension.")
    return _read(root[tags.DESIGN], root.name, root.get(tags.FOLDER, ""))


@lru_cache(maxsize=_MOST)
def _read(text: str, title: str, folder: str) -> Design:
    return design_from_text(text, title, folder)


def frame_of(root: bpy.types.Object) -> FrameMesh | None:
    """Return the mesh that a sculpture hangs on as it was when built: vertices in mm, faces."""
    text = root.get(tags.FRAME, "")
    if not text:
        return None
    stored = json.loads(text)
    return np.array(stored["vertices"], dtype=float), [tuple(face) for face in stored["faces"]]


def write_design_files(root: bpy.types.Object, path: Path) -> tuple[Path, ...]:
    """Write a sculpture's design file, and beside it the mesh that it hangs on, if there is one.

    Raises
    ------
    OutputError : a file cannot be written.
    """
    design, mesh = stored_design(root), frame_of(root)
    if mesh is None:
        write_design(design, path)
        return (path,)
    beside = path.with_name(f"{path.stem}-frame.obj")
    write_text(beside, _obj_text(mesh))
    choice = replace(design.frame, mesh=beside.name)
    write_design(replace(design, frame=choice), path)
    return (path, beside)


def remember(build: Build, frame_text: str) -> None:
    """Keep a build at hand until a few others have been made."""
    others = [one for one in _builds if one[0] is not build or one[1] != frame_text]
    _builds[:] = [*others[1 - _MOST :], (build, frame_text)]


def known_build(design: Design, frame_text: str) -> Build | None:
    """Return the build of a design if it is still at hand."""
    for build, text in reversed(_builds):
        if text == frame_text and build.design == design:
            return build
    return None


def show_figures(figures: PinwrightFigures, build: Build) -> None:
    """Write the results that the panels show."""
    totals, sheet = build.totals, build.design.sheet
    figures.parts = len(build.parts)
    figures.plates = totals.plates
    figures.joints = totals.joints
    figures.pins = totals.pins
    figures.modules = len(build.modules)
    figures.between = sum(1 for joint in build.joints if not joint.within_module)
    figures.mass = totals.mass
    figures.area = totals.sheet_area * 1e-6
    figures.cut = totals.cut_length * 1e-3
    figures.diameter = totals.diameter
    figures.group = build.group.name
    figures.order = build.group.order
    figures.material = sheet.material
    figures.thickness = sheet.thickness
    figures.warnings = "\n".join(build.warnings)
    _show_findings(figures, build)
    _show_joint_classes(figures, build)


def _show_findings(figures: PinwrightFigures, build: Build) -> None:
    figures.findings.clear()
    for check in build.checks:
        row = figures.findings.add()
        row.name, row.ok = check.name, check.ok
        row.figure, row.limit, row.unit = check.figure, check.limit, check.unit
        row.message = check.message
        row.where = " ".join(check.where)


def _show_joint_classes(figures: PinwrightFigures, build: Build) -> None:
    figures.joint_classes.clear()
    rows: dict[str, PinwrightJointClass] = {}
    for joint in build.joints:
        row = rows.get(joint.joint_class)
        if row is None:
            row = rows[joint.joint_class] = figures.joint_classes.add()
            row.name = joint.joint_class
            row.kind = joint.kind.value
            row.angle = joint.angle
        row.count += 1


def _obj_text(frame: FrameMesh) -> str:
    """Return a mesh as Wavefront OBJ; vertices count from 1."""
    vertices, faces = frame
    lines = [f"v {x:.17g} {y:.17g} {z:.17g}" for x, y, z in vertices.tolist()]
    lines += ["f " + " ".join(str(vertex + 1) for vertex in face) for face in faces]
    return "\n".join(lines) + "\n"


def frame_text(frame: FrameMesh | None) -> str:
    """Return the mesh of a frame as JSON text; empty where a design makes its own."""
    if frame is None:
        return ""
    vertices, faces = frame
    return json.dumps({"vertices": vertices.tolist(), "faces": [list(face) for face in faces]})
