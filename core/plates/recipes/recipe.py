# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""What every recipe returns."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from typing import Any

from ...design.model import JointClassChoice, MotifChoice, StripStyle
from ...frame.group import Group

__all__ = ["Recipe", "styled"]


@dataclass(frozen=True, slots=True)
class Recipe:
    """Motifs, the joint classes between them, and the group that carries them round."""

    motifs: tuple[MotifChoice, ...]
    joint_classes: tuple[JointClassChoice, ...]
    group: Group


def styled(chosen: StripStyle) -> Mapping[str, Any]:
    """Return how a recipe's strips are shaped, as its motifs are to say it."""
    return {field.name: getattr(chosen, field.name) for field in fields(StripStyle)}
