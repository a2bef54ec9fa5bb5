# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Small shaded pictures of a sculpture, in numpy alone.

The nearest sample of the plates wins each fine pixel, so plates that weave through one another are
drawn right. What reads as over and under comes from four things: a cast shadow, the dimmer light
near what stands in front (depths of neighbouring pixels compared), colours that fade with the
depth, and the bright cut edge. Light is added up linearly, and fine pixels are averaged before the
picture's own curve is laid on, so edges are smooth.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from .samples import Cloud, Samples, sampled
from .shape import view_axes

__all__ = ["PAPER", "paint"]

Floats = npt.NDArray[np.float32]
Ints = npt.NDArray[np.int64]
Pixels = npt.NDArray[np.uint8]

#: The ground that pictures and sheet stand on, sRGB.
PAPER = (243, 240, 234)

_FINER = 2  # fine pixels on a pixel's side
_EYE = 4.2  # distance of the eye from the centre, radii
_FILL = 0.965  # the ball's share of the picture's half side
_LIGHT = (-0.45, 0.70, 0.75)  # towards the light: right, up, to the eye
# Faces of the first, second and third motif, linear light, for each finish of a sheet.
_TONES = {
    "metal": ((0.17, 0.27, 0.35), (0.62, 0.30, 0.13), (0.62, 0.50, 0.26)),
    "wood": ((0.68, 0.45, 0.24), (0.33, 0.16, 0.08), (0.72, 0.60, 0.42)),
    "card": ((0.72, 0.66, 0.54), (0.46, 0.22, 0.14), (0.20, 0.30, 0.32)),
    "clear": ((0.45, 0.66, 0.70), (0.70, 0.48, 0.30), (0.36, 0.42, 0.62)),
}


@dataclass(frozen=True, slots=True, eq=False)
class _Camera:
    """A view: `axes` (3, 3) rows right, up, to the eye; a picture of `size` pixels; distance."""

    axes: Floats
    size: int
    scale: float
    eye: float


@dataclass(frozen=True, slots=True, eq=False)
class _Buffer:
    """What is seen in each pixel: `depth` (towards the eye, radii; -inf: nothing) and its owner.

    points : (3, h) of the hit pixels, camera; normals : (3, h); tone : (h,) motif
    cut : (h,) bool, the cut edge; hit : (h,) positions of the pixels
    """

    depth: Floats
    hit: Ints
    points: Floats
    normals: Floats
    tone: Ints
    cut: npt.NDArray[np.bool_]


def paint(cloud: Cloud, view: npt.ArrayLike, size: int = 320) -> Pixels:
    """Return a picture (size, size, 3), sRGB, seen from the direction `view` (3,)."""
    fine = size * _FINER
    camera = _Camera(
        np.array(view_axes(view), dtype=np.float32), fine, _scale(fine, _EYE), _EYE
    )
    step = 0.66 / camera.scale * (1 - 1 / _EYE)
    seen = _render(cloud, sampled(cloud, step), camera)
    lit = _lit(cloud, seen, camera)
    colours = _colours(cloud, seen, lit, camera)
    ground = np.asarray(_linear(np.array(PAPER) / 255), dtype=np.float32)
    image = np.broadcast_to(ground, (fine * fine, 3)).copy()
    image[seen.hit] = colours
    small = _smaller(image.reshape(fine, fine, 3))
    return np.asarray((_srgb(small) * 255).round(), dtype=np.uint8)


def _scale(size: int, eye: float) -> float:
    """Fine pixels to a radius at the centre, such that the ball's outline fills the picture."""
    return float(size / 2 * _FILL * np.sqrt(1 - 1 / eye**2))


def _render(cloud: Cloud, samples: tuple[Samples, ...], camera: _Camera) -> _Buffer:
    """Throw all samples on the picture; of those on one pixel the nearest stays."""
    blocks = []
    for m, (turns, origins, sample) in enumerate(
        zip(cloud.turns, cloud.origins, samples, strict=True)
    ):
        turns = camera.axes @ turns  # camera from plane
        origins = origins @ camera.axes.T
        # The side of each plate that is turned to the eye.
        normals = turns[:, :, 2]
        to_eye = np.array([0, 0, camera.eye], dtype=np.float32) - origins
        sign = np.where((normals * to_eye).sum(axis=1) > 0, 1, -1).astype(np.float32)
        lifted = origins + normals * (sign * cloud.thickness / 2)[:, None]
        face = turns[:, :, :2] @ sample.face.T + lifted[:, :, None]
        blocks.append((m, False, face, (normals * sign[:, None], None)))
        edge = turns @ sample.edge.T + origins[:, :, None]
        blocks.append((m, True, edge, (turns, sample.out)))
    keys = np.zeros(camera.size**2, dtype=np.int64)
    starts = np.cumsum([0, *(points.shape[0] * points.shape[2] for _, _, points, _ in blocks)])
    for start, (_, _, points, _) in zip(starts, blocks, strict=False):
        _throw(keys, points, int(start), camera)
    return _gathered(keys, starts, blocks, camera)


def _throw(keys: Ints, points: Floats, start: int, camera: _Camera) -> None:
    """Note on each pixel the nearest sample: its depth in the high bits, its number in the low."""
    near = camera.scale / (1 - points[:, 2] / camera.eye)
    middle = np.float32(camera.size / 2)
    column = (points[:, 0] * near + middle).astype(np.int32)
    row = (middle - points[:, 1] * near).astype(np.int32)
    pixel = (row * camera.size + column).reshape(-1)
    depth = ((points[:, 2] + 2).reshape(-1) * 2.0**20).astype(np.int64)
    key = (depth << 32) | np.arange(start, start + len(depth), dtype=np.int64)
    np.maximum.at(keys, pixel, key)


def _gathered(keys: Ints, starts: Ints, blocks: list, camera: _Camera) -> _Buffer:
    hit = np.flatnonzero(keys)
    number = keys[hit] & 0xFFFFFFFF
    points = np.zeros((3, len(hit)), dtype=np.float32)
    normals = np.zeros_like(points)
    tone = np.zeros(len(hit), dtype=np.int64)
    cut = np.zeros(len(hit), dtype=bool)
    for k, (m, edge, where, (basis, out)) in enumerate(blocks):
        mine = np.flatnonzero((number >= starts[k]) & (number < starts[k + 1]))
        plate, sample = np.divmod(number[mine] - starts[k], where.shape[2])
        points[:, mine] = where[plate, :, sample].T
        if edge:
            normals[:, mine] = np.einsum("nij,nj->in", basis[plate, :, :2], out[sample])
        else:
            normals[:, mine] = basis[plate].T
        tone[mine], cut[mine] = m, edge
    depth = np.full(camera.size**2, -9, dtype=np.float32)
    depth[hit] = points[2]
    return _Buffer(depth, hit, points, normals, tone, cut)


def _lit(cloud: Cloud, seen: _Buffer, camera: _Camera) -> Floats:
    """Return the share (h,) of the light that is not held off by other plates, 0 to 1."""
    size = camera.size // 3
    light = np.asarray(_LIGHT, dtype=np.float32)
    light /= np.linalg.norm(light)
    right, up, towards = (np.asarray(a, dtype=np.float32) for a in view_axes(light))
    axes = np.stack([right, up, towards])
    scale = np.float32(size / 2 * 0.98)
    step = 0.9 / float(scale)
    nearest = np.full(size * size, -9, dtype=np.float32)
    world = axes @ camera.axes
    for turns, origins, sample in zip(
        cloud.turns, cloud.origins, sampled(cloud, step), strict=True
    ):
        points = (world @ turns)[:, :, :2] @ sample.face.T + (origins @ world.T)[:, :, None]
        column = (points[:, 0] * scale + size / 2).astype(np.int32).clip(0, size - 1)
        row = (size / 2 - points[:, 1] * scale).astype(np.int32).clip(0, size - 1)
        np.maximum.at(nearest, (row * size + column).reshape(-1), points[:, 2].reshape(-1))
    here = axes @ seen.points
    x, y = here[0] * scale + size / 2, size / 2 - here[1] * scale
    held = np.zeros(len(x), dtype=np.float32)
    # A few looks round the place on the map make the shadow's rim soft.
    looks = [(0, 0), (0.7, 0.7), (-0.7, 0.7), (0.7, -0.7), (-0.7, -0.7), (1.4, 0), (-1.4, 0), (0, 1.4), (0, -1.4)]
    for dx, dy in looks:
        column = (x + dx).astype(np.int32).clip(0, size - 1)
        row = (y + dy).astype(np.int32).clip(0, size - 1)
        held += nearest[row * size + column] - here[2] > 0.022
    return 1 - held / len(looks)


def _shade_of_near(seen: _Buffer, camera: _Camera) -> Floats:
    """Return how much (h,) of the sky is hidden by what stands in front close by, 0 to 1."""
    size = camera.size
    depth = seen.depth.reshape(size, size)[::2, ::2]
    half = depth.shape[0]
    hidden = np.zeros_like(depth)
    reach = 14
    padded = np.pad(depth, reach, constant_values=-9)
    count = 0
    for ring in (3, 7, 13):
        for k in range(8):
            angle = 2 * np.pi * (k + ring / 10) / 8
            dx, dy = round(ring * np.cos(angle)), round(ring * np.sin(angle))
            other = padded[reach + dy : reach + dy + half, reach + dx : reach + dx + half]
            rise = other - depth
            span = np.float32(3 * ring / size * 2 + 0.05)
            part = np.clip((rise - 0.012) / span, 0, 1)
            part *= np.clip(1.6 - rise / (6 * span), 0, 1)
            hidden += part
            count += 1
    full = np.repeat(np.repeat(hidden / count, 2, axis=0), 2, axis=1)
    return np.asarray(full.reshape(-1)[seen.hit])


def _colours(cloud: Cloud, seen: _Buffer, lit: Floats, camera: _Camera) -> Floats:
    """Return the light (h, 3) that comes from the hit pixels, linear."""
    tones = np.array(_TONES[cloud.finish], dtype=np.float32)
    light = np.asarray(_LIGHT, dtype=np.float32)
    light /= np.linalg.norm(light)
    to_eye = np.array([[0], [0], [camera.eye]], dtype=np.float32) - seen.points
    to_eye /= np.linalg.norm(to_eye, axis=0)
    facing = np.where((seen.normals * to_eye).sum(axis=0) < 0, -1, 1).astype(np.float32)
    normals = seen.normals * facing
    lamp = light[:, None] * 3.2 - seen.points
    lamp /= np.linalg.norm(lamp, axis=0)
    direct = np.clip((normals * lamp).sum(axis=0), 0, 1) * lit
    half = lamp + to_eye
    half /= np.linalg.norm(half, axis=0)
    gloss = np.clip((normals * half).sum(axis=0), 0, 1) ** 18 * lit
    sky = 0.30 + 0.16 * normals[1] + 0.12 * normals[2]
    open_sky = 1 - 0.85 * _shade_of_near(seen, camera)
    tone = tones[seen.tone % len(tones)]
    tone = np.where(seen.cut[:, None], 0.35 + 0.65 * tone, tone)
    colour = tone * ((sky + 1.0 * direct) * open_sky)[:, None]
    colour += 0.22 * gloss[:, None]
    ground = _linear(np.array(PAPER) / 255)
    haze = np.clip((0.75 - seen.points[2]) / 1.9, 0, 1) ** 1.3 * 0.72
    colour = colour * (1 - haze)[:, None] + haze[:, None] * ground
    return np.asarray(colour, dtype=np.float32)


def _smaller(fine: Floats) -> Floats:
    """Average fine pixels, each a little into the pixels beside it (weights 1 3 3 1)."""
    padded = np.pad(fine, ((1, 1), (1, 1), (0, 0)), mode="edge")
    rows = (padded[0:-3:2] + 3 * padded[1:-2:2] + 3 * padded[2:-1:2] + padded[3::2]) / 8
    small: Floats = (
        rows[:, 0:-3:2] + 3 * rows[:, 1:-2:2] + 3 * rows[:, 2:-1:2] + rows[:, 3::2]
    ) / 8
    return small


def _linear(value: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """Return linear light of sRGB values (IEC 61966-2-1)."""
    return np.where(value <= 0.04045, value / 12.92, ((value + 0.055) / 1.055) ** 2.4)


def _srgb(light: Floats) -> Floats:
    """Return sRGB values of linear light (IEC 61966-2-1)."""
    light = np.clip(light, 0, 1)
    value: Floats = np.where(light <= 0.0031308, light * 12.92, 1.055 * light ** (1 / 2.4) - 0.055)
    return value
