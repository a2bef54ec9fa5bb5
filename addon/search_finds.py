# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The finds that the sidebar shows: those of one search's folder that have a picture, in an order.

Kept in Python and not in the file: they belong to a folder, not to a scene; opening another file or
undoing a step must not take them away. Figures and scores are core's; here they are put in a row.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import bpy.utils.previews

from ..core.errors import PinwrightError
from ..core.search.rank import WEIGHTS, Merits
from ..core.search.sheet import CARDS, ranked
from ..core.search.state import INDEX, State, read_state
from ..core.search.variety import choose as most_different

__all__ = [
    "ORDERS",
    "PAGE",
    "Find",
    "choose",
    "chosen",
    "clear",
    "close",
    "finds",
    "folder",
    "follow",
    "icon",
    "order",
    "page",
    "put_in_order",
    "show",
    "stamp",
    "state",
    "step",
    "weigh",
    "weight",
]

PAGE = 32  # finds that can be looked at together


@dataclass(frozen=True, slots=True)
class Find:
    """One find: its place in the order (from 1), design file, and figures; see core's `Merits`."""

    number: int
    name: str
    kind: str
    file: Path
    picture: Path
    score: float
    merits: Merits


#: Orders besides "DIFFERENT" and "SCORE": what is greatest comes first.
ORDERS: dict[str, Callable[[Merits], float]] = {
    "CLEARANCE": lambda merits: merits.clearance,
    "WIDTH": lambda merits: merits.width,
    "OPENNESS": lambda merits: merits.openness,
    "PLATES": lambda merits: -merits.plates,
    "LINKED": lambda merits: merits.linked,
}


@dataclass(slots=True)
class _Shown:
    folder: Path
    state: State | None = None
    seen: tuple[float, frozenset[str]] = (0.0, frozenset())  # time of the index, pictures
    finds: tuple[Find, ...] = ()
    chosen: str = ""
    changes: int = 0


_shown: _Shown | None = None
_order = "DIFFERENT"
_weights: dict[str, float] = {}  # where they differ from core's
_previews: bpy.utils.previews.ImagePreviewCollection | None = None


def show(path: Path) -> None:
    """Show the finds of a search's folder from now on.

    Raises
    ------
    PinwrightError : it is no folder of a search.
    """
    global _shown
    if not (path / INDEX).is_file():
        raise PinwrightError(f"{path} is no folder of a search: it holds no {INDEX}.")
    shown = _Shown(path, changes=stamp())
    _look(shown)
    _drop_previews()
    _shown = shown


def follow(path: Path) -> None:
    """Show a search's folder as far as it is; looks again only at what has changed."""
    if _shown is None or _shown.folder != path:
        if (path / INDEX).is_file():
            show(path)
        return
    _look(_shown)


def order() -> str:
    """Return the name of the order that the finds are in."""
    return _order


def put_in_order(name: str) -> None:
    """Put the finds in another order: "DIFFERENT", "SCORE" or one of `ORDERS`."""
    global _order
    _order = name
    if _shown is not None:
        _sort(_shown)


def weight(name: str) -> float:
    """Return how much a figure counts in the score; see core's `WEIGHTS`."""
    return _weights.get(name, WEIGHTS[name])


def weigh(name: str, value: float) -> None:
    """Let a figure count more or less in the score."""
    _weights[name] = value
    if _shown is not None:
        _sort(_shown)


def finds() -> tuple[Find, ...]:
    """Return the finds in their order."""
    return () if _shown is None else _shown.finds


def state() -> State | None:
    """Return the search that the finds are from."""
    return None if _shown is None else _shown.state


def folder() -> Path | None:
    """Return the folder that is shown."""
    return None if _shown is None else _shown.folder


def stamp() -> int:
    """Return a number that grows with each change."""
    return 0 if _shown is None else _shown.changes


def chosen() -> Find | None:
    """Return the find that was chosen, at first the first one."""
    rows = finds()
    return next((find for find in rows if find.name == _shown.chosen), rows[0] if rows else None)


def choose(name: str) -> None:
    """Choose a find by its name."""
    if _shown is not None:
        _shown.chosen = name
        _shown.changes += 1


def step(by: int) -> None:
    """Choose the next find, or another one so many places on; the last is followed by the first."""
    now, rows = chosen(), finds()
    if now is not None:
        choose(rows[(now.number - 1 + by) % len(rows)].name)


def page() -> tuple[Find, ...]:
    """Return the finds that are looked at together with the chosen one."""
    now = chosen()
    if now is None:
        return ()
    first = (now.number - 1) // PAGE * PAGE
    return finds()[first : first + PAGE]


def icon(find: Find) -> int:
    """Return the number under which Blender draws a find's picture (it is loaded at first use)."""
    global _previews
    if _previews is None:
        _previews = bpy.utils.previews.new()
    if find.name not in _previews:
        _previews.load(find.name, str(find.picture), "IMAGE")
    return _previews[find.name].icon_id


def clear() -> None:
    """Show no finds any more."""
    global _shown
    _shown = None
    _drop_previews()


def close() -> None:
    """Show nothing any more; forget order and weights too."""
    global _order
    clear()
    _order = "DIFFERENT"
    _weights.clear()


def _drop_previews() -> None:
    global _previews
    if _previews is not None:
        bpy.utils.previews.remove(_previews)
        _previews = None


# ---------------------------------------------------------------- reading the folder


def _look(shown: _Shown) -> None:
    """Read what is new in the folder."""
    time = (shown.folder / INDEX).stat().st_mtime_ns
    pictures = frozenset(path.stem for path in (shown.folder / CARDS).glob("*.png"))
    if shown.seen == (time, pictures):
        return
    if shown.state is None or shown.seen[0] != time:
        shown.state = read_state(shown.folder)
    shown.seen = (time, pictures)
    _sort(shown)


def _sort(shown: _Shown) -> None:
    pictures = shown.seen[1]
    rows = [row for row in ranked(shown.state, _weights) if row[0].name in pictures]
    if _order == "DIFFERENT":
        rows = [rows[i] for i in most_different([one.signature for one, _, _ in rows], len(rows))]
    elif _order in ORDERS:
        figure = ORDERS[_order]
        rows.sort(key=lambda row: -figure(row[0].merits))  # equal ones stay best first
    shown.finds = tuple(
        Find(
            number,
            one.name,
            one.kind,
            shown.folder / one.file,
            shown.folder / CARDS / f"{one.name}.png",
            score,
            one.merits,
        )
        for number, (one, score, _) in enumerate(rows, start=1)
    )
    shown.changes += 1
