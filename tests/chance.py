# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Whole designs at random, and what manifold3d and python-fcl say of their solids.

Both are general libraries for meshes. Solids are made from the parts' outlines here, not by the
core; the core's own build gives outlines, places, and which pairs are to be judged.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from pinwright.core.checks.distance import pair_distances
from pinwright.core.checks.overlap import pair_overlaps
from pinwright.core.checks.solids import PlacedPlates
from pinwright.core.design.model import (
    Bend,
    Design,
    EdgeRotor,
    FrameChoice,
    JointClassChoice,
    JointKind,
    Lock,
    MotifChoice,
    RightAngleOrbit,
    Rings,
    Sheet,
)
from pinwright.core.errors import PinwrightError
from pinwright.core.recheck.scene import placed_scene
from pinwright.core.tolerance import TOLERANCES
from tests.built import build
from tests.crossings import Crossing
from tests.judges import (
    as_fcl,
    as_manifold,
    fcl_distance,
    fcl_mesh,
    shared_volume,
    some_outline,
)

__all__ = ["Verdict", "chance_design", "judge_design"]

Floats = npt.NDArray[np.float64]
REACH = 25.0  # mm; pairs that are farther apart are left out
MOST_PAIRS = 60  # of a design that are judged, at random; mesh booleans are slow
_VOLUME, _SHARE, _DISTANCE = 1.0, 0.01, 0.01  # what must agree: mm3 or of the volume; mm


@dataclass(frozen=True, slots=True)
class Verdict:
    """How far core and judges are apart in one design."""

    group: int
    joints: int
    pins: int
    pairs: int
    clashes: int
    apart: int
    volume_error: float
    volume_share: float
    distance_error: float
    verdicts_wrong: int

    @property
    def agrees(self) -> bool:
        """All volumes agree to 1 mm3 or 1 %, all distances to 0.01 mm, all verdicts."""
        close = self.volume_error <= _VOLUME or self.volume_share <= _SHARE
        return close and self.distance_error <= _DISTANCE and self.verdicts_wrong == 0


def chance_design(rng: np.random.Generator) -> Design:
    """Return a design; some are refused by the core, many are not sound."""
    kinds = (_loose, _loose, _tenon, _tenon, _lap, _recipe)
    return kinds[int(rng.integers(len(kinds)))](rng)


def _sheet(rng: np.random.Generator) -> Sheet:
    return Sheet(float(rng.uniform(1.0, 8.0)), clearance=float(rng.uniform(0.02, 0.3)))


def _group(rng: np.random.Generator) -> str:
    return str(rng.choice(["C1", "C1", "C2", "C3", "C5", "D2", "D3", "T"]))


def _plate(rng: np.random.Generator, name: str, reach: float) -> MotifChoice:
    """Return a star, a bent strip or a comb, with holes, in a plane not far from the middle."""
    outline = some_outline(rng, float(rng.uniform(25.0, 70.0)))
    normal = rng.normal(size=3)
    shift = rng.uniform(-reach, reach, 2)
    rings = [
        np.asarray(ring.coords)[:-1] + shift for ring in (outline.exterior, *outline.interiors)
    ]
    told = [tuple((float(x), float(y)) for x, y in ring) for ring in rings]
    return MotifChoice(
        name,
        tuple((normal / np.linalg.norm(normal)).tolist()),
        float(rng.uniform(-reach, reach)),
        outline=told[0],
        holes=tuple(told[1:]),
    )


def _strip(rng: np.random.Generator, name: str, reach: float) -> MotifChoice:
    normal = rng.normal(size=3)
    points = np.column_stack([np.linspace(-80.0, 80.0, 4), rng.uniform(-reach, reach, 4)])
    return MotifChoice(
        name,
        tuple((normal / np.linalg.norm(normal)).tolist()),
        float(rng.uniform(-reach, reach)),
        path=tuple((float(x), float(y)) for x, y in points),
        width=float(rng.uniform(8.0, 25.0)),
        bend=Bend.SMOOTH if rng.random() < 0.5 else Bend.SHARP,
    )


def _loose(rng: np.random.Generator) -> Design:
    """Plates and strips that nothing joins."""
    reach = float(rng.uniform(10.0, 120.0))
    makers = (_plate, _strip)
    motifs = tuple(
        makers[int(rng.integers(2))](rng, f"m{k}", reach) for k in range(int(rng.integers(1, 4)))
    )
    group = _group(rng)
    if group == "C1" and len(motifs) == 1:
        motifs = (*motifs, _plate(rng, "other", reach))
    frame = FrameChoice(400.0, group=group)
    return Design("chance", _sheet(rng), frame, motifs=motifs)


def _tenon(rng: np.random.Generator) -> Design:
    """A strip through a board by any lock, its copies, and a plate that may be in the way."""
    sheet = _sheet(rng)
    crossing = Crossing.of(float(rng.uniform(30.0, 90.0)), int(rng.integers(1 << 30)))
    width = 70.0 * max(1.0, sheet.thickness / 3)
    half = width / 2 + 20.0
    board = [(-90.0, -half), (90.0, -half), (90.0, half), (-90.0, half)]
    motifs = [
        crossing.motif(0, "strip", [(-90.0, 0.0), (0.0, 0.0)], width=width),
        crossing.motif(1, "board", board),
    ]
    if rng.random() < 0.7:
        motifs.append(_plate(rng, "third", 90.0))
    locks = [lock for lock in Lock if lock is not Lock.FOOT]
    lock = locks[int(rng.integers(len(locks)))]
    tabs = 2 if rng.random() < 0.3 else 1
    joint = JointClassChoice("one", ("strip", "board"), JointKind.TENON, lock=lock, tabs=tabs)
    frame = FrameChoice(400.0, group=str(rng.choice(["C1", "C1", "C2", "C3"])))
    return Design("chance", sheet, frame, motifs=tuple(motifs), joint_classes=(joint,))


def _lap(rng: np.random.Generator) -> Design:
    """Two strips laid over each other, split anywhere, and a plate that may be in the way."""
    sheet = _sheet(rng)
    crossing = Crossing.of(float(rng.uniform(30.0, 90.0)), int(rng.integers(1 << 30)))
    motifs = [
        crossing.motif(k, name, [(-80.0, 0.0), (80.0, 0.0)], width=float(rng.uniform(25.0, 50.0)))
        for k, name in enumerate(("one", "two"))
    ]
    if rng.random() < 0.7:
        motifs.append(_strip(rng, "third", 60.0))
    joint = JointClassChoice(
        "lap", ("one", "two"), JointKind.CROSS_LAP, split=float(rng.uniform(0.3, 0.7))
    )
    frame = FrameChoice(400.0, group=str(rng.choice(["C1", "C2", "C3"])))
    return Design("chance", sheet, frame, motifs=tuple(motifs), joint_classes=(joint,))


def _recipe(rng: np.random.Generator) -> Design:
    """A recipe with numbers that may make its strips run into each other."""
    sheet = Sheet(float(rng.uniform(2.0, 4.0)))
    kind = int(rng.integers(3))
    if kind == 0:
        solid = str(rng.choice(["tetrahedron", "cube", "octahedron", "prism 5"]))
        made = EdgeRotor(float(rng.uniform(30.0, 50.0)), hand=int(rng.choice([-1, 1])))
        frame = FrameChoice(float(rng.uniform(350.0, 700.0)), solid=solid)
        return Design("chance", sheet, frame, made)
    if kind == 1:
        frame = FrameChoice(float(rng.uniform(300.0, 500.0)), solid="cube")
        return Design("chance", sheet, frame, Rings(float(rng.uniform(20.0, 45.0)), 4))
    frame = FrameChoice(float(rng.uniform(500.0, 900.0)), group=str(rng.choice(["T", "O"])))
    places = tuple(float(x) for x in rng.uniform(-0.4, 0.4, 2))
    offset = float(rng.uniform(0.2, 0.7))
    return Design(
        "chance", sheet, frame, RightAngleOrbit(30.0, offset=offset, places=(places[0], places[1]))
    )


def judge_design(design: Design, most: int = MOST_PAIRS) -> Verdict | None:
    """Build a design and compare core and judges pair by pair; None when the core refuses it.

    most : pairs that are judged at most; the worst by the core's word are always among them
    """
    try:
        built = build(design)
    except PinwrightError:
        return None
    scene, _ = placed_scene(built, REACH)
    pairs = np.concatenate([scene.pairs, scene.pin_pairs])
    overlaps, distances = pair_overlaps(scene.placed, pairs), pair_distances(scene.placed, pairs)
    figures = {check.name: check.figure for check in built.checks}
    rng = np.random.default_rng(len(pairs))
    chosen = rng.permutation(len(pairs))[:most]
    if len(pairs):
        worst = [int(overlaps.volume.argmax()), int(np.argmin(distances.distance))]
        chosen = np.unique([*chosen.tolist(), *worst])
    solids = _Solids(scene.placed)
    errors, shares, gaps = [0.0], [0.0], [0.0]
    wrong = clashes = apart = 0
    for k in chosen:
        i, j = (int(n) for n in pairs[k])
        volume = solids.volume(i, j)
        error = abs(volume - float(overlaps.volume[k]))
        errors.append(error)
        shares.append(error / volume if volume > 0 else 0.0)
        limit = TOLERANCES.clash_volume
        # What a judge of 1e-4 mm3 cannot tell apart from the limit is no verdict.
        wrong += (volume > limit) != bool(overlaps.clash[k]) and abs(volume - limit) > 1e-4
        if volume > limit:
            clashes += 1
            gaps.append(float(distances.distance[k]))
        elif volume < 1e-7:
            apart += 1
            gaps.append(abs(solids.distance(i, j) - float(distances.distance[k])))
    # The build's own check, which looks at one of each kind of pair, tells the same worst volume.
    most_volume = float(overlaps.volume.max()) if len(pairs) else 0.0
    wrong += abs(figures["clash"] - most_volume) > max(_VOLUME, _SHARE * most_volume)
    return Verdict(
        group=built.group.order,
        joints=len(built.joints),
        pins=len(scene.placed.which) - len(built.plates),
        pairs=len(chosen),
        clashes=clashes,
        apart=apart,
        volume_error=max(errors),
        volume_share=max(shares),
        distance_error=max(gaps),
        verdicts_wrong=int(wrong),
    )


class _Solids:
    """The placed solids for both judges, each shape made once."""

    def __init__(self, placed: PlacedPlates) -> None:
        self.which = placed.which
        self.manifolds = [as_manifold(one.polygon, one.thickness) for one in placed.solids]
        self.meshes = [fcl_mesh(one.polygon, one.thickness) for one in placed.solids]
        back = np.array([np.linalg.inv(one.plate_from_box) for one in placed.solids])
        self.world = placed.world_from_box @ back[placed.which]

    def volume(self, i: int, j: int) -> float:
        one, two = (self.manifolds[self.which[k]] for k in (i, j))
        return shared_volume(one, self.world[i], two, self.world[j])

    def distance(self, i: int, j: int) -> float:
        one, two = (as_fcl(self.meshes[self.which[k]], self.world[k]) for k in (i, j))
        return fcl_distance(one, two)
