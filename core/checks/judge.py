# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""All checks in order: each gives ok or not, the figure, its limit, and where."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from ..design.model import Bend, MotifChoice
from ..fit.sizes import LEAST_ANGLE_DEG, Sizes
from ..joints.classes import JointClass
from ..joints.features import MotifFeatures
from ..joints.table import JointTable
from ..outlines.finish import Finished
from ..plates.motif import Motif
from ..plates.path import least_radius
from ..results import Check
from ..tolerance import TOLERANCES
from .distance import least_distance, pair_distances
from .overlap import pair_overlaps
from .scene import Scene
from .webs import least_web

__all__ = [
    "check_angles",
    "check_bends",
    "check_clash",
    "check_clearance",
    "check_connected",
    "check_webs",
]

#: Turns the number of a plate, or of a pin's joint, into its id.
Namer = Callable[[int], str]
_SHOWN = 12  # places named in a finding; the figure counts them all


def check_clash(scene: Scene, name_of: Namer) -> Check:
    """No solid (plate or pin) shares volume with another."""
    pairs = np.concatenate([scene.pairs, scene.pin_pairs])
    found = pair_overlaps(scene.placed, pairs)
    worst = np.flatnonzero(found.clash)
    worst = worst[np.argsort(-found.volume[worst], kind="stable")]
    figure = float(found.volume[worst].max()) if len(worst) else 0.0
    where = tuple(
        f"{name_of(int(i))} and {name_of(int(j))}: {found.volume[k]:.2f} mm3"
        for k, (i, j) in zip(worst[:_SHOWN], pairs[worst[:_SHOWN]], strict=True)
    )
    if len(worst):
        text = f"{len(worst)} kinds of pairs run into each other, the worst by {figure:.2f} mm3"
    else:
        text = f"no two plates or pins share room ({len(pairs)} kinds of pairs judged)"
    return Check("clash", not len(worst), figure, "mm3", TOLERANCES.clash_volume, text, where)


def check_clearance(scene: Scene, gap: float, name_of: Namer) -> Check:
    """Plates that are not joined keep at least `gap` mm apart."""
    pairs = scene.pairs[~scene.joined]
    least, row, _ = least_distance(scene.placed, pairs, scene.reach)
    if row < 0:
        text = f"no two plates that are not joined come within {least:.1f} mm"
        return Check("clearance", True, least, "mm", gap, text)
    where: tuple[str, ...] = (" and ".join(name_of(int(i)) for i in pairs[row]),)
    ok = least >= gap - TOLERANCES.point
    if not ok:
        near = pair_distances(scene.placed, pairs, gap)
        close = np.flatnonzero(~near.at_least & (near.distance < gap))
        close = close[np.argsort(near.distance[close], kind="stable")]
        where = tuple(
            f"{' and '.join(name_of(int(i)) for i in pairs[k])}: {near.distance[k]:.2f} mm"
            for k in close[:_SHOWN]
        )
    text = f"plates that are not joined pass at {least:.2f} mm or more"
    return Check("clearance", ok, least, "mm", gap, text, where)


def check_connected(plates: int, joints: JointTable, name_of: Namer) -> Check:
    """Judge whether the joints hold all plates in one piece."""
    ones = np.ones(len(joints), dtype=np.int8)
    graph = coo_array((ones, (joints.first, joints.second)), shape=(plates, plates))
    count, piece = connected_components(graph, directed=False)
    sizes = np.bincount(piece)
    text = "the joints hold all plates in one piece"
    where: tuple[str, ...] = ()
    if count > 1:
        text = f"the sculpture falls into {count} pieces of {sizes.min()} to {sizes.max()} plates"
        firsts = np.unique(piece, return_index=True)[1]
        where = tuple(f"piece of {name_of(int(i))}" for i in firsts[:_SHOWN])
    return Check("connected", count == 1, float(count), "pieces", 1.0, text, where)


def check_angles(classes: Sequence[JointClass], joints: JointTable, joint_id: Namer) -> Check:
    """No joint is more oblique than the least angle; tells how many are square."""
    if not classes:
        return Check("joint angle", True, 90.0, "deg", LEAST_ANGLE_DEG, "there are no joints")
    angles = np.array([joint.angle_deg for joint in classes if joint.splice is None])
    if not len(angles):
        return Check("joint angle", True, 90.0, "deg", LEAST_ANGLE_DEG, "no two planes cross")
    crossing = np.array([joint.splice is None for joint in classes])[joints.joint_class]
    least = float(angles.min())
    square = int((np.abs(joints.angle_deg - 90.0) < 1e-6).sum())
    text = f"joints stand at {least:.3f} to {angles.max():.3f} deg; "
    text += f"{square} of {len(joints)} square"
    ok = least >= LEAST_ANGLE_DEG - 1e-6
    where = () if ok else (joint_id(int(np.argmin(np.where(crossing, joints.angle_deg, 90.0)))),)
    return Check("joint angle", ok, least, "deg", LEAST_ANGLE_DEG, text, where)


def check_bends(choices: Sequence[MotifChoice], motifs: Sequence[Motif], part_of: Namer) -> Check:
    """No smooth strip bends tighter than half its width, where its inner edge would fold."""
    rooms = [
        least_radius(motif.path) - motif.width / 2
        for choice, motif in zip(choices, motifs, strict=True)
        if choice.bend is Bend.SMOOTH and motif.path is not None and motif.width is not None
    ]
    bent = [m for m, choice in enumerate(choices) if choice.bend is Bend.SMOOTH and choice.path]
    if not rooms or not np.isfinite(min(rooms)):
        return Check("bend", True, 0.0, "mm", 0.0, "no strip is bent smoothly")
    least = min(rooms)
    worst = sorted(zip(rooms, bent, strict=True))
    where = tuple(f"part {part_of(m)}: {room:.2f} mm" for room, m in worst[:_SHOWN] if room < 0)
    text = f"the inner edge of the tightest bend has a radius of {least:.2f} mm"
    if least < 0:
        text = f"the inner edge folds: the tightest bend lacks {-least:.2f} mm of radius"
    return Check("bend", least >= 0, least, "mm", 0.0, text, where)


def check_webs(
    finished: Sequence[Finished],
    features: Sequence[MotifFeatures],
    classes: Sequence[JointClass],
    sizes: Sizes,
    part_of: Namer,
) -> Check:
    """Every slot and hole keeps at least `sizes.web` mm of material round it."""
    webs = [
        least_web(f, g, classes, sizes.clearance) for f, g in zip(finished, features, strict=True)
    ]
    order = sorted(range(len(webs)), key=lambda m: webs[m].width - webs[m].more)
    least = webs[order[0]].width
    thin = [m for m in order if webs[m].width < sizes.web + webs[m].more - 1e-4]
    where = tuple(
        f"part {part_of(m)}, {webs[m].beside}: {webs[m].width:.2f} mm" for m in thin[:_SHOWN]
    )
    if not where and np.isfinite(least):
        where = (f"part {part_of(order[0])}, {webs[order[0]].beside}",)
    figure = least if np.isfinite(least) else sizes.web
    text = f"least material round slots and holes is {least:.2f} mm"
    if not np.isfinite(least):
        text = "nothing is cut out of the plates"
    if thin:
        text = f"{len(thin)} of {len(webs)} outlines have too thin a web; " + text
    return Check("web", not thin, figure, "mm", sizes.web, text, where)
