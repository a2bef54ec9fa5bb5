# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Cut-outs judged by shapely and manifold3d: sizes, webs to all else, the metal that is left."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import manifold3d
import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon

from pinwright.core.design.model import (
    Bend,
    CutOut,
    Design,
    EdgeRotor,
    FrameChoice,
    JointClassChoice,
    JointKind,
    MotifChoice,
    Sheet,
)
from pinwright.core.errors import DesignError
from pinwright.core.results import Build
from tests.built import build
from tests.crossings import assert_sound

WIDTH = 40.0


def _design(**said: Any) -> Design:
    """Return a bent strip with a tab in another that crosses below it; both may have cut-outs."""
    path = ((0.0, 0.0), (40.0, 0.0), (160.0, 60.0), (300.0, -40.0), (420.0, 0.0))
    one = MotifChoice(
        "one", (0, 0, 1), 0.0, (1, 0, 0), path=path, width=WIDTH, bend=Bend.SMOOTH, **said
    )
    two = MotifChoice(
        "two", (1, 0, 0), 0.0, (0, 1, 0), path=((-200.0, 0.0), (200.0, 0.0)), width=60.0
    )
    joint = JointClassChoice("in", ("one", "two"), JointKind.TENON)
    return Design("lit", Sheet(3.0), FrameChoice(500.0, group="C1"), None, (one, two), (joint,))


def _outline(built: Build) -> Polygon:
    part = next(p.part for p in built.plates if p.motif == "one")
    return built.parts[part].outline


def _cuts(outline: Polygon, least: float) -> list[Polygon]:
    """Return the holes that are wider than `least`: the pin's hole is not."""
    holes = [Polygon(ring) for ring in outline.interiors]
    return [hole for hole in holes if 2 * shapely.maximum_inscribed_circle(hole).length > least]


@settings(max_examples=6)
@given(
    size=st.floats(8.0, 26.0),
    web=st.floats(4.0, 7.0),
    kind=st.sampled_from([CutOut.ROUND, CutOut.SLOTTED]),
    length=st.floats(1.0, 4.0),
)
def test_webs_and_sizes(size: float, web: float, kind: CutOut, length: float) -> None:
    said = {"cut_length": size * length} if kind is CutOut.SLOTTED else {}
    built = build(_design(cut_out=kind, cut_size=size, cut_web=web, **said))
    assert built.ok
    outline = _outline(built)
    cuts = _cuts(outline, 0.9 * size)
    assert len(cuts) >= 2
    for cut in cuts:
        # As wide as asked for, by the largest circle in it; as long, by its area.
        circle = 2 * shapely.maximum_inscribed_circle(cut, tolerance=0.01).length
        assert circle == pytest.approx(size, abs=0.12)
        straight = size * length - size if kind is CutOut.SLOTTED else 0.0
        assert cut.area == pytest.approx(np.pi * size**2 / 4 + straight * size, rel=0.02)
    rings = [outline.exterior, *outline.interiors]
    for cut in cuts:
        others = [ring for ring in rings if not ring.equals(cut.exterior)]
        assert min(cut.distance(ring) for ring in others) >= web - 1e-6


@pytest.mark.parametrize("kind", [CutOut.ROUND, CutOut.SLOTTED])
def test_the_solid_is_lighter_by_the_holes(kind: CutOut) -> None:
    whole, light = build(_design()), build(_design(cut_out=kind))
    solids = []
    for built in (whole, light):
        outline = _outline(built)
        section = manifold3d.CrossSection(
            [np.asarray(r.coords)[:-1] for r in (outline.exterior, *outline.interiors)]
        )
        solids.append(manifold3d.Manifold.extrude(section, 3.0).volume())
    cuts = _cuts(_outline(light), 15.0)
    assert solids[0] - solids[1] == pytest.approx(3.0 * sum(c.area for c in cuts), rel=1e-9)
    # Density 2680 kg/m3 (core/design/materials.py names its source).
    lost = whole.totals.mass - light.totals.mass
    assert lost == pytest.approx((solids[0] - solids[1]) * 2680e-9, rel=1e-6)


def test_joints_keep_their_room() -> None:
    built = build(_design(cut_out=CutOut.ROUND))
    (joint,) = built.joints
    plate = next(p for p in built.plates if p.motif == "one")
    pose = plate.world_from_part
    spot = shapely.Point((pose[:3, :3].T @ (joint.centre - pose[:3, 3]))[:2])
    # Shoulder (3 mm behind the line) and web (3 mm) stay whole.
    assert min(cut.distance(spot) for cut in _cuts(_outline(built), 15.0)) > 4.5


def test_a_recipe_with_wide_ends_and_cut_outs_is_judged_sound() -> None:
    recipe = EdgeRotor(34.0, bend=Bend.ARC, end_width=42.0, cut_out=CutOut.ROUND, cut_web=7.0)
    built = build(Design("lit", Sheet(3.0), FrameChoice(700.0, solid="cube"), recipe))
    assert len(built.parts) == 1
    outline = built.parts[0].outline
    cuts = _cuts(outline, 18.0)
    assert len(cuts) >= 4
    # The strip is its own mirror image, end for end (parts lie along x): so are its holes.
    centres = np.array([cut.centroid.coords[0] for cut in cuts])
    turned = centres * (-1, 1) + (2 * outline.centroid.x, 0)
    assert np.abs(centres[:, None] - turned[None]).max(axis=2).min(axis=1).max() < 0.05
    assert_sound(built)


@pytest.mark.parametrize(
    ("said", "message"),
    [
        ({"cut_size": 33.0}, r"motifs\.one\.cut_size: found 33\.0.* from 3 to 20 mm"),
        ({"cut_web": 2.0}, r"motifs\.one\.cut_web: found 2\.0.* at least 3 mm"),
        ({"cut_out": CutOut.SLOTTED, "cut_size": 20.0, "cut_length": 15.0}, r"cut_length"),
        ({"cut_out": CutOut.SLOTTED, "cut_length": 500.0}, r"motifs\.one\.cut_out: .*free run"),
    ],
)
def test_what_does_not_fit_is_refused(said: dict[str, Any], message: str) -> None:
    with pytest.raises(DesignError, match=message):
        build(_design(**{"cut_out": CutOut.ROUND, **said}))


def test_a_recipe_is_named_where_its_cut_outs_do_not_fit() -> None:
    recipe = EdgeRotor(34.0, cut_out=CutOut.SLOTTED, cut_length=900.0)
    design = Design("x", Sheet(3.0), FrameChoice(700.0, solid="cube"), recipe)
    with pytest.raises(DesignError, match=r"^recipe\.cut_out: "):
        build(design)
    assert build(replace(design, recipe=replace(recipe, cut_length=None))).ok
