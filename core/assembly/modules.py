# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Modules by symmetry: the cosets of a subgroup each gather the plates that a team builds."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from ..design.model import ModuleChoice
from ..errors import DesignError
from ..frame.frame import Frame
from ..frame.group import Group
from ..joints.table import JointTable
from ..plates.motif import Motif
from ..plates.orbits import Orbits

__all__ = ["module_of_plates"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]


def module_of_plates(
    choice: ModuleChoice,
    frame: Frame,
    group: Group,
    motifs: Sequence[Motif],
    orbits: Orbits,
    joints: JointTable,
) -> Ints:
    """Return the module of every plate, (P,) int from 0 without gaps.

    Of all like places of the frame (all vertices of the most symmetrical kind, say) the subgroup of
    the one is taken that leaves the fewest plates between modules, then of those the one with the
    most joints inside modules, then the one nearest to the first plate.

    Raises
    ------
    DesignError : the frame has no such places.
    """
    if choice.about == "none" or group.order == 1:
        return np.zeros(len(orbits.motif), dtype=np.intp)
    best: tuple[int, float, float] | None = None
    chosen = np.zeros(len(orbits.motif), dtype=np.intp)
    first = orbits.transforms[0, :3, 3]
    for subgroup, direction in _subgroups(choice.about, frame, group):
        module, between = _assigned(group, motifs, orbits, subgroup)
        inside = int((module[joints.first] == module[joints.second]).sum())
        rank = (between, -inside, -round(float(first @ direction) / frame.radius, 6))
        if best is None or rank < best:
            best, chosen = rank, module
    # A coset may be left without plates when a turn carries each plate onto itself.
    _, compact = np.unique(chosen, return_inverse=True)
    return compact.reshape(-1).astype(np.intp)


def _assigned(
    group: Group, motifs: Sequence[Motif], orbits: Orbits, subgroup: tuple[int, ...]
) -> tuple[Ints, int]:
    """Return the modules (P,) by the left coset of each plate's element, and how many lie between.

    A plate that a turn carries onto itself may belong to several cosets with equal right: it lies
    between modules. Those are dealt out so that the modules come out as even as can be.
    """
    coset = group.product[:, list(subgroup)].min(axis=1)
    _, number = np.unique(coset, return_inverse=True)
    number = number.reshape(-1).astype(np.intp)
    module: Ints = number[orbits.element]
    options: dict[int, Ints] = {}
    for m, motif in enumerate(motifs):
        if len(motif.stabiliser) == 1:
            continue
        for plate in np.flatnonzero(orbits.motif == m).tolist():
            equals = group.product[orbits.element[plate], list(motif.stabiliser)]
            modules = np.unique(number[equals])
            if len(modules) > 1:
                options[plate] = modules
    count = np.bincount(np.delete(module, list(options)), minlength=int(number.max()) + 1)
    _deal(options, module, count)
    return module, len(options)


def _deal(options: dict[int, Ints], module: Ints, count: Ints) -> None:
    """Write a module for each plate with options into `module`, and keep `count` of them even."""
    for plate, modules in options.items():
        module[plate] = modules[count[modules].argmin()]
        count[module[plate]] += 1
    moved = True
    while moved:  # each move lowers the sum of squares of the counts, so it comes to an end
        moved = False
        for plate, modules in options.items():
            least = modules[count[modules].argmin()]
            if count[least] + 1 < count[module[plate]]:
                count[module[plate]] -= 1
                count[least] += 1
                module[plate] = least
                moved = True


def _subgroups(about: str, frame: Frame, group: Group) -> list[tuple[tuple[int, ...], Floats]]:
    """Return the stabilisers of the most symmetrical places of a kind, with their directions."""
    if about.startswith("axes"):
        folds = {fold for _, fold in group.axes()}
        fold = int(about.split()[1]) if about.split()[1:] else 0
        if fold not in folds:
            raise DesignError(
                "modules.about", about, "axes of fold " + ", ".join(map(str, sorted(folds)))
            )
        axes = [axis for axis, k in group.axes() if k == fold]
        return [
            (group.subgroup([group.element(axis.tolist(), 360.0 / fold)]), sign * axis)
            for axis in axes
            for sign in (1.0, -1.0)
        ]
    places = _places(about, frame)
    if len(places) == 0:
        raise DesignError(
            "modules.about", about, "'none' or 'axes 2', 'axes 3' ... for a frame without vertices"
        )
    found = []
    for place in places:
        length = float(np.linalg.norm(place))
        if length > 1e-9 * frame.radius:
            stabiliser = group.stabiliser([place], tol=1e-4 * frame.radius)
            found.append((tuple(stabiliser), place / length))
    most = max(len(subgroup) for subgroup, _ in found)
    return [entry for entry in found if len(entry[0]) == most]


def _places(about: str, frame: Frame) -> Floats:
    if about == "vertices":
        return frame.vertices
    if about == "faces":
        return frame.face_centres
    if about == "edges":
        return frame.vertices[frame.edges].mean(axis=1) if len(frame.edges) else np.zeros((0, 3))
    raise DesignError(
        "modules.about", about, "'vertices', 'edges', 'faces', 'none', or 'axes 2', 'axes 3' ..."
    )
