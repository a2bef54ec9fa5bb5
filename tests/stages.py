# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The pipeline stopped after its outlines, so that tests can look at what the stages hand on."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from math import cos, sin

import numpy as np
import numpy.typing as npt

from pinwright.core.design.model import (
    Bend,
    CornerTriads,
    Design,
    DrawnStrips,
    EdgeRotor,
    FacePlates,
    FaceShape,
    FrameChoice,
    JointClassChoice,
    JointKind,
    JointSizes,
    RightAngleOrbit,
    Rings,
    Sheet,
    Turn,
)
from pinwright.core.design.model import (
    Recipe as RecipeChoice,
)
from pinwright.core.fit.sizes import Sizes
from pinwright.core.frame.frame import Frame, frame_from_choice
from pinwright.core.frame.group import Group
from pinwright.core.joints.classes import JointClass, joint_classes
from pinwright.core.joints.features import MotifFeatures, motif_features
from pinwright.core.joints.table import JointTable, joint_table
from pinwright.core.outlines.finish import Finished, finished_outline
from pinwright.core.pipeline import sizes_of
from pinwright.core.plates.motif import Motif, motif_from_choice
from pinwright.core.plates.orbits import Orbits, orbits_of
from pinwright.core.plates.recipes import Recipe, explicit_form
from tests.builders import small_design

__all__ = ["DESIGNS", "Staged", "explicit", "staged", "staged_by_name", "written_out"]

Floats = npt.NDArray[np.float64]


def _design(frame: FrameChoice, recipe: RecipeChoice) -> Design:
    return Design("tried", Sheet(3.0), frame, recipe, joints=JointSizes(corner_radius=2.0))


def _solid(name: str, diameter: float = 600.0) -> FrameChoice:
    return FrameChoice(diameter, solid=name)


#: An arch of nine points whose copies cross by laps.
_ARCH = tuple(
    (290.0 * cos(turn), 100.0, 290.0 * sin(turn))
    for turn in np.radians(np.linspace(-70.0, 70.0, 9)).tolist()
)

#: One of each kind: with and without stabilisers, one motif and several, tenons and cross-laps.
DESIGNS: dict[str, Design] = {
    "two rotors": _design(_solid("icosahedron", 900.0), RightAngleOrbit(38.0)),
    "rotor and laps": _design(
        _solid("tetrahedron"), RightAngleOrbit(30.0, pattern="rotor + two-fold")
    ),
    "dodecahedron": _design(_solid("dodecahedron"), EdgeRotor(36.0)),
    "truncated tetrahedron": _design(
        _solid("truncated tetrahedron"), EdgeRotor(34.0, bend=Bend.SMOOTH)
    ),
    "rhombic dodecahedron": _design(_solid("rhombic dodecahedron"), EdgeRotor(34.0, hand=-1)),
    "snub cube": _design(_solid("snub cube", 900.0), EdgeRotor(36.0)),
    "prism": _design(_solid("prism 5"), EdgeRotor(36.0)),
    "three rings": _design(_solid("cube"), Rings(40.0, 4)),
    "four rings": _design(_solid("cube"), Rings(40.0, 3)),
    "six rings": _design(_solid("icosahedron"), Rings(36.0)),
    "corner triads": _design(FrameChoice(1000.0, group="T"), CornerTriads(34.0)),
    "face rings": _design(_solid("cube"), FacePlates()),
    "face stars with tabs": _design(
        _solid("octahedron"), FacePlates(FaceShape.STAR, width=40.0, joint=JointKind.TENON)
    ),
    "drawn arches": _design(FrameChoice(600.0, group="T"), DrawnStrips(30.0, (_ARCH,))),
    "by hand": small_design(),
}


@dataclass(frozen=True, slots=True, eq=False)
class Staged:
    """What the stages of `core.pipeline.build` hand on."""

    design: Design
    frame: Frame
    sizes: Sizes
    form: Recipe
    group: Group
    motifs: list[Motif]
    orbits: Orbits
    classes: tuple[JointClass, ...]
    features: tuple[MotifFeatures, ...]
    joints: JointTable
    finished: list[Finished]

    def body_points(self, motif: int) -> Floats:
        """Return the corners (n, 3) of a motif's uncut body, world."""
        flat = np.asarray(self.motifs[motif].body.exterior.coords)[:-1]
        plane = self.motifs[motif].world_from_plane
        points: Floats = flat @ plane[:3, :2].T + plane[:3, 3]
        return points


def staged(design: Design) -> Staged:
    """Run a design through the stages from the frame to the outlines."""
    frame = frame_from_choice(design.frame, design.folder)
    sizes = sizes_of(design)
    form = explicit_form(design, frame, sizes)
    motifs = [motif_from_choice(choice, form.group) for choice in form.motifs]
    orbits = orbits_of(motifs, form.group)
    classes = joint_classes(form.joint_classes, motifs, form.group, sizes)
    features = motif_features(classes, motifs, form.group)
    joints = joint_table(classes, motifs, orbits, form.group)
    finished = [
        finished_outline(motif, found, classes, sizes)
        for motif, found in zip(motifs, features, strict=True)
    ]
    return Staged(
        design, frame, sizes, form, form.group, motifs, orbits, classes, features, joints, finished
    )


@lru_cache(maxsize=32)
def staged_by_name(name: str) -> Staged:
    """Return one of `DESIGNS`, run through the stages once."""
    return staged(DESIGNS[name])


def explicit(design: Design) -> Design:
    """Return the design without its recipe: its motifs and joint classes written out."""
    stage = staged(design)
    frame = design.frame
    if stage.group is not stage.frame.group:  # the recipe gives up the frame's symmetry
        frame = FrameChoice(frame.diameter, group=stage.group.name)
    return replace(
        design,
        frame=frame,
        recipe=None,
        motifs=stage.form.motifs,
        joint_classes=stage.form.joint_classes,
    )


def written_out(design: Design, turn: Floats | None = None) -> Design:
    """Return the same sculpture without symmetry: a motif for each plate, a class for each joint.

    turn : (3, 3) rotation of the whole
    """
    stage = staged(design)
    rotation = np.eye(3) if turn is None else turn
    motifs = []
    for plate, (m, transform) in enumerate(
        zip(stage.orbits.motif.tolist(), stage.orbits.transforms, strict=True)
    ):
        x_axis, _, normal = (rotation @ transform[:3, :3]).T.tolist()
        motifs.append(
            replace(
                stage.form.motifs[m],
                name=f"p{plate}",
                normal=tuple(normal),
                x_axis=tuple(x_axis),
            )
        )
    classes = []
    joints = stage.joints
    for k in range(len(joints)):
        joint_class = stage.classes[joints.joint_class[k]]
        choice = stage.form.joint_classes[joints.joint_class[k]]
        normals = [stage.orbits.transforms[p][:3, 2] for p in (joints.first[k], joints.second[k])]
        # The line of the seed may run the other way than that of the two plates as motifs: their
        # normals are those of the least elements, not of the ones that made the joint.
        sense = 1 if np.cross(*normals) @ joints.line[k] > 0 else -1
        tab = float(np.cross(np.cross(*normals), normals[0]) @ joints.insertion[k])
        lap = float(np.cross(*normals) @ joints.insertion[k])
        at = choice.at if joint_class.tenon is not None else _lap_place(joint_class)
        outward = 1 if (tab if joint_class.tenon is not None else lap) > 0 else -1
        classes.append(
            JointClassChoice(
                f"j{k}",
                (f"p{joints.first[k]}", f"p{joints.second[k]}"),
                JointKind.TENON if joint_class.tenon is not None else JointKind.CROSS_LAP,
                sense * at,
                Turn(),
                outward,
                choice.split,
                choice.tab_width,
            )
        )
    return replace(
        design,
        frame=FrameChoice(design.frame.diameter, group="C1"),
        recipe=None,
        motifs=tuple(motifs),
        joint_classes=tuple(classes),
    )


def _lap_place(joint_class: JointClass) -> float:
    """Return the place of a cross-lap's middle on its line, mm from its nearest point."""
    return float(joint_class.centre @ joint_class.line)
