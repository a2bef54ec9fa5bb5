# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""A writer of PNG files: numpy and zlib, nothing else."""

from __future__ import annotations

import struct
import zlib

import numpy as np
import numpy.typing as npt

__all__ = ["png_bytes"]


def png_bytes(pixels: npt.NDArray[np.uint8]) -> bytes:
    """Return a PNG file (RFC 2083) of pixels (height, width, 3), 8 bits a channel, sRGB."""
    height, width, _ = pixels.shape
    rows = np.zeros((height, 1 + 3 * width), dtype=np.uint8)  # each row begins with filter 0
    rows[:, 1:] = pixels.reshape(height, -1)
    header = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    chunks = (
        (b"IHDR", header),
        (b"sRGB", b"\x00"),
        (b"IDAT", zlib.compress(rows.tobytes(), 6)),
        (b"IEND", b""),
    )
    written = b"\x89PNG\r\n\x1a\n"
    for name, data in chunks:
        check = zlib.crc32(name + data)
        written += struct.pack(">I", len(data)) + name + data + struct.pack(">I", check)
    return written
