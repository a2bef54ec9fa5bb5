# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""A single-stroke alphabet for engraving: each sign is a few straight runs of the tool.

The signs stand on a grid 4 wide and 6 high. A run is written as points "xy", one digit each, so
``"00 06 40 46"`` is the letter N. Zero carries a bar so that it is not taken for the letter O.
"""

from __future__ import annotations

from typing import Final

import numpy as np
import numpy.typing as npt

__all__ = ["SIGNS", "text_strokes", "text_width"]

Floats = npt.NDArray[np.float64]

_GRID_WIDTH: Final = 4
_GRID_HEIGHT: Final = 6
_ADVANCE: Final = 6  # from the left edge of one sign to that of the next

_RUNS: Final[dict[str, tuple[str, ...]]] = {
    "A": ("00 26 40", "13 33"),
    "B": ("33 03 00 30 41 42 33 44 45 36 06 03",),
    "C": ("45 36 16 05 01 10 30 41",),
    "D": ("00 06 26 44 42 20 00",),
    "E": ("46 06 00 40", "03 33"),
    "F": ("46 06 00", "03 33"),
    "G": ("45 36 16 05 01 10 30 41 43 23",),
    "H": ("00 06", "40 46", "03 43"),
    "I": ("10 30", "20 26", "16 36"),
    "J": ("26 46 41 30 10 01",),
    "K": ("00 06", "46 02", "13 40"),
    "L": ("06 00 40",),
    "M": ("00 06 23 46 40",),
    "N": ("00 06 40 46",),
    "O": ("10 01 05 16 36 45 41 30 10",),
    "P": ("00 06 36 45 44 33 03",),
    "Q": ("10 01 05 16 36 45 41 30 10", "22 40"),
    "R": ("00 06 36 45 44 33 03", "23 40"),
    "S": ("45 36 16 05 04 13 33 42 41 30 10 01",),
    "T": ("06 46", "20 26"),
    "U": ("06 01 10 30 41 46",),
    "V": ("06 20 46",),
    "W": ("06 10 24 30 46",),
    "X": ("00 46", "06 40"),
    "Y": ("06 23 46", "23 20"),
    "Z": ("06 46 00 40", "13 33"),
    "0": ("10 01 05 16 36 45 41 30 10", "12 34"),
    "1": ("05 26 20", "00 40"),
    "2": ("05 16 36 45 44 00 40",),
    "3": ("05 16 36 45 44 33 42 41 30 10 01", "23 33"),
    "4": ("30 36 02 42",),
    "5": ("46 06 03 33 42 41 30 10 01",),
    "6": ("45 36 16 05 01 10 30 41 42 33 13 02",),
    "7": ("06 46 10",),
    "8": ("13 04 05 16 36 45 44 33 13 02 01 10 30 41 42 33",),
    "9": ("01 10 30 41 45 36 16 05 04 13 33 44",),
    "-": ("13 33",),
    " ": (),
}

SIGNS: Final = frozenset(_RUNS)


def text_width(text: str) -> float:
    """Return the width of a line of text as a share of its height (0 for no text)."""
    return max(0, _ADVANCE * (len(text) - 1) + _GRID_WIDTH) / _GRID_HEIGHT if text else 0.0


def text_strokes(text: str, height: float) -> tuple[Floats, ...]:
    """Return the runs of a line of text, its box centred on the origin, mm.

    Parameters
    ----------
    text : signs of `SIGNS`; small letters are written as capitals
    height : of a capital, mm

    Returns
    -------
    tuple of (n, 2) float : open polylines, n >= 2

    Raises
    ------
    ValueError : a sign is not in the alphabet
    """
    missing = sorted(set(text.upper()) - SIGNS)
    if missing:
        raise ValueError(f"no strokes for {' '.join(missing)!r}; there are A-Z, 0-9, '-' and ' '")
    scale = height / _GRID_HEIGHT
    step = np.array([float(_ADVANCE), 0.0])
    middle = np.array([text_width(text) * _GRID_HEIGHT / 2.0, _GRID_HEIGHT / 2.0])
    return tuple(
        scale * (_points(run) - middle) + scale * place * step
        for place, sign in enumerate(text.upper())
        for run in _RUNS[sign]
    )


def _points(run: str) -> Floats:
    return np.array([(int(pair[0]), int(pair[1])) for pair in run.split()], dtype=np.float64)
