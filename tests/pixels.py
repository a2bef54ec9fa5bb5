# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""A reader of the PNG files that the search writes, made from the standard alone."""

from __future__ import annotations

import struct
import zlib

import numpy as np

__all__ = ["png_pixels"]


def png_pixels(data: bytes) -> np.ndarray:
    """Read a PNG as its standard says (RFC 2083): chunks, checks, one zlib stream, filter 0."""
    assert data[:8] == bytes([137, 80, 78, 71, 13, 10, 26, 10])
    place, chunks = 8, {}
    while place < len(data):
        (length,) = struct.unpack(">I", data[place : place + 4])
        body = data[place + 4 : place + 8 + length]
        (check,) = struct.unpack(">I", data[place + 8 + length : place + 12 + length])
        assert zlib.crc32(body) == check
        chunks[body[:4]] = body[4:]
        place += 12 + length
    width, height, depth, kind = struct.unpack(">IIBB", chunks[b"IHDR"][:10])
    assert (depth, kind) == (8, 2)
    assert b"IEND" in chunks
    rows = np.frombuffer(zlib.decompress(chunks[b"IDAT"]), dtype=np.uint8).reshape(height, -1)
    assert (rows[:, 0] == 0).all()
    return rows[:, 1:].reshape(height, width, 3)
