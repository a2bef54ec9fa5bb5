# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Modules: the plates that a team builds on a table.

By symmetry (the cosets of a subgroup), by the graph of plates and joints, or as the user lists.
"""

from __future__ import annotations

import difflib
import math
import re
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
from scipy.sparse import csgraph, csr_array

from ..design.model import ModuleChoice
from ..errors import DesignError
from ..frame.frame import Frame
from ..frame.group import Group
from ..frame.subgroups import subgroup_classes, subgroup_name
from ..joints.table import JointTable
from ..plates.motif import Motif
from ..plates.orbits import Orbits
from .partition import Limits, Pieces, partition, span

__all__ = ["module_of_plates", "plate_name", "usual_count"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]


def module_of_plates(
    choice: ModuleChoice,
    frame: Frame,
    group: Group,
    motifs: Sequence[Motif],
    orbits: Orbits,
    joints: JointTable,
    pieces: Pieces | None = None,
) -> Ints:
    """Return the module of every plate, (P,) int from 0 without gaps.

    pieces : what a module about joints is judged by; asked for by that choice alone

    Of all like places of the frame (all vertices of the most symmetrical kind, say) the subgroup of
    the one is taken that leaves the fewest plates between modules, then of those the one whose
    modules fall into the fewest pieces, then the one with the most joints inside modules, then the
    one nearest to the first plate.

    Raises
    ------
    DesignError : the frame has no such places, the group no such subgroup, no plate has a listed
        name, or no modules keep the limits.
    """
    if choice.about == "joints":
        if pieces is None:
            raise ValueError("modules about joints are cut from the pieces")
        return _cut(choice, pieces)
    if choice.about == "listed":
        return _listed(choice, motifs, orbits)
    if choice.about == "none" or group.order == 1:
        return np.zeros(len(orbits.motif), dtype=np.intp)
    best: tuple[int, int, int, float] | None = None
    chosen = np.zeros(len(orbits.motif), dtype=np.intp)
    first = orbits.transforms[0, :3, 3]
    for subgroup, direction in _subgroups(choice.about, frame, group):
        module, between = _assigned(group, motifs, orbits, subgroup)
        inside = module[joints.first] == module[joints.second]
        ends = (joints.first[inside], joints.second[inside])
        graph = csr_array((np.ones(len(ends[0])), ends), shape=(len(module), len(module)))
        pieces_left = int(csgraph.connected_components(graph, directed=False)[0])
        rank = (
            between,
            pieces_left,
            -int(inside.sum()),
            -round(float(first @ direction) / frame.radius, 6),
        )
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
    if about.startswith("subgroup"):
        wanted = about.split()[1]
        classes = subgroup_classes(group)
        names = [subgroup_name(group, members[0]) for members in classes]
        if wanted not in names:
            raise DesignError("modules.about", about, "subgroup " + ", ".join(dict.fromkeys(names)))
        return [
            (subgroup, np.zeros(3))
            for name, members in zip(names, classes, strict=True)
            if name == wanted
            for subgroup in members
        ]
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
        "modules.about",
        about,
        "'vertices', 'edges', 'faces', 'none', 'axes 2', 'axes 3' ..., 'subgroup D3' ..., 'joints' "
        "or 'listed'",
    )


# ---------------------------------------------------------------- by the graph


def usual_count(plates: int) -> int:
    """Return how many modules suit so many plates: about as many as each then has plates."""
    return max(1, round(math.sqrt(plates)))


def _cut(choice: ModuleChoice, pieces: Pieces) -> Ints:
    """Cut the graph of plates and joints into modules that keep the limits of the choice."""
    size = math.inf if choice.largest is None else choice.largest
    weight = math.inf if choice.heaviest is None else choice.heaviest
    _one_can_be_carried(pieces, size, weight)
    plates = len(pieces)
    if choice.count is not None:
        if choice.count > plates:
            raise DesignError("modules.count", choice.count, f"at most {plates}, one for a plate")
        counts = [choice.count]
    elif choice.largest is None and choice.heaviest is None:
        counts = [usual_count(plates)]
    else:
        least = max(math.ceil(float(pieces.mass.sum()) / weight), _too_far_apart(pieces, size))
        counts = sorted({min(plates, math.ceil(least * 1.15**k)) for k in range(60)})
    for count in counts:
        found = partition(pieces, count, Limits.even(plates, count, size, weight))
        if found is None:  # uneven ones, if that is what it takes
            found = partition(pieces, count, Limits(1, plates, size, weight))
        if found is not None:
            return found
    raise DesignError(
        "modules.count",
        choice.count,
        "a number of connected modules that keep `largest` and `heaviest`",
        "Ask for more modules, or leave `count` out.",
    )


def _too_far_apart(pieces: Pieces, size: float) -> int:
    """Return how many plates were found no two of which go into one module of that size."""
    chosen: list[int] = []
    for p in range(len(pieces)):
        gaps = np.linalg.norm(pieces.centres[chosen] - pieces.centres[p], axis=1)
        if (gaps + pieces.radii[chosen] + pieces.radii[p] > size).all():
            chosen.append(p)
    return max(1, len(chosen))


def _one_can_be_carried(pieces: Pieces, size: float, weight: float) -> None:
    """Refuse limits that a single plate breaks."""
    spans = [span(pieces, [p]) for p in range(len(pieces))]
    if max(spans) > size:
        raise DesignError(
            "modules.largest", size, f"at least {max(spans):.0f} mm, which is one plate's size"
        )
    if float(pieces.mass.max()) > weight:
        heaviest = float(pieces.mass.max())
        raise DesignError(
            "modules.heaviest", weight, f"at least {heaviest:.3g} kg, which one plate weighs"
        )


# ---------------------------------------------------------------- by the user


def plate_name(motif: str, copy: int) -> str:
    """Return how a list of modules calls one plate: its motif and its number among the copies."""
    return f"{motif}/{copy}"


def _listed(choice: ModuleChoice, motifs: Sequence[Motif], orbits: Orbits) -> Ints:
    """Gather the plates that each list names; the rest is one more module."""
    copies: dict[str, Ints] = {}
    for m, motif in enumerate(motifs):
        rows = np.flatnonzero(orbits.motif == m)
        copies[motif.name] = rows[np.argsort(orbits.element[rows], kind="stable")]
    module = np.full(len(orbits.motif), -1, dtype=np.intp)
    for number, names in enumerate(choice.listed):
        for place, name in enumerate(names, start=1):
            where = f"modules.listed[{number + 1}][{place}]"
            rows = _named(name, copies, where)
            taken = module[rows].max()
            if taken >= 0:
                raise DesignError(
                    where, name, "plates that no other list has", f"List {taken + 1} has them."
                )
            module[rows] = number
    module[module < 0] = len(choice.listed)
    _, compact = np.unique(module, return_inverse=True)
    return compact.reshape(-1).astype(np.intp)


def _named(name: str, copies: dict[str, Ints], where: str) -> Ints:
    if name in copies:
        return copies[name]
    found = re.fullmatch(r"(.+)/(\d+)", name)
    if found is not None and found[1] in copies:
        rows = copies[found[1]]
        copy = int(found[2])
        if not 1 <= copy <= len(rows):
            raise DesignError(where, name, f"{found[1]}/1 to {found[1]}/{len(rows)}")
        return rows[copy - 1 : copy]
    near = difflib.get_close_matches(name, copies, n=1)
    some = ", ".join(list(copies)[:8]) + (" ..." if len(copies) > 8 else "")
    raise DesignError(
        where, name, f"a motif's name: {some}", f"Did you mean {near[0]!r}?" if near else ""
    )
