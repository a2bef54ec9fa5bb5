# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Plates held together at random: joints and contacts without solids, for the laws of motions."""

from __future__ import annotations

import numpy as np
from hypothesis import strategies as st

from pinwright.core.assembly.blocking import Blocking

__all__ = ["tangles"]

WAYS = np.array(
    [
        *((1, 0, 0), (0, 1, 0), (0, 0, 1), (-1, 0, 0), (0, -1, 0), (0, 0, -1)),
        *((1, 1, 0), (0, 1, 1), (1, 0, -1), (1, 1, 1), (-1, 2, 1), (0, -1, 1)),
    ],
    dtype=float,
)
WAYS /= np.linalg.norm(WAYS, axis=1)[:, None]


@st.composite
def tangles(draw: st.DrawFn) -> Blocking:
    """Plates held by joints and contacts at random, along few directions so that they agree."""
    plates = draw(st.integers(2, 6))
    pair = st.lists(st.integers(0, plates - 1), min_size=2, max_size=2, unique=True)
    joints = draw(st.lists(st.tuples(pair, st.integers(0, 11)), min_size=1, max_size=9))
    contacts = draw(st.lists(st.tuples(pair, st.integers(0, 11)), max_size=4))
    ends = np.array([one for one, _ in joints], dtype=np.intp)
    touching = np.array([one for one, _ in contacts], dtype=np.intp).reshape(-1, 2)
    return Blocking(
        plates,
        ends[:, 0],
        ends[:, 1],
        WAYS[[way for _, way in joints]],
        touching,
        WAYS[[way for _, way in contacts]].reshape(-1, 3),
    )
