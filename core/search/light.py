# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""How a picture's pixels are lit, so that it can be seen which plate runs over and which under.

Four things say it: a soft shadow that plates cast on each other, dimmer light close behind what
stands in front (depths of neighbouring pixels compared, as in Luft, Colditz, Deussen, Image
enhancement by unsharp masking the depth buffer, ACM TOG 25, 2006, from memory), colours that fade
with the depth, and the bright cut edge of the sheet.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from .samples import Cloud, sampled
from .shape import view_axes

__all__ = ["GROUND", "PAPER", "Camera", "Seen", "linear", "lit_colours", "smaller", "srgb"]

Floats = npt.NDArray[np.float32]

#: The ground that pictures and sheet stand on, sRGB, 0 to 255.
PAPER = (243, 240, 234)

_LIGHT = np.array([-0.45, 0.70, 0.75], dtype=np.float32) / np.float32(1.1203)
_LAMP = 3.2  # distance of the light, radii
# Faces of the first, second and third motif, linear light, for each finish of a sheet.
_TONES = {
    "metal": ((0.17, 0.27, 0.35), (0.62, 0.30, 0.13), (0.62, 0.50, 0.26)),
    "wood": ((0.60, 0.37, 0.17), (0.24, 0.11, 0.05), (0.42, 0.44, 0.26)),
    "card": ((0.20, 0.30, 0.33), (0.60, 0.24, 0.15), (0.60, 0.50, 0.32)),
    "clear": ((0.20, 0.42, 0.50), (0.70, 0.42, 0.22), (0.36, 0.34, 0.58)),
}
_SHADOW_GAP = (
    0.022  # radii: what is nearer than this throws no shadow, or plates would on themselves
)
_SOFT = ((0, 0), (0.7, 0.7), (-0.7, 0.7), (0.7, -0.7), (-0.7, -0.7),
         (1.5, 0), (-1.5, 0), (0, 1.5), (0, -1.5))  # fmt: skip
_RINGS = ((3, 6), (7, 8), (13, 8))  # radius, in cells of two fine pixels, and looks on it


@dataclass(frozen=True, slots=True, eq=False)
class Camera:
    """A view: `axes` (3, 3), rows right, up, to the eye; its frame is called camera.

    size : fine pixels on a side; scale : fine pixels to a radius at the centre; eye : its distance
    """

    axes: Floats
    size: int
    scale: float
    eye: float


@dataclass(frozen=True, slots=True, eq=False)
class Seen:
    """The samples that are seen: positions of their pixels (h,), points and normals (3, h), camera.

    motif : (h,); cut : (h,) bool, a sample of the cut edge
    """

    hit: npt.NDArray[np.intp]
    points: Floats
    normals: Floats
    motif: npt.NDArray[np.intp]
    cut: npt.NDArray[np.bool_]


def linear(value: npt.ArrayLike) -> npt.NDArray[np.float64]:
    """Return the linear light of sRGB values, 0 to 1 (IEC 61966-2-1)."""
    v = np.asarray(value, dtype=float)
    return np.where(v <= 0.04045, v / 12.92, ((v + 0.055) / 1.055) ** 2.4)


def srgb(light: Floats) -> Floats:
    """Return the sRGB values, 0 to 1, of linear light (IEC 61966-2-1)."""
    light = np.clip(light, 0, 1)
    value: Floats = np.where(light <= 0.0031308, light * 12.92, 1.055 * light ** (1 / 2.4) - 0.055)
    return value


#: `PAPER` as linear light.
GROUND = linear(np.array(PAPER) / 255).astype(np.float32)


def smaller(fine: Floats) -> Floats:
    """Return half the pixels: each the mean of four by four, those inside counting three times."""
    padded = np.pad(fine, ((1, 1), (1, 1), (0, 0)), mode="edge")
    rows = padded[0:-3:2] + 3 * (padded[1:-2:2] + padded[2:-1:2]) + padded[3::2]
    both = rows[:, 0:-3:2] + 3 * (rows[:, 1:-2:2] + rows[:, 2:-1:2]) + rows[:, 3::2]
    small: Floats = both / 64
    return small


def lit_colours(cloud: Cloud, seen: Seen, camera: Camera) -> Floats:
    """Return the light (h, 3) that comes from what is seen, linear."""
    open_lamp = 1 - _shadow(cloud, seen, camera)
    open_sky = 1 - 0.85 * _crowding(seen, camera)
    to_eye = _unit(np.array([[0], [0], [camera.eye]], dtype=np.float32) - seen.points)
    to_lamp = _unit(_LIGHT[:, None] * np.float32(_LAMP) - seen.points)
    normals = seen.normals
    direct = np.maximum(_dot(normals, to_lamp), 0) * open_lamp
    gloss = np.maximum(_dot(normals, _unit(to_lamp + to_eye)), 0)
    for _ in range(4):
        gloss = gloss * gloss  # to the sixteenth power
    sky = 0.30 + 0.16 * normals[1] + 0.12 * normals[2]
    sky = np.where(seen.cut, np.maximum(sky, 0.42), sky)  # cut edges are bright, not a dark rim
    tones = np.array(_TONES[cloud.finish], dtype=np.float32)
    # Row by row the tones of the faces, then those of the cut edges.
    tones = np.concatenate([tones, 0.35 + 0.65 * tones])
    tone = tones[seen.motif % 3 + 3 * seen.cut]
    colour = tone * ((sky + direct) * open_sky)[:, None] + (0.22 * gloss * open_lamp)[:, None]
    depth = np.clip((0.75 - seen.points[2]) / 1.75, 0, 1)
    haze = (0.72 * depth * (0.6 + 0.4 * depth))[:, None]
    mixed: Floats = colour + haze * (GROUND - colour)
    return mixed


def _shadow(cloud: Cloud, seen: Seen, camera: Camera) -> Floats:
    """Return what share (h,) of the lamp other plates hide; the lamp is far away here."""
    size = camera.size // 3
    axes = np.array(view_axes(_LIGHT), dtype=np.float32)
    scale, middle = np.float32(size / 2 * 0.98), np.float32(size / 2)
    nearest = np.full(size * size, -9, dtype=np.float32)
    light = axes @ camera.axes
    for turns, origins, sample in zip(
        cloud.turns, cloud.origins, sampled(cloud, 0.85 / float(scale)), strict=True
    ):
        points = (light @ turns)[:, :, :2] @ sample.face.T + (origins @ light.T)[:, :, None]
        column = (points[:, 0] * scale + middle).astype(np.int32)
        row = (middle - points[:, 1] * scale).astype(np.int32)
        np.maximum.at(nearest, (row * size + column).reshape(-1), points[:, 2].reshape(-1))
    here = axes @ seen.points
    x, y = here[0] * scale + middle, middle - here[1] * scale
    level = here[2] + np.float32(_SHADOW_GAP)
    hidden = np.zeros(len(x), dtype=np.float32)
    for right, down in _SOFT:
        column = (x + np.float32(right)).astype(np.int32)
        row = (y + np.float32(down)).astype(np.int32)
        hidden += nearest[(row * size + column).clip(0, size * size - 1)] > level
    hidden /= np.float32(len(_SOFT))
    return hidden


def _crowding(seen: Seen, camera: Camera) -> Floats:
    """Return how much (h,) of the sky is hidden by what stands in front close by, 0 to 1."""
    full = np.full(camera.size**2, -9, dtype=np.float32)
    full[seen.hit] = seen.points[2]
    depth = full.reshape(camera.size, camera.size)[::2, ::2]
    half, reach = depth.shape[0], _RINGS[-1][0] + 1
    padded = np.pad(depth, reach, constant_values=-9)
    hidden = np.zeros_like(depth)
    for radius, looks in _RINGS:
        span = 6 * radius / camera.size + 0.05
        for k in range(looks):
            angle = 2 * np.pi * (k + radius / 10) / looks
            dx, dy = round(radius * np.cos(angle)), round(radius * np.sin(angle))
            beside = padded[reach + dy : reach + dy + half, reach + dx : reach + dx + half]
            rise = beside - depth
            # What is far in front casts no dimness: it is another layer of the sculpture.
            part = np.clip((rise - 0.012) / span, 0, 1)
            hidden += part * np.clip(1.6 - rise / (6 * span), 0, 1)
    hidden /= sum(looks for _, looks in _RINGS)
    row, column = np.divmod(seen.hit, camera.size)
    crowded: Floats = hidden[row // 2, column // 2]
    return crowded


def _dot(a: Floats, b: Floats) -> Floats:
    product: Floats = a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
    return product


def _unit(a: Floats) -> Floats:
    unit: Floats = a / np.sqrt(_dot(a, a))
    return unit
