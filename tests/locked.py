# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""One strip whose tab goes through a board, locked in any way: the least design with hardware."""

from __future__ import annotations

from pinwright.core.design.model import (
    Design,
    FrameChoice,
    JointClassChoice,
    JointKind,
    Lock,
    MotifChoice,
    Sheet,
)
from tests.crossings import Crossing

__all__ = ["crossing_design"]


def crossing_design(angle: float, lock: Lock, *more: MotifChoice) -> Design:
    """Return a strip whose tab goes through a board and is locked; its line is the world's z."""
    crossing = Crossing.of(angle, 3)
    board = [(-90.0, -60.0), (90.0, -60.0), (90.0, 60.0), (-90.0, 60.0)]
    return Design(
        name="locked",
        sheet=Sheet(3.0),
        frame=FrameChoice(400.0, group="C1"),
        motifs=(
            crossing.motif(0, "strip", [(-200.0, 0.0), (0.0, 0.0)], width=70.0),
            crossing.motif(1, "board", board),
            *more,
        ),
        joint_classes=(JointClassChoice("one", ("strip", "board"), JointKind.TENON, lock=lock),),
    )
