# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""One motif whose every joint is square: a strip in a plane that is square to two of its copies.

A turn of three-fold or higher order makes a rotor: the strip has a tab in its copy, and a slot for
the tab of the copy before it. A half-turn makes a cross-lap, whose middle lies on the turn's axis.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from ...design.model import JointClassChoice, JointKind, MotifChoice, RightAngleOrbit, Turn
from ...errors import DesignError
from ...frame.frame import Frame
from ...frame.group import Group
from ..planes import to_plane, world_from_plane
from .recipe import Recipe, styled
from .square_choice import PATTERNS, chosen_normal

__all__ = ["right_angle_orbit", "usual_weave"]

Floats = npt.NDArray[np.float64]

#: Places and order of the slots that weave clear of each other on the icosahedron's group, and on
#: the tetrahedron's too for the cross-laps, with strips of up to about 1/20 of the diameter.
_USUAL = {
    "rotor + rotor": ((0.0667, 0.3333), True),
    "rotor + two-fold": ((-0.4, 0.0), False),
}


def usual_weave(pattern: str) -> tuple[tuple[float, float], bool]:
    """Return the `places` and the `swap` that a recipe of this pattern has when it names none."""
    return _USUAL[pattern]


def right_angle_orbit(frame: Frame, chosen: RightAngleOrbit) -> Recipe:
    """Lay one strip through its ports: its two tabs (or tab and cross-lap) and its slots.

    Raises
    ------
    DesignError : the group has no such normal, an element is not fit for the pattern, or the
        cross-lap is moved away from its axis.
    """
    group = frame.group
    kinds = PATTERNS[chosen.pattern]
    usual_places, usual_swap = usual_weave(chosen.pattern)
    places = usual_places if chosen.places is None else chosen.places
    swap = usual_swap if chosen.swap is None else chosen.swap
    if kinds[1] is JointKind.CROSS_LAP and places[1] != 0.0:
        raise DesignError(
            "recipe.places",
            list(places),
            "0 as the second place of 'rotor + two-fold'",
            "The two plates cross on the axis of their half-turn.",
        )
    normal, elements = chosen_normal(group, chosen)
    offset = chosen.offset * frame.radius
    plane = world_from_plane(normal, offset)
    ports, slots, ways, classes = [], [], [], []
    names = ("first", "second")
    for name, element, share, kind in zip(names, elements, places, kinds, strict=True):
        at = share * frame.radius
        other = group.matrices[element] @ normal
        # Two square planes at the same distance: their line runs by offset (n + m).
        place = offset * (normal + other) + at * np.cross(normal, other)
        ports.append(to_plane(plane, place))
        ways.append(other @ plane[:3, :2])
        if kind is JointKind.TENON:
            slots.append(to_plane(plane, group.matrices[element].T @ place))
        classes.append(
            JointClassChoice(
                name=name,
                motifs=("strip", "strip"),
                kind=kind,
                at=float(at),
                turn=_turn(group, element),
            )
        )
    path = _through(ports, slots, ways, chosen.width, swap)
    motif = MotifChoice(
        name="strip",
        normal=(float(normal[0]), float(normal[1]), float(normal[2])),
        offset=float(offset),
        path=tuple((float(x), float(y)) for x, y in path),
        width=chosen.width,
        bend=chosen.bend,
        bend_radius=chosen.bend_radius,
        **styled(chosen),
    )
    return Recipe((motif,), tuple(classes), group)


def _turn(group: Group, element: int) -> Turn:
    axis, angle = group.axis_angle_deg(element)
    return Turn((float(axis[0]), float(axis[1]), float(axis[2])), float(angle))


def _through(
    ports: list[Floats], slots: list[Floats], ways: list[Floats], width: float, swap: bool
) -> list[Floats]:
    """Return the points of the centre path: straight leads at the tabs, the slots between.

    ports, slots : (2,) in the plane; ways : (2,) normals of the planes that the ports lie in
    """
    if len(slots) == len(ports):
        between = slots[::-1] if swap else slots
        start = _lead(ports[0], ways[0], between[0], width)
        end = _lead(ports[1], ways[1], between[-1], width)
        return [ports[0], start, *between, end, ports[1]]
    # The strip runs from its tab through its slot and the lap, in either order, to a free end.
    between = [ports[1], *slots] if swap else [*slots, ports[1]]
    step = between[-1] - between[-2]
    free = between[-1] + step / np.linalg.norm(step) * 1.5 * width
    return [ports[0], _lead(ports[0], ways[0], between[0], width), *between, free]


def _lead(port: Floats, way: Floats, towards: Floats, width: float) -> Floats:
    """Return where the straight piece at a tab ends: half a width from it, towards the path."""
    sign = 1.0 if (towards - port) @ way > 0 else -1.0
    return port + sign * way * 0.5 * width
