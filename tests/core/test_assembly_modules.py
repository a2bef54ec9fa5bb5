# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Modules: a partition by cosets, equal and carried onto each other by the group."""

from __future__ import annotations

from dataclasses import replace

import networkx as nx
import numpy as np
import numpy.typing as npt
import pytest

from pinwright.core.assembly.modules import module_of_plates, plate_name
from pinwright.core.design.model import Design, EdgeRotor, FrameChoice, ModuleChoice, Sheet
from pinwright.core.errors import DesignError
from pinwright.core.frame.frame import frame_from_mesh
from tests.built import build
from tests.stages import DESIGNS, Staged, staged, staged_by_name

Ints = npt.NDArray[np.intp]


def _modules(stage: Staged, about: str) -> Ints:
    return module_of_plates(
        ModuleChoice(about), stage.frame, stage.group, stage.motifs, stage.orbits, stage.joints
    )


def _image(stage: Staged, x: int) -> Ints:
    """Return the plate that element x makes of each plate."""
    orbits = stage.orbits
    return orbits.plate_of[orbits.motif, stage.group.product[x, orbits.element]]


# Where every plate's stabiliser lies in a conjugate of the modules' group, the modules are alike:
# that group's order (a place on an n-fold axis: n) divides the plates among order / n modules.
@pytest.mark.parametrize(
    ("name", "about", "modules", "plates"),
    [
        ("two rotors", "vertices", 12, 5),
        ("two rotors", "faces", 20, 3),
        ("two rotors", "edges", 30, 2),
        ("two rotors", "axes 2", 30, 2),
        ("two rotors", "axes 3", 20, 3),
        ("two rotors", "axes 5", 12, 5),
        ("two rotors", "subgroup T", 5, 12),
        ("two rotors", "subgroup D5", 6, 10),
        ("two rotors", "subgroup C5", 12, 5),
        ("rotor and laps", "vertices", 4, 3),
        ("dodecahedron", "edges", 30, 1),
        ("truncated tetrahedron", "edges", 6, 3),
        ("snub cube", "edges", 12, 5),
        ("rhombic dodecahedron", "vertices", 6, 4),
        ("snub cube", "vertices", 24, 0),
        ("two rotors", "none", 1, 60),
        ("six rings", "faces", 1, 6),
        ("by hand", "none", 1, 5),
    ],
)
def test_modules_are_a_partition_into_like_parts(
    name: str, about: str, modules: int, plates: int
) -> None:
    stage = staged_by_name(name)
    module = _modules(stage, about)
    counts = np.bincount(module)
    assert len(counts) == modules
    assert counts.min() > 0
    if plates == 0:  # plates that lie between modules are dealt out
        assert counts.max() - counts.min() <= 1
        return
    assert counts.tolist() == [plates] * modules
    for x in range(stage.group.order):
        carried = module[_image(stage, x)]
        # The images of one module's plates are in one module, and of different ones in different.
        assert len(np.unique(np.column_stack([module, carried]), axis=0)) == modules


@pytest.mark.parametrize("about", ["vertices", "faces"])
def test_plates_between_modules_are_dealt_out_evenly(about: str) -> None:
    stage = staged_by_name("dodecahedron")
    module = _modules(stage, about)
    counts = np.bincount(module)
    assert len(counts) == {"vertices": 20, "faces": 12}[about]
    assert counts.max() - counts.min() <= 1
    # Each strip is with one of the two places that it lies between.
    places = {"vertices": stage.frame.vertices, "faces": stage.frame.face_centres}[about]
    middles = stage.frame.vertices[stage.frame.edges].mean(axis=1)
    assert sorted(set(module.tolist())) == list(range(len(places)))
    assert len(middles) == len(module)


def test_modules_gather_round_the_places_with_most_joints() -> None:
    stage = staged_by_name("two rotors")
    module = _modules(stage, "faces")
    inside = module[stage.joints.first] == module[stage.joints.second]
    # Every strip is in two three-fold rotors; one of the two makes its module, the whole triad.
    assert inside.sum() == 60
    for m in range(20):
        plates = np.flatnonzero(module == m)
        held = inside & np.isin(stage.joints.first, plates)
        assert held.sum() == 3


def test_a_group_without_turns_makes_one_module() -> None:
    stage = staged_by_name("three rings")
    assert _modules(stage, "vertices").tolist() == [0, 0, 0]


def test_module_numbers_have_no_gaps_when_plates_are_few() -> None:
    # Six plates on the coordinate axes of O, each kept by four turns: 24 cosets of one element.
    design = Design(
        "few",
        Sheet(3.0),
        FrameChoice(300.0, solid="cube"),
        motifs=(replace(DESIGNS["by hand"].motifs[2], offset=90.0, outline=SQUARE),),
        modules=ModuleChoice("axes 2", 0.5),
    )
    result = build(design)
    assert len(result.plates) == 6
    assert all(module.plates for module in result.modules)
    assert np.isfinite([module.explode for module in result.modules]).all()


SQUARE = ((-30.0, -30.0), (30.0, -30.0), (30.0, 30.0), (-30.0, 30.0))


@pytest.mark.parametrize(
    ("frame", "about", "said"),
    [
        (
            "dodecahedron",
            "axes 4",
            r"modules\.about: found 'axes 4', allowed is axes of fold 2, 3, 5",
        ),
        ("dodecahedron", "corners", r"modules\.about: found 'corners', allowed is 'vertices'"),
        ("dodecahedron", "axes", r"modules\.about: found 'axes'"),
    ],
)
def test_modules_about_what_there_is_not_are_refused(frame: str, about: str, said: str) -> None:
    design = Design(
        "x",
        Sheet(3.0),
        FrameChoice(600.0, solid=frame),
        EdgeRotor(36.0),
        modules=ModuleChoice(about),
    )
    with pytest.raises(DesignError, match=said):
        _modules(staged(design), about)


def test_a_bare_group_has_axes_only() -> None:
    stage = staged(replace(DESIGNS["rotor and laps"], frame=FrameChoice(600.0, group="T")))
    with pytest.raises(DesignError, match=r"found 'faces'.*for a frame without vertices"):
        _modules(stage, "faces")
    assert np.bincount(_modules(stage, "axes 3")).tolist() == [3] * 4


def _names(stage: Staged) -> list[str]:
    """Return the name by which a list calls each plate."""
    seen: dict[int, int] = {}
    names = [""] * len(stage.orbits.motif)
    for plate in np.lexsort((stage.orbits.element, stage.orbits.motif)).tolist():
        motif = int(stage.orbits.motif[plate])
        seen[motif] = seen.get(motif, 0) + 1
        names[plate] = plate_name(stage.motifs[motif].name, seen[motif])
    return names


def _chosen(stage: Staged, **choice: object) -> Ints:
    module: Ints = module_of_plates(
        ModuleChoice(**choice), stage.frame, stage.group, stage.motifs, stage.orbits, stage.joints
    )
    return module


def test_plates_are_gathered_as_listed() -> None:
    stage = staged_by_name("by hand")
    first, second = (motif.name for motif in stage.motifs[:2])
    module = _chosen(stage, about="listed", listed=((second,), (first,)))
    named = {stage.motifs[m].name: set(module[stage.orbits.motif == m]) for m in (0, 1)}
    assert named == {second: {0}, first: {1}}
    rest = ~np.isin(stage.orbits.motif, [0, 1])
    assert set(module[rest].tolist()) == {2}


def test_single_plates_of_a_motif_can_be_listed() -> None:
    stage = staged_by_name("two rotors")
    names = _names(stage)
    upper = [name for name, z in zip(names, stage.orbits.transforms[:, 2, 3], strict=True) if z > 0]
    module = _chosen(stage, about="listed", listed=(tuple(upper),))
    assert (module == 0).tolist() == (stage.orbits.transforms[:, 2, 3] > 0).tolist()


@pytest.mark.parametrize(
    ("listed", "said"),
    [
        ((("tri",),), r"modules\.listed\[1\]\[1\]: found 'tri', allowed is a motif's name"),
        ((("{}/61",),), r"modules\.listed\[1\]\[1\]: found '.*/61', allowed is .*/1 to .*/60"),
        ((("{}/2",), ("{}",)), r"modules\.listed\[2\]\[1\].*no other list has.*List 1"),
    ],
)
def test_lists_that_name_no_plates_or_name_them_twice_are_refused(
    listed: tuple[tuple[str, ...], ...], said: str
) -> None:
    stage = staged_by_name("two rotors")
    filled = tuple(tuple(n.format(stage.motifs[0].name) for n in names) for names in listed)
    with pytest.raises(DesignError, match=said):
        _chosen(stage, about="listed", listed=filled)


def test_a_frame_without_symmetry_is_cut_into_whole_modules() -> None:
    design = Design(
        "wedge",
        Sheet(3.0),
        FrameChoice(600.0, mesh="wedge.obj"),
        EdgeRotor(30.0),
        modules=ModuleChoice("joints", count=3),
    )
    frame = frame_from_mesh("wedge", CORNERS, SIDES, diameter=600.0)
    assert frame.group.order == 1
    result = build(design, frame=frame)
    assert len(result.modules) == 3
    for module in result.modules:  # networkx judges whether each hangs together
        graph = nx.Graph([result.joints[j].plates for j in module.joints])
        assert set(graph) == set(module.plates)
        assert nx.is_connected(graph)
    heavy = build(replace(design, modules=ModuleChoice("joints", heaviest=0.3)), frame=frame)
    masses = [sum(heavy.parts[heavy.plates[p].part].mass for p in m.plates) for m in heavy.modules]
    assert len(masses) > 1
    assert max(masses) <= 0.3
    for limit, said in (
        ({"heaviest": 0.001}, r"modules\.heaviest: found 0\.001, allowed is at least"),
        ({"largest": 20.0}, r"modules\.largest: found 20\.0, allowed is at least"),
        ({"count": 99}, r"modules\.count: found 99, allowed is at most 12"),
    ):
        with pytest.raises(DesignError, match=said):
            build(replace(design, modules=ModuleChoice("joints", **limit)), frame=frame)


# A box drawn out of square: planar sides (it is an affine image of a frustum), no symmetry.
_FRUSTUM = [(x * s, y * s, z) for z, s in ((-1, 1.0), (1, 0.7)) for y in (-1, 1) for x in (-1, 1)]
CORNERS = np.array(_FRUSTUM) @ [[1.0, 0.12, 0.05], [0.0, 1.15, 0.1], [0.2, -0.1, 1.3]]
SIDES = ((0, 2, 3, 1), (4, 5, 7, 6), (0, 1, 5, 4), (2, 6, 7, 3), (0, 4, 6, 2), (1, 3, 7, 5))
