# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The contact sheet: the best and most different designs in pictures, as a page and as one PNG."""

from __future__ import annotations

import html
from collections.abc import Callable, Mapping
from pathlib import Path

import numpy as np
import numpy.typing as npt

from ..design.files import write_text
from ..design.read import read_design
from ..errors import OutputError
from ..frame.group import rotation_group
from .picture import paint, png_bytes, write_bytes
from .rank import score
from .shape import shape_of
from .state import Found, State
from .variety import choose, families

__all__ = ["CARDS", "PAGE", "PICTURE", "ranked", "write_sheet"]

PAGE, PICTURE, CARDS = "sheet.html", "sheet.png", "pictures"
_SIZE = 240  # pixels of a picture's side
_COLUMNS = 6
_ON_PICTURE = 60  # designs on the PNG; the page has all that are wanted

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
) -> tuple[Path, ...]:
    """Write index, page and pictures of the `count` best different designs; return the files.

    The best of each family of look-alikes comes first, by the weighed score.
    """
    order = ranked(state, weights)
    extra = {one.name: {"score": round(value, 4), "like": like} for one, value, like in order}
    state.write(folder, extra)
    if not order:
        return (folder / "index.json",)
    shown = [order[i] for i in choose([one.signature for one, _, _ in order], count)]
    try:
        (folder / CARDS).mkdir(exist_ok=True)
    except OSError as error:
        raise OutputError(f"{folder / CARDS} cannot be made: {error.strerror}.") from error
    pictures = []
    for k, (one, _, _) in enumerate(shown):
        if progress is not None:
            progress("pictures", k / len(shown))
        pixels = _picture(folder / one.file, state.wanted.diameter)
        write_bytes(folder / CARDS / f"{one.name}.png", png_bytes(pixels))
        pictures.append(pixels)
    write_bytes(folder / PICTURE, png_bytes(_tiled(pictures[:_ON_PICTURE])))
    write_text(folder / PAGE, _page(state, shown))
    return folder / "index.json", folder / PAGE, folder / PICTURE


def _picture(file: Path, diameter: float) -> Pixels:
    """Return the picture of a design file, sampled at two thirds of its finest pixel."""
    design = read_design(file)
    assert design.frame.group is not None  # the search writes bare groups
    step = 0.66 * diameter / (2 * _SIZE)
    width = max(motif.width for motif in design.motifs if motif.width is not None)
    shape = shape_of(design, rotation_group(design.frame.group), step, int(width / step) + 2)
    return paint(shape, _SIZE)


def _tiled(pictures: list[Pixels]) -> Pixels:
    columns = min(_COLUMNS, len(pictures))
    rows = -(-len(pictures) // columns)
    sheet = np.full((rows * _SIZE, columns * _SIZE, 3), 46, dtype=np.uint8)
    for k, pixels in enumerate(pictures):
        row, column = divmod(k, columns)
        sheet[row * _SIZE : (row + 1) * _SIZE, column * _SIZE : (column + 1) * _SIZE] = pixels
    return sheet


_STYLE = """
body { margin: 2rem; background: #24262b; color: #e8e4dc; font: 15px/1.45 system-ui, sans-serif; }
main { display: grid; grid-template-columns: repeat(auto-fill, minmax(240px, 1fr)); gap: 1.2rem; }
figure { margin: 0; background: #2e3138; border-radius: 6px; overflow: hidden; }
img { display: block; width: 100%; }
figcaption { padding: .6rem .8rem .8rem; }
a { color: #e7b27c; }
dl { display: grid; grid-template-columns: 1fr auto; margin: .4rem 0 0; font-size: 13px; }
dd { margin: 0; text-align: right; font-variant-numeric: tabular-nums; }
dt { color: #a9abb0; }
"""


def _page(state: State, shown: list[tuple[Found, float, str]]) -> str:
    wanted = state.wanted
    title = f"Right-angle designs in group {wanted.group}"
    cards = "\n".join(_card(k + 1, one, value, like) for k, (one, value, like) in enumerate(shown))
    motifs = "one motif" if wanted.motifs == 1 else f"{wanted.motifs} motifs"
    return f"""<!doctype html>
<html lang="en">
<meta charset="utf-8">
<meta name="viewport" content="width=device-width">
<title>{html.escape(title)}</title>
<style>{_STYLE}</style>
<h1>{html.escape(title)}</h1>
<p>{motifs}, {wanted.diameter:g} mm, {wanted.thickness:g} mm sheet, plates at least
{wanted.clearance:g} mm apart. {len(state.found)} designs of {state.normals} different sets of
planes passed every check; {state.judged:,} candidates were judged. The {len(shown)} best that look
different come first.</p>
<main>
{cards}
</main>
</html>
"""


def _card(number: int, one: Found, value: float, like: str) -> str:
    merits = one.merits
    rows = (
        ("score", f"{value:.3f}"),
        ("clearance", f"{merits.clearance:.1f} mm"),
        ("strips", f"{merits.length:.0f} x {merits.width:.1f} mm"),
        ("least web", f"{merits.web:.1f} mm"),
        ("plates, outlines", f"{merits.plates}, {merits.parts}"),
        ("open, even", f"{merits.openness:.2f}, {merits.evenness:.2f}"),
        ("round", f"{merits.roundness:.2f}"),
        ("linked rotors", f"{merits.linked} ({merits.linked_on_axis} on one axis)"),
    )
    figures = "".join(f"<dt>{name}</dt><dd>{text}</dd>" for name, text in rows)
    name = html.escape(one.name)
    note = "" if like == one.name else f" &middot; like {html.escape(like)}"
    return (
        f'<figure><img src="{CARDS}/{name}.png" alt="{name}" loading="lazy"><figcaption>'
        f'{number}. <a href="{html.escape(one.file)}">{name}</a>{note}<br>{html.escape(one.kind)}'
        f"<dl>{figures}</dl></figcaption></figure>"
    )
