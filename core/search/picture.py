# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Small pictures of a sculpture, in numpy alone: which sample of which plate each pixel sees.

The nearest sample of the plates wins each fine pixel, so plates that weave through one another are
drawn right. How it is lit is the matter of core/search/light.py. Light is added up linearly, and
fine pixels are averaged before the picture's own curve is laid on: so edges are smooth.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from .light import GROUND, Camera, Seen, lit_colours, smaller, srgb
from .samples import Cloud, Samples, sampled
from .shape import view_axes

__all__ = ["best_view", "paint"]

Floats = npt.NDArray[np.float32]
Ints = npt.NDArray[np.int32]
Pixels = npt.NDArray[np.uint8]

_FINER = 2  # fine pixels on a pixel's side
_EYE = 4.2  # distance of the eye from the centre, radii
_FILL = 0.965  # the ball's share of the picture's half side
_TIGHT = 0.69  # samples, in pixels: a grid finer than 1/sqrt(2) leaves no pixel out at any turn
_BANDS = (0.55, 0.1, -0.4, -9.0)  # plates that reach no nearer need no finer samples, radii
_OFF = 5.0  # deg from an axis: its pattern is seen, and the picture is not flat
_CELLS = (4, 8)  # rings and sectors of the disc in which evenness is judged


@dataclass(frozen=True, slots=True, eq=False)
class _Block:
    """Samples of some plates of one motif.

    points : (K, 3, n), camera; basis : (K, 3, 3) camera from plane, third column to the eye
    rim : samples from this number on lie on the outline
    out : (n, 2) of the cut edge, in the plane; None for the face
    """

    motif: int
    points: Floats
    basis: Floats
    rim: int
    out: Floats | None


def paint(cloud: Cloud, view: npt.ArrayLike, size: int = 320) -> Pixels:
    """Return a picture (size, size, 3), sRGB, seen from the direction `view` (3,)."""
    fine = size * _FINER
    # The outline of the unit ball seen from _EYE is a little larger than its equator.
    scale = fine / 2 * _FILL * np.sqrt(1 - 1 / _EYE**2)
    axes = np.array(view_axes(view), dtype=np.float32)
    camera = Camera(axes, fine, float(scale), _EYE)
    seen = _seen(_blocks(cloud, camera), camera)
    image = np.broadcast_to(GROUND, (fine * fine, 3)).copy()
    image[seen.hit] = lit_colours(cloud, seen, camera)
    small = srgb(smaller(image.reshape(fine, fine, 3)))
    return np.asarray((small * 255).round(), dtype=np.uint8)


def best_view(cloud: Cloud) -> npt.NDArray[np.float64]:
    """Return the direction (3,) of the most even view of a few, each near an axis of the group.

    Evenness is that of core/search/rank.py for one view: 1 less the spread of the covered share
    over rings and sectors of the disc. An axis of more folds is preferred when two are near.
    """
    views = [_beside(axis) for axis in cloud.axes]
    if not views:
        return np.array([0.42, -0.86, 0.34])
    samples = sampled(cloud, 0.03)
    value = [_evenness(cloud, samples, view) - 0.04 * k for k, view in enumerate(views)]
    return views[int(np.argmax(value))]


def _beside(axis: Floats) -> npt.NDArray[np.float64]:
    """Return a direction that is `_OFF` off an axis, upwards and to the right."""
    right, up, eye = view_axes(axis)
    angle = np.radians(_OFF)
    way: npt.NDArray[np.float64] = np.cos(angle) * eye + np.sin(angle) * (0.6 * right + 0.8 * up)
    return way


def _evenness(cloud: Cloud, samples: tuple[Samples, ...], view: npt.NDArray[np.float64]) -> float:
    right, up, _ = view_axes(view)
    flat = np.stack([right, up]).astype(np.float32)
    rings, sectors = _CELLS
    size = 40
    covered = np.zeros(size * size, dtype=bool)
    for turns, origins, sample in zip(cloud.turns, cloud.origins, samples, strict=True):
        points = (flat @ turns)[:, :, :2] @ sample.face.T + (origins @ flat.T)[:, :, None]
        place = ((points + 1) * (size / 2)).astype(np.int32).clip(0, size - 1)
        covered[place[:, 1] * size + place[:, 0]] = True
    grid = (np.arange(size) + 0.5) / size * 2 - 1
    x, y = np.meshgrid(grid, grid)
    ring = (np.hypot(x, y) ** 2 * rings).astype(int)
    sector = ((np.arctan2(y, x) / np.pi + 1) / 2 * sectors).astype(int).clip(0, sectors - 1)
    cell = np.where(ring < rings, ring * sectors + sector, rings * sectors).reshape(-1)
    room = np.bincount(cell, minlength=rings * sectors)[: rings * sectors]
    full = np.bincount(cell, covered, minlength=rings * sectors)[: rings * sectors] / room
    return float(1 - full.std() / max(full.mean(), 1e-9))


def _blocks(cloud: Cloud, camera: Camera) -> list[_Block]:
    """Carry the samples of all motifs to all plates, as fine as their nearness to the eye asks."""
    blocks = []
    placed = []
    for turns, origins, outline in zip(cloud.turns, cloud.origins, cloud.outlines, strict=True):
        basis = camera.axes @ turns
        places = origins @ camera.axes.T
        corners = np.asarray(outline.exterior.coords, dtype=np.float32)[::3]
        placed.append((basis, places, places[:, 2] + (basis[:, 2, :2] @ corners.T).max(axis=1)))
    above = 1.0
    for low in _BANDS:
        step = _TIGHT / camera.scale * (1 - above / camera.eye)
        chosen = [(nearest > low) & (nearest <= above + 1e-3) for _, _, nearest in placed]
        above = low
        if not any(mine.any() for mine in chosen):
            continue
        for m, sample in enumerate(sampled(cloud, step)):
            basis, places, _ = placed[m]
            mine = chosen[m]
            if mine.any():
                blocks += _plates(m, basis[mine], places[mine], sample, cloud, camera)
    return blocks


def _plates(
    motif: int, basis: Floats, places: Floats, sample: Samples, cloud: Cloud, camera: Camera
) -> list[_Block]:
    """Place faces and cut edges; of each plate only the side that is turned to the eye."""
    normals = basis[:, :, 2]
    to_eye = np.array([0, 0, camera.eye], dtype=np.float32) - places
    sign = np.where((normals * to_eye).sum(axis=1) > 0, 1, -1).astype(np.float32)
    basis = basis * np.stack([np.ones_like(sign), np.ones_like(sign), sign], axis=1)[:, None]
    normals = basis[:, :, 2]
    lifted = places + normals * np.float32(cloud.thickness / 2)
    face = basis[:, :, :2] @ sample.face.T + lifted[:, :, None]
    edge = basis @ sample.edge.T + places[:, :, None]
    return [
        _Block(motif, face, basis, sample.rim, None),
        _Block(motif, edge, basis, 0, sample.out),
    ]


def _seen(blocks: list[_Block], camera: Camera) -> Seen:
    """Throw all samples on the picture; of those on one pixel the nearest stays."""
    depth = np.full(camera.size**2, -9, dtype=np.float32)
    thrown = [_pixels(block, camera) for block in blocks]
    for pixel, near, _ in thrown:
        np.maximum.at(depth, pixel, near)
    hits, points, normals, motifs, cuts = [], [], [], [], []
    for block, (pixel, near, numbers) in zip(blocks, thrown, strict=True):
        nearest = np.flatnonzero(near == depth[pixel])
        hits.append(pixel[nearest])
        if numbers is not None:
            nearest = numbers[nearest]
        plate, sample = np.divmod(nearest, block.points.shape[2])
        points.append(block.points[plate, :, sample])
        if block.out is None:
            normals.append(block.basis[plate, :, 2])
        else:
            normals.append((block.basis[plate, :, :2] @ block.out[sample, :, None])[:, :, 0])
        motifs.append(np.full(len(nearest), block.motif))
        cuts.append(sample >= block.rim)
    return Seen(
        np.concatenate(hits),
        np.ascontiguousarray(np.concatenate(points).T),
        np.ascontiguousarray(np.concatenate(normals).T),
        np.concatenate(motifs),
        np.concatenate(cuts),
    )


def _pixels(block: _Block, camera: Camera) -> tuple[Ints, Floats, Ints | None]:
    """Return pixels and depths of a block's samples, and their numbers where some are left out."""
    points, numbers = block.points, None
    if block.out is None:
        x, y, z = (points[:, i].reshape(-1) for i in range(3))
    else:
        # Of the cut edge only what is turned to the eye.
        out = block.basis[:, :, :2] @ block.out.T
        turned = out[:, 2] * np.float32(camera.eye) > (out * points).sum(axis=1)
        numbers = np.flatnonzero(turned)
        x, y, z = (points[:, i].reshape(-1)[numbers] for i in range(3))
    near = np.float32(camera.scale) / (1 - z / np.float32(camera.eye))
    middle = np.float32(camera.size / 2)
    row = (middle - y * near).astype(np.int32)
    return row * camera.size + (x * near + middle).astype(np.int32), z, numbers
