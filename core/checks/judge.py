# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""All checks in order: each gives ok or not, the figure, its limit, and where."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
import numpy.typing as npt
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
from .joined import near_again
from .overlap import pair_overlaps
from .places import SHOWN, at, in_part, listed
from .scene import Scene
from .webs import Web, motif_webs

__all__ = [
    "check_angles",
    "check_bends",
    "check_clash",
    "check_clearance",
    "check_connected",
    "check_webs",
    "connected_check",
    "web_check",
]

_APART = (
    "Join the two plates there, or move, narrow or bend one of them; a pin that is in the way can "
    "be shorter."
)

Ints = npt.NDArray[np.intp]
#: Turns the number of a plate, or of a pin's joint, into its id.
Namer = Callable[[int], str]


def check_clash(scene: Scene, name_of: Namer) -> Check:
    """No solid (plate or pin) shares volume with another."""
    pairs = np.concatenate([scene.pairs, scene.pin_pairs])
    found = pair_overlaps(scene.placed, pairs)
    worst = np.flatnonzero(found.clash)
    worst = worst[np.argsort(-found.volume[worst], kind="stable")]
    figure = float(found.volume[worst].max()) if len(worst) else 0.0
    where = tuple(
        f"{name_of(int(i))} and {name_of(int(j))}: {found.volume[k]:.2f} mm3{at(found.point[k])}"
        for k, (i, j) in zip(worst[:SHOWN], pairs[worst[:SHOWN]], strict=True)
    )
    if len(worst):
        text = f"{len(worst)} kinds of pairs run into each other, the worst by {figure:.2f} mm3"
    else:
        text = f"no two plates or pins share room ({len(pairs)} kinds of pairs judged)"
    remedy = _APART if len(worst) else ""
    limit = TOLERANCES.clash_volume
    return Check("clash", not len(worst), figure, "mm3", limit, text, where, remedy)


def check_clearance(scene: Scene, gap: float, name_of: Namer) -> Check:
    """Plates keep at least `gap` mm apart, those that are joined everywhere but at their joints."""
    pairs = scene.pairs[~scene.joined]
    least, row, points = least_distance(scene.placed, pairs, scene.reach)
    joined = scene.pairs[scene.joined]
    again = near_again(scene.placed, joined, scene.held, scene.centre, gap - TOLERANCES.point)
    if len(again.distance) == 0 and (row < 0 or least >= gap - TOLERANCES.point):
        if row < 0:
            text = f"no two plates that are not joined come within {least:.1f} mm"
            return Check("clearance", True, least, "mm", gap, text)
        names = " and ".join(name_of(int(i)) for i in pairs[row])
        where = (f"{names}:{at(points.mean(axis=0))}",)
        text = f"plates that are not joined pass at {least:.2f} mm or more"
        return Check("clearance", True, least, "mm", gap, text, where)
    near = pair_distances(scene.placed, pairs, gap)
    close = np.flatnonzero(~near.at_least & (near.distance < gap))
    middle = (near.point_a[close] + near.point_b[close]) / 2
    found = [(*one, "") for one in zip(near.distance[close], pairs[close], middle, strict=True)]
    aside = ", away from their joint"
    found += [(*one, aside) for one in zip(again.distance, again.pairs, again.point, strict=True)]
    found.sort(key=lambda one: float(one[0]))
    lines = tuple(
        f"{' and '.join(name_of(int(i)) for i in pair)}{how}: {apart:.2f} mm{at(point)}"
        for apart, pair, point, how in found[:SHOWN]
    )
    figure = float(found[0][0])
    which = "not joined" if not len(again.distance) else "not joined there"
    text = f"plates that are {which} pass at {figure:.2f} mm or more"
    return Check("clearance", False, figure, "mm", gap, text, lines, _APART)


def check_connected(plates: int, joints: JointTable, name_of: Namer) -> Check:
    """Judge whether the joints hold all plates in one piece."""

    def where(piece: Ints) -> tuple[str, ...]:
        firsts = np.unique(piece, return_index=True)[1]
        return tuple(f"piece of {name_of(int(i))}" for i in firsts[:SHOWN])

    return connected_check(plates, joints.first, joints.second, where)


def connected_check(
    plates: int, first: Ints, second: Ints, where: Callable[[Ints], tuple[str, ...]]
) -> Check:
    """Make the check of what holds together.

    first, second : (k,) plates that joints hold; where : tells of the pieces, from each plate's
    """
    graph = coo_array((np.ones(len(first)), (first, second)), shape=(plates, plates))
    count, piece = connected_components(graph, directed=False)
    if count == 1:
        text = "the joints hold all plates in one piece"
        return Check("connected", True, 1.0, "pieces", 1.0, text)
    sizes = np.bincount(piece)
    text = f"the sculpture falls into {count} pieces of {sizes.min()} to {sizes.max()} plates"
    remedy = "Join a plate of each piece to a plate of the others."
    return Check("connected", False, float(count), "pieces", 1.0, text, where(piece), remedy)


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
    if ok:
        return Check("joint angle", ok, least, "deg", LEAST_ANGLE_DEG, text)
    flat = int(np.argmin(np.where(crossing, joints.angle_deg, 90.0)))
    where = (f"{joint_id(flat)}:{at(joints.centre[flat])}",)
    remedy = "Turn or move one of the two planes."
    return Check("joint angle", ok, least, "deg", LEAST_ANGLE_DEG, text, where, remedy)


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
    where = tuple(f"part {part_of(m)}: {room:.2f} mm" for room, m in worst[:SHOWN] if room < 0)
    text = f"the inner edge of the tightest bend has a radius of {least:.2f} mm"
    if least < 0:
        text = f"the inner edge folds: the tightest bend lacks {-least:.2f} mm of radius"
    remedy = "" if least >= 0 else "Narrow the strip, or draw its path with wider bends."
    return Check("bend", least >= 0, least, "mm", 0.0, text, where, remedy)


def check_webs(
    finished: Sequence[Finished],
    features: Sequence[MotifFeatures],
    classes: Sequence[JointClass],
    sizes: Sizes,
    part_of: Namer,
    plane_from_part: npt.NDArray[np.float64],
) -> Check:
    """Every slot and hole keeps at least `sizes.web` mm of material round it.

    plane_from_part : (M, 4, 4), of the motifs: places are told in the parts' own coordinates
    """
    found: list[tuple[int, Web]] = []
    for m, (one, own) in enumerate(zip(finished, features, strict=True)):
        found += [(m, web) for web in motif_webs(one, own, classes, sizes.clearance + sizes.relief)]
    named = [
        (f"part {part_of(m)}, {web.beside}", web, in_part(plane_from_part[m], web.place))
        for m, web in found
    ]
    return web_check(named, sizes.web)


def web_check(found: Sequence[tuple[str, Web, npt.NDArray[np.float64]]], limit: float) -> Check:
    """Judge webs, each with its name and its place (2,) in its part, against a least web, mm."""
    if not found:
        return Check("web", True, limit, "mm", limit, "nothing is cut out of the plates")
    order = sorted(found, key=lambda one: one[1].width - one[1].more)
    least = order[0][1].width
    thin = [one for one in order if one[1].width < limit + one[1].more - 1e-4]
    text = f"least material round slots and holes is {least:.2f} mm"
    if not thin:
        name, _, place = order[0]
        return Check("web", True, least, "mm", limit, text, (f"{name}:{at(place)}",))
    lines = [f"{name}: {web.width:.2f} mm{at(place)}" for name, web, place in thin]
    parts = len({name.split(",")[0] for name, _, _ in thin})
    text = f"{parts} {'part has' if parts == 1 else 'parts have'} too thin a web; " + text
    remedy = "Move the joint away from there, widen the plate, or take a smaller tab, pin or web."
    return Check("web", False, least, "mm", limit, text, listed(lines), remedy)
