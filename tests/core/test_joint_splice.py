# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Splices: strips end to end, their key in its socket, judged by manifold3d and by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.spatial.transform import Rotation
from shapely import Polygon

from pinwright.core.assembly.plan import planned
from pinwright.core.design.model import (
    Design,
    FrameChoice,
    JointClassChoice,
    JointKind,
    JointSizes,
    MotifChoice,
    Sheet,
    Turn,
)
from pinwright.core.errors import DesignError
from pinwright.core.fit.sizes import resolve_sizes
from pinwright.core.fit.splice import FLARE_DEG, splice_sizes
from tests.built import build
from tests.crossings import assert_sound


def _design(
    thickness: float, clearance: float, widths: tuple[float, float] = (40.0, 40.0), turn: int = 3
) -> Design:
    """Return two strips end to end in a plane anywhere, the second drawn in axes of its own."""
    axes = Rotation.random(random_state=turn).as_matrix()
    normal, x = axes[:, 2], axes[:, 0]
    y = axes[:, 1]
    one = MotifChoice(
        "one", tuple(normal), 30.0, tuple(x), path=((-150.0, 12.0), (10.0, 12.0)), width=widths[0]
    )
    # In axes turned over (normal against the first's): x' = y, y' = x.
    two = MotifChoice(
        "two", tuple(-normal), -30.0, tuple(y), path=((12.0, 10.0), (12.0, 150.0)), width=widths[1]
    )
    return Design(
        "spliced",
        Sheet(thickness, clearance=clearance),
        FrameChoice(400.0, group="C1"),
        motifs=(one, two),
        joint_classes=(JointClassChoice("long", ("one", "two"), JointKind.SPLICE),),
    )


@pytest.mark.parametrize("widths", [(40.0, 40.0), (30.0, 44.0), (60.0, 36.0)])
@pytest.mark.parametrize("thickness", [1.0, 3.0, 6.0])
def test_a_splice_is_judged_sound(thickness: float, widths: tuple[float, float]) -> None:
    if min(widths) < 4 * max(thickness, 2.0):
        widths = (2 * widths[0], 2 * widths[1])
    built = build(_design(thickness, 0.1, widths, int(thickness)))
    (joint,) = built.joints
    assert joint.angle == 0.0
    assert joint.lock is None
    # Flanks of 15 deg meet when the key has been drawn clearance / sin 15 (right triangle).
    assert joint.play == pytest.approx(0.1 / np.sin(np.radians(15.0)))
    assert_sound(built)


def test_without_clearance_it_fits_and_two_percent_bite() -> None:
    built = build(_design(3.0, 0.0))
    assert_sound(built)
    sizes = splice_sizes(
        resolve_sizes(JointSizes(), Sheet(3.0, clearance=0.0), None), (40, 40), "x"
    )
    socket = sizes.socket()
    # The socket 2 % narrower about its middle line than the key: in the plane, area by hand, two
    # slivers of 1 % of the key's half-widths each, over its length.
    narrow = Polygon([(0.98 * x, y) for x, y in socket.exterior.coords])
    key = sizes.key(0.0)
    assert key.difference(socket).area < 1e-9
    lost = key.difference(narrow).area
    assert lost == pytest.approx(0.02 * (sizes.neck + sizes.head) / 2 * sizes.length, rel=0.05)


def test_the_key_by_hand() -> None:
    sizes = splice_sizes(resolve_sizes(JointSizes(), Sheet(3.0), None), (48.0, 60.0), "x")
    assert sizes.neck == 12.0
    assert sizes.length == 16.0
    assert (sizes.head - sizes.neck) / 2 / sizes.length == pytest.approx(
        np.tan(np.radians(FLARE_DEG))
    )
    assert sizes.key(0.0).area == pytest.approx((sizes.neck + sizes.head) / 2 * 16.0)


def test_copies_round_an_axis_are_spliced_into_a_ring() -> None:
    # Four strips along the sides of a square, bent round its corners, each into the next.
    strip = MotifChoice(
        "side", (0.0, 0.0, 1.0), 0.0, (1.0, 0.0, 0.0),
        path=((100.0, 0.0), (100.0, 100.0), (0.0, 100.0)), width=40.0,
    )  # fmt: skip
    design = Design(
        "ring",
        Sheet(3.0),
        FrameChoice(400.0, group="C4"),
        motifs=(strip,),
        joint_classes=(
            JointClassChoice(
                "round", ("side", "side"), JointKind.SPLICE, turn=Turn((0.0, 0.0, 1.0), 90.0)
            ),
        ),
    )
    built = build(design)
    assert len(built.joints) == 4
    assert len(built.parts) == 1
    assert_sound(built)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"path": ((12.0, 10.5), (12.0, 150.0))}, r"ends 0\.500 mm apart"),
        ({"path": ((12.0, 10.0), (60.0, 150.0))}, "meet at an angle"),
        ({"offset": -31.0}, r"ends 1\.000 mm apart"),
        ({"width": 10.0}, r"strips at least 12\.0 mm wide"),
        ({"path": None, "width": None, "outline": ((0, 0), (9, 0), (9, 9))}, "strips with paths"),
    ],
)
def test_strips_that_cannot_be_spliced_are_refused(change: dict[str, object], said: str) -> None:
    design = _design(3.0, 0.1)
    other = replace(design.motifs[1], **change)
    with pytest.raises(DesignError, match=said):
        build(replace(design, motifs=(design.motifs[0], other)))


def test_a_splice_is_planned_like_every_joint() -> None:
    built = planned(build(_design(3.0, 0.1)))
    closing = [step for step in built.steps if step.close]
    assert [step.close for step in closing] == [(0,)]
    assert abs(closing[0].direction @ built.joints[0].insertion) == pytest.approx(1.0)
    assert "socket" in closing[0].say
