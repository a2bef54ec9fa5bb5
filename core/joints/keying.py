# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Keys for joint classes: tab widths and sideways shifts that leave no wrong placement, and few.

One choice for each joint class keeps the symmetry of the whole. It is a small colouring problem:
the classes are coloured with tab widths and shifts so that each wrong placement meets at least one
slot that is too short, or in the wrong place, for its tab. The search is exact: first the fewest
widths, then the fewest shifted classes.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from ..design.model import JointClassChoice
from ..plates.motif import Motif
from .classes import JointClass

__all__ = ["Conflict", "Key", "choose_keys", "keyed_choices"]


@dataclass(frozen=True, slots=True)
class Key:
    """What a joint class is keyed by: the width of its tab, and how far it is shifted, mm.

    shift : along the joint's line, of tab and slot alike
    """

    width: float
    shift: float = 0.0


@dataclass(frozen=True, slots=True)
class Conflict:
    """A wrong placement: the joint classes that it takes part with, and whether it still goes in.

    classes : those whose keys matter, rising
    goes_in : of one key for each of them, in that order; is asked the same again and again
    """

    classes: tuple[int, ...]
    goes_in: Callable[[tuple[Key, ...]], bool]


def choose_keys(
    options: Mapping[int, Sequence[Key]], conflicts: Sequence[Conflict]
) -> dict[int, Key] | None:
    """Return a key for each class with options so that no conflict goes in; None: there is none.

    Of all such choices one with the fewest tab widths, then with the fewest shifted classes; of
    equals the one whose keys come first in `options`. Conflicts name only classes with options.
    """
    search = _Search(options, conflicts)
    widths = {key.width for keys in options.values() for key in keys}
    for count in range(len(widths) + 1):
        for shifted in range(len(options) + 1):
            found = search.run(count, shifted)
            if found is not None:
                return found
    return None


class _Search:
    """Depth-first over the classes; conflicts are judged as soon as all their keys are chosen."""

    def __init__(self, options: Mapping[int, Sequence[Key]], conflicts: Sequence[Conflict]) -> None:
        self._options = options
        busy = {c: sum(c in one.classes for one in conflicts) for c in options}
        self._order = sorted(options, key=lambda c: (-busy[c], c))
        place = {c: i for i, c in enumerate(self._order)}
        self._due: list[list[Conflict]] = [[] for _ in self._order]
        for one in conflicts:
            self._due[max(place[c] for c in one.classes)].append(one)

    def run(self, count: int, shifted: int) -> dict[int, Key] | None:
        """Search with at most `count` different widths and `shifted` shifted classes."""
        return self._deeper({}, frozenset(), count, shifted)

    def _deeper(
        self, chosen: dict[int, Key], widths: frozenset[float], count: int, shifted: int
    ) -> dict[int, Key] | None:
        depth = len(chosen)
        if depth == len(self._order):
            return dict(chosen)
        c = self._order[depth]
        for key in self._options[c]:
            now = widths | {key.width}
            left = shifted - (key.shift != 0.0)
            if len(now) > count or left < 0:
                continue
            chosen[c] = key
            if not any(self._goes_in(one, chosen) for one in self._due[depth]):
                found = self._deeper(chosen, now, count, left)
                if found is not None:
                    return found
            del chosen[c]
        return None

    def _goes_in(self, conflict: Conflict, chosen: Mapping[int, Key]) -> bool:
        return conflict.goes_in(tuple(chosen[c] for c in conflict.classes))


def keyed_choices(
    choices: Sequence[JointClassChoice],
    classes: Sequence[JointClass],
    motifs: Sequence[Motif],
    keys: Mapping[int, Key],
) -> tuple[JointClassChoice, ...]:
    """Return the joint classes with their keys: another width, another place on the line.

    classes : as worked out without keys; they say to which side each tab points, which a shifted
        tab's place could not
    """
    found = list(choices)
    for c, key in keys.items():
        joint = classes[c]
        if joint.splice is not None:  # a width of 0: its pins can only be shifted
            width = key.width if key.width > 0 else None
            at = choices[c].at + key.shift
            found[c] = replace(choices[c], at=at, tab_width=width)
            continue
        side = joint.insertion @ np.cross(joint.line, motifs[joint.a].normal)
        found[c] = replace(
            choices[c],
            at=choices[c].at + key.shift,
            outward=1 if side > 0 else -1,
            tab_width=key.width,
        )
    return tuple(found)
