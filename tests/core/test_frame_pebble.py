# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The pebble of the examples: without symmetry, even enough to be built, and made by its script."""

from __future__ import annotations

import runpy
from pathlib import Path

import numpy as np

from pinwright.core.frame.detect import mirror_symmetric
from pinwright.core.frame.frame import frame_from_file

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
PEBBLE = EXAMPLES / "meshes" / "river-pebble.obj"


def test_the_pebble_is_even_and_has_no_symmetry() -> None:
    frame = frame_from_file(PEBBLE)
    assert (len(frame.vertices), len(frame.edges), len(frame.faces)) == (116, 174, 60)
    assert {len(ring) for ring in frame.vertex_neighbours} == {3}
    assert frame.group.name == "C1"
    assert not mirror_symmetric(frame)
    assert frame.edge_lengths.min() > 0.35 * frame.edge_lengths.mean()
    for face, normal in zip(frame.faces, frame.face_normals, strict=True):
        ring = frame.vertices[list(face)]
        assert np.ptp(ring @ normal) < 1e-4  # flat
        ahead, behind = np.roll(ring, -1, axis=0) - ring, np.roll(ring, 1, axis=0) - ring
        sines = np.cross(ahead, behind) @ normal
        angles = np.degrees(np.arctan2(sines, np.einsum("ij,ij->i", ahead, behind)))
        assert angles.min() > 75.0
        assert angles.max() < 150.0


def test_the_script_makes_the_same_pebble() -> None:
    corners, faces = runpy.run_path(str(EXAMPLES / "make_pebble.py"))["pebble"]()
    frame = frame_from_file(PEBBLE)
    assert {len(face) for face in faces} == {len(face) for face in frame.faces}
    shift = corners.mean(axis=0) - frame.vertices.mean(axis=0)
    gaps = np.linalg.norm((corners - shift)[:, None] - frame.vertices[None], axis=2)
    assert gaps.min(axis=1).max() < 1e-3
