# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""What every recipe returns."""

from __future__ import annotations

from dataclasses import dataclass

from ...design.model import JointClassChoice, MotifChoice
from ...frame.group import Group

__all__ = ["Recipe"]


@dataclass(frozen=True, slots=True)
class Recipe:
    """Motifs, the joint classes between them, and the group that carries them round."""

    motifs: tuple[MotifChoice, ...]
    joint_classes: tuple[JointClassChoice, ...]
    group: Group
