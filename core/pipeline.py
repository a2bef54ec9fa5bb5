# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The recipe of a build: one call for each stage, the map of the whole core."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import shapely

from .assembly.explode import (
    Scattered,
    clear_module_offsets,
    module_offsets,
    plate_offsets,
)
from .assembly.keyed import Sculpture, keyed_joint_classes, tab_words
from .assembly.modules import module_of_plates
from .assembly.partition import Pieces
from .checks.fit import check_fit
from .checks.judge import (
    check_angles,
    check_bends,
    check_clash,
    check_clearance,
    check_connected,
    check_webs,
)
from .checks.mates import JointSizeTable
from .checks.mistakes import Names, check_mistakes, find_mistakes
from .checks.parts import part_checks
from .checks.scene import scene_of
from .checks.sites import Whole
from .design.materials import material
from .design.model import Design, FacePlates, JointKind, Keys, Rings
from .errors import DesignError
from .export.legible import check_marks
from .fit.sizes import Sizes, resolve_sizes
from .frame.frame import Frame, frame_from_choice
from .joints.classes import joint_classes
from .joints.fasteners import fasteners_of
from .joints.features import motif_features
from .joints.table import joint_table
from .outlines.cut_outs import refuse_without_cut_outs
from .outlines.finish import finished_outline, without_flaps
from .outlines.parts import part_shapes
from .plates.motif import motif_from_choice
from .plates.orbits import orbits_of
from .plates.recipes import blamed_on_recipe, explicit_form
from .records import Numbering, assemble_build, module_id
from .results import Build, Check

__all__ = ["Progress", "build", "sizes_of"]

#: Called with the name of the stage that begins and the share that is done, 0 to 1.
Progress = Callable[[str, float], None]


def build(
    design: Design,
    progress: Progress | None = None,
    frame: Frame | None = None,
    mistakes: bool = False,
    apart: bool = True,
) -> Build:
    """Compute a design: where every plate stands, every joint, every outline, every check.

    What can be built but is not sound (a clash, a thin web) is told by `Build.checks`.

    Parameters
    ----------
    design : as `core.design.read` gives it
    progress : called as the stages begin
    frame : takes the place of the one that the design names (a selected object, say)
    mistakes : look for wrong placements too; a design with keys is always judged by them
    apart : lay out the exploded view too; who only judges saves that time, and all its ways are 0

    Raises
    ------
    DesignError : the design cannot be built.
    FrameError : the frame cannot be used.
    """
    say = progress if progress is not None else _silent
    say("frame", 0.0)
    stock = material(design.sheet.material)
    if frame is None:
        frame = frame_from_choice(design.frame, design.folder)
    sizes = sizes_of(design)

    say("plates", 0.1)
    form = explicit_form(design, frame, sizes)
    group = form.group
    with blamed_on_recipe(design):
        motifs = [motif_from_choice(choice, group) for choice in form.motifs]
        orbits = orbits_of(motifs, group)

        say("joints", 0.3)
        keyed = design.keying.kind is not Keys.NONE
        choices = form.joint_classes
        if keyed:
            bare = Sculpture(design, frame, group, motifs, orbits, sizes)
            choices = keyed_joint_classes(bare, choices)
        classes = joint_classes(choices, motifs, group, sizes)
        features = motif_features(classes, motifs, group)
        joints = joint_table(classes, motifs, orbits, group)

        say("outlines", 0.4)
        finished = [
            finished_outline(motif, found, classes, sizes)
            for motif, found in zip(motifs, features, strict=True)
        ]
        counts = [sum(hole.kind == "cut-out" for hole in one.holes) for one in finished]
        refuse_without_cut_outs(motifs, counts, sizes, all_of_them=design.recipe is None)
    outlines = [one.outline for one in finished]
    flaps = [one.flaps for one in finished]
    shapes = part_shapes(outlines, design.sheet.one_sided, flaps)

    say("modules", 0.6)
    pieces = Pieces.of(outlines, sizes.thickness, stock.density, orbits, joints)
    module = module_of_plates(design.modules, frame, group, motifs, orbits, joints, pieces)
    flat = np.array([[*shapely.centroid(o).coords[0], 0.0, 1.0] for o in outlines])[orbits.motif]
    centroids = np.einsum("pij,pj->pi", orbits.transforms, flat)[:, :3]
    flat_outlines = [without_flaps(one.outline, one.flaps) for one in finished]
    scattered = Scattered(orbits, group, joints, centroids, module, flat_outlines, sizes.thickness)
    away = module_offsets(design.modules, frame.radius, centroids, module)
    explode = np.zeros_like(centroids)
    if apart:
        explode = plate_offsets(design.modules, frame.radius, scattered)
        away = clear_module_offsets(design.modules, frame.radius, scattered, explode)

    say("checks", 0.7)
    fasteners = fasteners_of(classes, joints)
    names = Numbering.of(orbits, shapes, module, joints, fasteners)
    scene = scene_of(
        shapes, orbits, group, joints, fasteners, sizes, reach=max(10 * sizes.gap, 25.0)
    )
    checks: tuple[Check, ...] = (
        check_clash(scene, names.solid),
        check_clearance(scene, sizes.gap, names.solid),
        check_connected(len(orbits.motif), joints, names.solid),
        check_angles(classes, joints, names.joint),
        check_webs(finished, features, classes, sizes, names.part_of_motif, shapes.plane_from_part),
        check_bends(form.motifs, motifs, names.part_of_motif),
        check_fit(classes, design.sheet, sizes, design.joints.rattle),
    )
    if mistakes or keyed:
        whole = Whole(features, classes, orbits, group, joints, module)
        table = JointSizeTable.of(classes, sizes)
        wrong = find_mistakes(whole, shapes, table, design.sheet.one_sided)
        modules = int(module.max()) + 1
        called = Names(
            names.solid, names.joint, names.marks.__getitem__, lambda m: module_id(m, modules)
        )
        checks += (check_mistakes(wrong, whole, called, keyed, tab_words(classes)),)
    built = assemble_build(
        design, group, stock, sizes, motifs, orbits, joints, classes, shapes, module, centroids,
        explode, away, checks, names,
    )  # fmt: skip
    checks += (*part_checks(built, sizes), check_marks(built))
    say("done", 1.0)
    return replace(built, checks=checks)


def sizes_of(design: Design) -> Sizes:
    """Return the joint sizes with the sheet's defaults filled in.

    Raises
    ------
    DesignError : there is nothing to build, or the sizes do not agree (see `resolve_sizes`).
    """
    if not design.motifs and design.recipe is None:
        raise DesignError("recipe", None, "a recipe, or motifs with joint classes")
    return resolve_sizes(design.joints, design.sheet, min(_tenon_widths(design), default=None))


def _tenon_widths(design: Design) -> list[float]:
    """Return the widths of the strips that tabs grow on and go through, mm."""
    recipe = design.recipe
    if recipe is not None:
        if isinstance(recipe, Rings | FacePlates):
            return []
        return [recipe.width if recipe.end_width is None else min(recipe.width, recipe.end_width)]
    classes = [one for one in design.joint_classes if one.kind is JointKind.TENON]
    names = {name for one in classes for name in one.motifs}
    strips = [motif for motif in design.motifs if motif.name in names]
    widths = [one for motif in strips for one in (motif.width, motif.end_width)]
    return [width for width in widths if width is not None]


def _silent(stage: str, share: float) -> None:
    """Take the progress of callers that do not want it."""
