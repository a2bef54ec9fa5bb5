# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Small shaded pictures of a sculpture, and a writer of PNG files: numpy and zlib, nothing else.

Plates are sampled finely and the nearest sample wins each pixel, so plates that weave through one
another are drawn right. Edges of what stands in front are darkened where the depth jumps.
"""

from __future__ import annotations

import os
import struct
import tempfile
import zlib
from pathlib import Path

import numpy as np
import numpy.typing as npt

from ..errors import OutputError
from .shape import Shape, view_axes

__all__ = ["paint", "png_bytes", "write_bytes"]

Floats = npt.NDArray[np.float64]
Pixels = npt.NDArray[np.uint8]

_VIEW = (0.42, -0.86, 0.34)
_LIGHT = (0.25, -0.55, 0.80)
_TONES = np.array([[0.93, 0.90, 0.84], [0.80, 0.58, 0.36], [0.45, 0.60, 0.70]])
_GROUND_TOP, _GROUND_FOOT = np.array([0.20, 0.22, 0.25]), np.array([0.36, 0.37, 0.39])
_FINER = 2  # samples on a pixel's side
_EYE = 4.2  # distance of the eye, radii


def paint(shape: Shape, size: int = 240) -> Pixels:
    """Return a picture (size, size, 3) of a shape; its points must be denser than its pixels."""
    right, up, eye = view_axes(_VIEW)
    fine = size * _FINER
    radius = shape.radius
    points = shape.points.reshape(-1, 3) / radius
    depth = points @ eye
    near = _EYE / (_EYE - depth)
    column = ((points @ right * near * 0.47 + 0.5) * fine).astype(np.intp).clip(0, fine - 1)
    row = ((0.5 - points @ up * near * 0.47) * fine).astype(np.intp).clip(0, fine - 1)
    # Painted from the back to the front: of equal pixels the last assignment stays.
    order = np.argsort(depth, kind="stable")
    owner = np.full(fine * fine, -1, dtype=np.intp)
    owner[(row * fine + column)[order]] = order
    hit = owner >= 0
    each = shape.points.shape[1] * shape.points.shape[2]
    plate = owner[hit] // each
    height = np.full(fine * fine, -1.6)
    height[hit] = depth[owner[hit]]
    colour = _ground(fine)
    colour[hit] = _shade(shape, plate, height[hit], eye)
    image = colour.reshape(fine, fine, 3) * _edges(height.reshape(fine, fine))[..., None]
    small = image.reshape(size, _FINER, size, _FINER, 3).mean(axis=(1, 3))
    return np.asarray((np.clip(small, 0, 1) * 255).round(), dtype=np.uint8)


def _ground(fine: int) -> Floats:
    share = np.linspace(0, 1, fine)[:, None]
    rows = (1 - share) * _GROUND_TOP + share * _GROUND_FOOT
    return np.repeat(rows, fine, axis=0)


def _shade(shape: Shape, plate: npt.NDArray[np.intp], depth: Floats, eye: Floats) -> Floats:
    """Both faces of a plate catch the light; what is far away is dimmer."""
    light = np.asarray(_LIGHT) / np.linalg.norm(_LIGHT)
    normals = shape.normals * np.sign(shape.normals @ eye + 1e-12)[:, None]
    lit = 0.42 + 0.58 * np.clip(normals @ light, 0, 1)
    half = light + eye
    half /= np.linalg.norm(half)
    gloss = 0.25 * np.clip(normals @ half, 0, 1) ** 24
    tone = _TONES[shape.colour % len(_TONES)]
    flat = tone * lit[:, None] + gloss[:, None]
    dim = 0.40 + 0.60 * np.clip((depth + 1.0) / 1.7, 0, 1)
    return np.asarray(flat[plate] * dim[:, None])


def _edges(depth: Floats) -> Floats:
    """Return a factor for each pixel: less where something much nearer stands beside it."""
    jump = np.zeros_like(depth)
    for axis in (0, 1):
        for step in (1, -1):
            beside = np.roll(depth, step, axis=axis)
            jump = np.maximum(jump, beside - depth)
    return np.asarray(1.0 - 0.55 * np.clip((jump - 0.03) / 0.12, 0, 1))


def png_bytes(pixels: Pixels) -> bytes:
    """Return a PNG file (RFC 2083) of pixels (height, width, 3), 8 bits a channel."""
    height, width, _ = pixels.shape
    rows = np.zeros((height, 1 + 3 * width), dtype=np.uint8)  # each row begins with filter 0
    rows[:, 1:] = pixels.reshape(height, -1)
    header = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    chunks = ((b"IHDR", header), (b"IDAT", zlib.compress(rows.tobytes(), 6)), (b"IEND", b""))
    written = b"\x89PNG\r\n\x1a\n"
    for name, data in chunks:
        check = zlib.crc32(name + data)
        written += struct.pack(">I", len(data)) + name + data + struct.pack(">I", check)
    return written


def write_bytes(path: Path, data: bytes) -> None:
    """Write a file whole, in place of an older one. Raises OutputError."""
    try:
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=".pinwright-")
        with os.fdopen(handle, "wb") as file:
            file.write(data)
        os.replace(name, path)
    except OSError as error:
        raise OutputError(f"{path} cannot be written: {error.strerror}.") from error
