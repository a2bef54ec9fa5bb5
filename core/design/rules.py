# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Rules between fields: what must agree, and what excludes what.

They look at the choices only. Whether plates meet, clash or hold is the business of later stages.
"""

from __future__ import annotations

import difflib
import math
from collections.abc import Iterable, Sequence

from shapely import Polygon

from ..errors import DesignError
from ..tolerance import TOLERANCES
from .fields import shown
from .materials import MATERIALS, Finish
from .model import (
    CutOut,
    Design,
    FacePlates,
    FrameChoice,
    JointClassChoice,
    JointKind,
    JointSizes,
    Lock,
    MotifChoice,
    Point,
    Sheet,
    StripStyle,
    Vector,
)
from .ring_fault import ring_fault

__all__ = ["check_rules"]


def check_rules(design: Design) -> None:
    """Raise DesignError for the first rule between fields that a design breaks."""
    _thickness_between(design.sheet)
    _one_frame(design.frame)
    _modules_suit_frame(design)
    _recipe_or_motifs(design)
    for count, motif in enumerate(design.motifs, start=1):
        _motif(motif, f"motifs[{count}]")
    _names_differ([motif.name for motif in design.motifs], "motifs")
    _names_differ([entry.name for entry in design.joint_classes], "joint_classes")
    for count, joint_class in enumerate(design.joint_classes, start=1):
        _joint_class(joint_class, design, f"joint_classes[{count}]")
    _recipe_width(design)
    _bendable(design)


def _thickness_between(sheet: Sheet) -> None:
    least, most = sheet.least_thickness, sheet.most_thickness
    if least is not None and least > sheet.thickness:
        raise DesignError(
            "sheet.least_thickness", least, f"at most the thickness, {sheet.thickness:g} mm"
        )
    if most is not None and most < sheet.thickness:
        raise DesignError(
            "sheet.most_thickness", most, f"at least the thickness, {sheet.thickness:g} mm"
        )


def _one_frame(frame: FrameChoice) -> None:
    given = [name for name in ("solid", "mesh", "group") if getattr(frame, name) is not None]
    if len(given) == 1:
        return
    remedy = "Take out all but one." if given else 'Write for example solid = "icosahedron".'
    raise DesignError(
        "frame", " and ".join(given) or None, "exactly one of solid, mesh, group", remedy
    )


def _modules_suit_frame(design: Design) -> None:
    about = design.modules.about
    if about == "listed" and not design.modules.listed:
        raise DesignError(
            "modules.listed",
            None,
            "a list of the plates of each module",
            'Write for example listed = [["first"], ["second", "third"]].',
        )
    if design.frame.group is not None and about in ("vertices", "edges", "faces"):
        raise DesignError(
            "modules.about",
            about,
            "none, or axes 2, axes 3 ..., for a bare group",
            "A bare group has no polyhedron; choose a solid or name axes.",
        )


def _recipe_or_motifs(design: Design) -> None:
    if (design.recipe is None) == (not design.motifs):
        found = "both" if design.motifs else None
        raise DesignError("recipe", found, "either a recipe or motifs with joint_classes", "")
    if design.recipe is not None and design.joint_classes:
        raise DesignError(
            "joint_classes",
            f"{len(design.joint_classes)} beside a recipe",
            "none beside a recipe, which makes its own",
            "Take them out, or write motifs instead of the recipe.",
        )


def _names_differ(names: Sequence[str], table: str) -> None:
    for count, name in enumerate(names, start=1):
        first = names.index(name) + 1
        if first < count:
            raise DesignError(
                f"{table}[{count}].name",
                name,
                "a name that no other has",
                f"{table}[{first}] has it already.",
            )


def _motif(motif: MotifChoice, where: str) -> None:
    if motif.x_axis is not None and _parallel(motif.x_axis, motif.normal):
        raise DesignError(
            f"{where}.x_axis",
            motif.x_axis,
            "a direction that is not along the normal",
            "Leave it out to get a fixed one.",
        )
    if (motif.path is None) == (motif.outline is None):
        found = None if motif.path is None else "path and outline"
        remedy = f"This is motif {motif.name!r}."
        raise DesignError(where, found, "either path and width or outline", remedy)
    _style(motif, where)
    if motif.path is not None:
        _strip(motif, motif.path, where)
    if motif.outline is not None:
        _plate(motif, motif.outline, where)


def _strip(motif: MotifChoice, path: tuple[Point, ...], where: str) -> None:
    if motif.width is None:
        raise DesignError(f"{where}.width", None, "a number above 0 mm beside a path", "Add it.")
    if motif.holes:
        raise DesignError(
            f"{where}.holes",
            f"{len(motif.holes)} beside a path",
            "holes only in an outline",
            "Draw the plate as an outline.",
        )
    if len(path) < 2:
        raise DesignError(f"{where}.path", f"{len(path)} points", "at least 2 points", "")
    _points_differ(
        path, f"{where}.path", "Take it out; draw a closed shape as an outline with a hole."
    )


def _style(style: StripStyle, where: str) -> None:
    """Refuse what says nothing: a taper without an end width, sizes of cut-outs without any."""
    if style.taper is not None and style.end_width is None:
        remedy = "Say how wide the ends are."
        raise DesignError(f"{where}.taper", style.taper, "a length beside an end_width", remedy)
    if style.cut_out is CutOut.NONE:
        for name in ("cut_size", "cut_length", "cut_web"):
            value = getattr(style, name)
            if value is not None:
                remedy = "Add cut_out, or take it out."
                raise DesignError(f"{where}.{name}", value, "a size beside a cut_out", remedy)
    if style.cut_length is not None and style.cut_out is not CutOut.SLOTTED:
        raise DesignError(
            f"{where}.cut_length",
            style.cut_length,
            "a length beside cut_out = 'slotted'",
            "Round ones are as long as they are wide.",
        )


def _plate(motif: MotifChoice, outline: tuple[Point, ...], where: str) -> None:
    if motif.width is not None:
        raise DesignError(
            f"{where}.width", motif.width, "nothing beside an outline", "Take it out."
        )
    if motif.end_width is not None or motif.cut_out is not CutOut.NONE:
        name = "end_width" if motif.end_width is not None else "cut_out"
        found = str(getattr(motif, name))
        remedy = "Draw its shape and holes into the outline."
        raise DesignError(f"{where}.{name}", found, "nothing beside an outline", remedy)
    rings = [(outline, f"{where}.outline")]
    rings += [(hole, f"{where}.holes[{n}]") for n, hole in enumerate(motif.holes, start=1)]
    for ring, name in rings:
        if len(ring) < 3:
            raise DesignError(name, f"{len(ring)} points", "at least 3 points", "")
        _points_differ(ring, name, "Take it out.")
        _sound(Polygon(ring), name)
    _sound(Polygon(outline, motif.holes), f"{where}.holes")


def _sound(polygon: Polygon, name: str) -> None:
    if not polygon.is_valid:
        allowed = (
            "rings inside the outline, clear of each other"
            if name.endswith("holes")
            else "a ring that does not cross or touch itself"
        )
        remedy = "The place is in plane coordinates, mm."
        raise DesignError(name, ring_fault(polygon), allowed, remedy)


def _points_differ(points: Iterable[Point], name: str, remedy: str) -> None:
    """Refuse two points that fall on each other, wherever they are in the list."""
    seen: dict[tuple[int, int], int] = {}
    step = TOLERANCES.point
    for count, point in enumerate(points, start=1):
        key = (round(point[0] / step), round(point[1] / step))
        if key in seen:
            allowed = f"a point that differs from point {seen[key]}"
            raise DesignError(f"{name}[{count}]", list(point), allowed, remedy)
        seen[key] = count


def _parallel(a: Vector, b: Vector) -> bool:
    cross = (a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0])
    return math.hypot(*cross) <= TOLERANCES.direction


def _joint_class(joint_class: JointClassChoice, design: Design, where: str) -> None:
    motifs = {motif.name: motif for motif in design.motifs}
    for name in joint_class.motifs:
        if name not in motifs:
            near = difflib.get_close_matches(name, motifs, n=1)
            remedy = f"Did you mean {near[0]!r}?" if near else ""
            allowed = "names of motifs: " + ", ".join(motifs)
            raise DesignError(f"{where}.motifs", name, allowed, remedy)
    first, second = joint_class.motifs
    if first == second and joint_class.turn.angle % 360.0 == 0.0:
        raise DesignError(
            f"{where}.turn",
            shown(joint_class.turn),
            "a rotation with an angle, for a motif joined to its own copies",
            "Without one the plate would be joined to itself.",
        )
    if joint_class.splice is not None and joint_class.kind is not JointKind.SPLICE:
        raise DesignError(
            f"{where}.splice",
            joint_class.splice.value,
            f"only of a splice, not of a {joint_class.kind}",
            "Take it out.",
        )
    if joint_class.kind is not JointKind.TENON:
        _no_tab(joint_class, where)
    else:
        strip = motifs[first]
        width = strip.width if strip.end_width is None else strip.end_width
        own = joint_class.tab_width is not None
        tab = joint_class.tab_width if own else design.joints.tab_width
        name = f"{where}.tab_width" if own else "joints.tab_width"
        _tab_fits(tab, width, design.joints, name, f"motif {first!r}")


def _bendable(design: Design) -> None:
    """Refuse bent ends of a sheet that breaks when it is bent."""
    locks: dict[str, Lock | None] = {"joints.lock": design.joints.lock}
    locks |= {f"joint_classes[{n}].lock": one.lock for n, one in enumerate(design.joint_classes, 1)}
    stock = MATERIALS.get(design.sheet.material)
    if stock is None or stock.finish in (Finish.METAL, Finish.CARD):
        return
    for name, lock in locks.items():
        if lock is Lock.BENT:
            raise DesignError(
                name,
                lock.value,
                f"another lock for {stock.title}, which breaks when it is bent",
                "Take a wedge, a tie or pins, or a sheet of metal or card.",
            )


def _no_tab(joint_class: JointClassChoice, where: str) -> None:
    """Refuse what only a tenon has."""
    for name, unset in (("lock", None), ("tabs", 1), ("tab_spacing", None)):
        value = getattr(joint_class, name)
        if value != unset:
            raise DesignError(
                f"{where}.{name}",
                str(value),
                f"only of a tenon; a {joint_class.kind} has no tab",
                "Take it out.",
            )


def _recipe_width(design: Design) -> None:
    recipe = design.recipe
    if recipe is None or isinstance(recipe, FacePlates):
        return
    if isinstance(recipe, StripStyle):
        _style(recipe, "recipe")
        width = recipe.width if recipe.end_width is None else min(recipe.width, recipe.end_width)
        _tab_fits(design.joints.tab_width, width, design.joints, "joints.tab_width", "the recipe")
    elif recipe.width >= design.frame.diameter / 2:
        limit = f"less than the frame's radius, {design.frame.diameter / 2:.10g} mm"
        raise DesignError("recipe.width", recipe.width, limit, "A ring needs its opening.")


def _tab_fits(
    tab: float | None, width: float | None, sizes: JointSizes, name: str, owner: str
) -> None:
    """Refuse a tab that does not fit its strip with a web on each side (where both are known)."""
    if tab is None or width is None:
        return
    web = 0.0 if sizes.web is None else sizes.web
    room = width - 2.0 * web
    if tab > room or tab == width:
        webs = f" less two webs of {web:g} mm" if web else ""
        allowed = f"at most {room:.10g} mm: the strip of {owner} is {width:g} mm wide{webs}"
        raise DesignError(name, tab, allowed, "Make the tab narrower or the strip wider.")
