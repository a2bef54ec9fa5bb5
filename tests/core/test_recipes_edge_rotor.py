# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Edge rotors: two tabs and two slots on each strip, one hand at all vertices, mirror images."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt
import pytest
from scipy.spatial import cKDTree
from shapely.affinity import scale

from pinwright.core.design.model import Design, EdgeRotor, FrameChoice, Sheet
from pinwright.core.errors import DesignError
from pinwright.core.fit.sizes import Sizes
from pinwright.core.frame.frame import Frame, frame_from_mesh, frame_from_solid
from pinwright.core.outlines.parts import part_shapes
from pinwright.core.pipeline import sizes_of
from pinwright.core.plates.recipes.edge_rotor import edge_rotor
from pinwright.core.plates.recipes.rotors import Rotors
from tests.built import build
from tests.stages import DESIGNS, Staged, staged, staged_by_name

Floats = npt.NDArray[np.float64]

ROTORS = [name for name, design in DESIGNS.items() if isinstance(design.recipe, EdgeRotor)]
SHEET = Sheet(3.0)


@pytest.fixture(params=ROTORS)
def stage(request: pytest.FixtureRequest) -> Staged:
    return staged_by_name(request.param)


def _sizes(recipe: EdgeRotor) -> Sizes:
    return sizes_of(Design("x", SHEET, FrameChoice(600.0, solid="cube"), recipe))


def _edge_of_plates(stage: Staged) -> list[int]:
    """Return the edge that each plate stands on: the one nearest to its middle."""
    frame = stage.frame
    middles = frame.vertices[frame.edges].mean(axis=1)
    centroids = []
    for m, transform in zip(stage.orbits.motif, stage.orbits.transforms, strict=True):
        x, y = stage.motifs[m].body.centroid.coords[0]
        centroids.append((transform @ (x, y, 0.0, 1.0))[:3])
    _, edge = cKDTree(middles).query(centroids)
    return [int(n) for n in edge]


def test_there_is_a_strip_for_each_edge_and_a_joint_for_each_end(stage: Staged) -> None:
    edges = _edge_of_plates(stage)
    assert sorted(edges) == list(range(len(stage.frame.edges)))
    assert len(stage.joints) == 2 * len(edges)
    orbits = {tuple(sorted(set(_images(stage.frame, n)))) for n in range(len(edges))}
    assert len(stage.motifs) == len(orbits)


def _images(frame: Frame, n: int) -> list[int]:
    """Return the edges that the group makes of one."""
    i, j = frame.edges[n]
    number = {tuple(edge): k for k, edge in enumerate(frame.edges.tolist())}
    return [
        number[tuple(sorted((int(a), int(b))))]  # type: ignore[index]
        for a, b in zip(frame.vertex_images[:, i], frame.vertex_images[:, j], strict=True)
    ]


def test_every_strip_has_two_tabs_and_two_slots(stage: Staged) -> None:
    for features in stage.features:
        assert len(features.tabs) == 2
        assert len(features.slots) == 2
        assert not features.laps
    plates = len(stage.orbits.motif)
    assert np.bincount(stage.joints.first, minlength=plates).tolist() == [2] * plates
    assert np.bincount(stage.joints.second, minlength=plates).tolist() == [2] * plates


def test_round_every_vertex_the_tabs_go_one_way(stage: Staged) -> None:
    frame, edges = stage.frame, _edge_of_plates(stage)
    recipe = stage.design.recipe
    assert isinstance(recipe, EdgeRotor)
    met = np.zeros(len(frame.vertices), dtype=int)
    for a, b, centre in zip(
        stage.joints.first, stage.joints.second, stage.joints.centre, strict=True
    ):
        (v,) = set(frame.edges[edges[a]].tolist()) & set(frame.edges[edges[b]].tolist())
        met[v] += 1
        around = list(frame.vertex_neighbours[v])  # anticlockwise from outside
        ends = [next(w for w in frame.edges[edges[p]].tolist() if w != v) for p in (a, b)]
        step = (around.index(ends[1]) - around.index(ends[0])) % len(around)
        assert step == recipe.hand % len(around)
        assert np.linalg.norm(centre - frame.vertices[v]) < frame.edge_lengths[edges[a]] / 2
    assert met.tolist() == [len(around) for around in frame.vertex_neighbours]


@pytest.mark.parametrize("solid", ["dodecahedron", "truncated tetrahedron", "prism 5"])
def test_the_other_hand_is_the_mirror_image(solid: str) -> None:
    # These frames have mirror planes through the centre: one of them is found here.
    frame = frame_from_solid(solid, 600.0)
    mirror = _mirror(frame)
    recipe = EdgeRotor(30.0)
    design = Design("hands", SHEET, FrameChoice(600.0, solid=solid), recipe)
    right, left = staged(design), staged(replace(design, recipe=replace(recipe, hand=-1)))
    gaps, _ = cKDTree(_corners(left)).query(_corners(right) @ mirror.T)
    assert gaps.max() < 1e-6
    outlines = [one.outline for one in (*right.finished, *left.finished)]
    shapes = part_shapes(outlines)
    half = len(right.finished)
    assert len(shapes.outlines) == half
    assert sorted(shapes.part[:half].tolist()) == sorted(shapes.part[half:].tolist())
    # Turned over, the plates of the one hand are those of the other; some are their own mirror
    # images, the others are cut apart from good-faced sheet.
    chiral = sum(
        len(part_shapes([outline, scale(outline, -1.0, 1.0)], one_sided=True).outlines) - 1
        for outline in outlines[:half]
    )
    assert len(part_shapes(outlines, one_sided=True).outlines) == half + chiral


def _mirror(frame: Frame) -> Floats:
    """Return a reflection (3, 3) in a plane through the centre that carries the vertices along."""
    tree = cKDTree(frame.vertices)
    for i in range(len(frame.vertices)):
        across = frame.vertices[i] - frame.vertices[0]
        length = float(np.linalg.norm(across))
        if length > 1e-6:
            unit = across / length
            mirror: Floats = np.eye(3) - 2 * np.outer(unit, unit)
            if tree.query(frame.vertices @ mirror)[0].max() < 1e-6:
                return mirror
    raise AssertionError("no mirror plane")


def _corners(stage: Staged) -> Floats:
    """Return the corners (n, 3) of all finished plates in the world."""
    found = []
    for m, transform in zip(stage.orbits.motif, stage.orbits.transforms, strict=True):
        flat = np.asarray(stage.finished[m].outline.exterior.coords)
        found.append(flat @ transform[:3, :2].T + transform[:3, 3])
    return np.concatenate(found)


def test_the_two_hands_build_alike() -> None:
    design = DESIGNS["dodecahedron"]
    assert isinstance(design.recipe, EdgeRotor)
    one = build(design)
    two = build(replace(design, recipe=replace(design.recipe, hand=-1)))
    assert one.ok
    assert two.ok
    for a, b in zip(one.checks, two.checks, strict=True):
        assert a.figure == pytest.approx(b.figure, abs=1e-6)
    assert two.totals.mass == pytest.approx(one.totals.mass)


def test_strips_at_a_vertex_touch_one_small_circle() -> None:
    frame = frame_from_solid("icosidodecahedron", 600.0)
    recipe = EdgeRotor(30.0)
    rotors = Rotors.of(frame, recipe, _sizes(recipe))
    for v, around in enumerate(frame.vertex_neighbours):
        normal = frame.vertex_normals[v]
        asides = []
        for w in around:
            n = rotors.edge(v, int(w))
            plane = rotors.normals[n]
            # Distance of the plane from the vertex, measured square to the vertex's normal.
            off = float(plane @ frame.vertices[v] - rotors.offsets[n])
            asides.append(abs(off) / float(np.linalg.norm(np.cross(plane, normal))))
        assert asides == pytest.approx([asides[0]] * len(asides), rel=1e-2)


@pytest.mark.parametrize("engagement", [12.0, 25.0])
def test_a_chosen_engagement_is_kept(engagement: float) -> None:
    design = Design(
        "engaged", SHEET, FrameChoice(600.0, solid="dodecahedron"), EdgeRotor(36.0, engagement)
    )
    stage = staged(design)
    (features,) = stage.features
    for tab in features.tabs:
        shoulder = stage.classes[tab.joint].tenon
        assert shoulder is not None
        back = [float((tab.place - slot.place) @ tab.out) for slot in features.slots]
        assert min(back) - shoulder.shoulder == pytest.approx(engagement, rel=2e-3)


def test_a_wider_engagement_moves_strips_farther_aside() -> None:
    frame = frame_from_solid("cube", 600.0)
    shifts = []
    for engagement in (None, 15.0, 30.0):
        recipe = EdgeRotor(30.0, engagement)
        rotors = Rotors.of(frame, recipe, _sizes(recipe))
        joint = rotors.joint(0, int(frame.vertex_neighbours[0][0]))
        shifts.append(float(np.linalg.norm(joint.place - frame.vertices[0])))
    assert shifts == sorted(shifts)
    assert shifts[2] > 1.5 * shifts[1]


def test_a_bare_group_has_no_edges() -> None:
    with pytest.raises(DesignError, match=r"frame\.group: found 'I'.*edge rotors need edges"):
        build(Design("bare", SHEET, FrameChoice(600.0, group="I"), EdgeRotor(30.0)))


def _bipyramid(sides: int, height: float) -> Frame:
    angle = 2 * np.pi * np.arange(sides) / sides
    ring = np.column_stack([np.cos(angle), np.sin(angle), np.zeros(sides)])
    vertices = np.concatenate([ring, [[0, 0, height], [0, 0, -height]]])
    faces = []
    for k in range(sides):
        after = (k + 1) % sides
        faces += [(k, after, sides), (after, k, sides + 1)]
    return frame_from_mesh("bipyramid", vertices, tuple(faces), 600.0)


def test_edges_that_crowd_at_a_vertex_are_refused() -> None:
    frame = _bipyramid(16, 1.0)
    recipe = EdgeRotor(20.0)
    # Seen along the axis the 16 edges of an apex stand 360 / 16 = 22.5 degrees apart.
    with pytest.raises(
        DesignError, match=r"frame\.vertices\[17\]: found 'neighbouring edges 22\.5"
    ):
        edge_rotor(frame, recipe, _sizes(recipe))
