# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The contact sheet: the best and most different designs in pictures, as a page and as one PNG."""

from __future__ import annotations

import time
from collections.abc import Callable, Generator, Mapping
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from pathlib import Path

import numpy as np
import numpy.typing as npt

from ..design.files import write_bytes, write_text
from ..design.read import read_design
from ..errors import OutputError
from .caption import text_size, write_words
from .light import PAPER
from .page import Shown, facts, page
from .picture import best_view, paint
from .png import png_bytes
from .rank import score
from .samples import cloud_of
from .state import INDEX, Found, State
from .variety import choose, families

__all__ = ["CARDS", "PAGE", "PICTURE", "contact_sheet", "picture_seconds", "ranked", "write_sheet"]

PAGE, PICTURE, CARDS = "sheet.html", "sheet.png", "pictures"

_SIZE = 320  # pixels of a picture's side
_ON_PICTURE = 60  # designs on the PNG; the page has all that are wanted
_SHAPE = 1.5  # width over height that the PNG comes near to
_MARGIN, _GUTTER, _FOOT = 56, 28, 30  # of the PNG, pixels
_TITLE, _WORDS = 30, 14  # least heights of letters, pixels; on wider sheets they are larger
_INK, _SOFT, _MARK = (36, 41, 46), (112, 110, 104), (140, 74, 32)
_LAST = 1.0  # seconds kept for page and PNG when the time is limited

Pixels = npt.NDArray[np.uint8]


def ranked(
    state: State, weights: Mapping[str, float] | None = None
) -> list[tuple[Found, float, str]]:
    """Return (design, score, name of the design that it looks like), best first."""
    scored = sorted(((score(one.merits, weights), one) for one in state.found),
                    key=lambda pair: (-pair[0], pair[1].name))  # fmt: skip
    leaders = families([one.signature for _, one in scored])
    return [
        (one, value, scored[k][1].name) for (value, one), k in zip(scored, leaders, strict=True)
    ]


def write_sheet(
    state: State,
    folder: Path,
    weights: Mapping[str, float] | None = None,
    count: int = 60,
    progress: Callable[[str, float], None] | None = None,
    workers: int = 1,
    until: float | None = None,
) -> tuple[Path, ...]:
    """Write index, page and pictures of the `count` best different designs; return the files.

    The best of each family of look-alikes comes first, by the weighed score. What is drawn when the
    time is up makes the sheet; the page lists the others without a picture.

    workers : threads that paint; until : end of the time, of `time.monotonic()`; None: no limit
    """
    order = ranked(state, weights)
    extra = {one.name: {"score": round(value, 4), "like": like} for one, value, like in order}
    state.write(folder, extra)
    if not order:
        return (folder / INDEX,)
    shown = [order[i] for i in choose([one.signature for one, _, _ in order], count)]
    try:
        (folder / CARDS).mkdir(exist_ok=True)
    except OSError as error:
        raise OutputError(f"{folder / CARDS} cannot be made: {error.strerror}.") from error
    pictures: dict[str, Pixels] = {}
    with closing(_painted(shown, folder, workers, until)) as painted:
        for name, pixels in painted:
            write_bytes(folder / CARDS / f"{name}.png", png_bytes(pixels))
            pictures[name] = pixels
            if progress is not None:
                progress(f"{len(pictures)} of {len(shown)} pictures", len(pictures) / len(shown))
    best = [(k, s[0].name) for k, s in enumerate(shown, 1) if s[0].name in pictures][:_ON_PICTURE]
    sheet = contact_sheet([(k, name, pictures[name]) for k, name in best], *facts(state))
    write_bytes(folder / PICTURE, png_bytes(sheet))
    write_text(folder / PAGE, page(state, shown, _lying(folder), CARDS))
    return folder / INDEX, folder / PAGE, folder / PICTURE


def contact_sheet(pictures: list[tuple[int, str, Pixels]], title: str, line: str) -> Pixels:
    """Return numbered and named pictures of one size under a title, as one image (h, w, 3)."""
    size = pictures[0][2].shape[0] if pictures else _SIZE
    columns = _columns(max(len(pictures), 1))
    rows = -(-len(pictures) // columns)
    room = columns * size + (columns - 1) * _GUTTER
    # The alphabet has no commas.
    title, line = title.replace(", ", " - "), line.replace(", ", "; ")
    small = max(_WORDS, room // 170)
    big, lines = _fitting(title, max(_TITLE, room // 75), room), _lines(line, small, room)
    step = round(1.7 * small)
    head = big + round(1.3 * small) + step * len(lines) + 20
    height = 2 * _MARGIN + head + rows * (size + _FOOT) + max(rows - 1, 0) * _GUTTER
    sheet = np.full((height, room + 2 * _MARGIN, 3), PAPER, dtype=np.uint8)
    write_words(sheet, title, _MARGIN, _MARGIN, big, _INK)
    for k, part in enumerate(lines):
        top = _MARGIN + big + round(1.3 * small) + step * k
        write_words(sheet, part, _MARGIN, top, small, _SOFT)
    for k, (number, name, pixels) in enumerate(pictures):
        row, column = divmod(k, columns)
        left = _MARGIN + column * (size + _GUTTER)
        top = _MARGIN + head + row * (size + _FOOT + _GUTTER)
        sheet[top : top + size, left : left + size] = pixels
        label = f"{number} "
        start = left + (size - text_size(f"{label}{name}", 12)) / 2
        start = write_words(sheet, label, start, top + size + 10, 12, _MARK)
        write_words(sheet, name, start, top + size + 10, 12, _SOFT)
    return sheet


def picture_seconds(file: Path) -> float:
    """Return how long it takes to draw a design file and pack its picture, here and now."""
    begun = time.monotonic()
    png_bytes(_picture(file))
    return time.monotonic() - begun


def _painted(
    shown: list[Shown], folder: Path, workers: int, until: float | None
) -> Generator[tuple[str, Pixels], None, None]:
    """Yield names and pictures, best first, while there is time for another."""
    cost = 0.0
    with ThreadPoolExecutor(max(workers, 1)) as pool:
        for start in range(0, len(shown), max(workers, 1)):
            begun = time.monotonic()
            if until is not None and start > 0 and begun + cost + _LAST > until:
                return
            some = [one for one, _, _ in shown[start : start + max(workers, 1)]]
            pixels = pool.map(_picture, [folder / one.file for one in some])
            yield from zip([one.name for one in some], pixels, strict=True)
            cost = max(0.7 * cost, time.monotonic() - begun)


def _picture(file: Path) -> Pixels:
    """Return the picture of a design file."""
    cloud = cloud_of(read_design(file))
    return paint(cloud, best_view(cloud), _SIZE)


def _lying(folder: Path) -> set[str]:
    return {path.stem for path in (folder / CARDS).glob("*.png")}


def _columns(count: int) -> int:
    """Return a number of columns near the wanted shape, such that the last row is filled well."""
    ideal = np.sqrt(count * _SHAPE)
    tried = range(max(1, int(ideal * 0.85)), int(ideal * 1.25) + 2)
    return min(tried, key=lambda c: (-count % c / c + 0.8 * abs(np.log(c / ideal)), c))


def _fitting(text: str, height: int, room: int) -> int:
    while height > 8 and text_size(text, height) > room:
        height -= 1
    return height


def _lines(text: str, height: int, room: int) -> list[str]:
    lines: list[str] = []
    for part in text.split("; "):
        joined = f"{lines[-1]}  -  {part}" if lines else part
        if lines and text_size(joined, height) <= room:
            lines[-1] = joined
        else:
            lines.append(part)
    return lines
