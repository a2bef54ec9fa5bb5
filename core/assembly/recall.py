# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""What searches for ways have found, kept for all copies of a body under the symmetry.

A way that one copy has found is proved anew for another, which costs a sweep in place of a search.
A search that failed tells by what it was blocked: where the same plates' copies all stand, it need
not be made again.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
import numpy.typing as npt

from .copies import Copies, carried_way
from .screens import Screens
from .ways import Way

__all__ = ["Recall"]

Ints = npt.NDArray[np.intp]

_WAYS = 6  # ways that are kept for a body and its copies
_FAILURES = 24


@dataclass(slots=True)
class Recall:
    """Ways and failures, all as of the first copy of each body; no symmetry: of the body itself.

    rounds, work : spent in vain on turns and on bodies of several (order.py)
    """

    copies: Copies | None
    screens: Screens
    ways: dict[tuple[int, ...], list[Way]] = field(default_factory=dict)
    failures: dict[tuple[int, ...], list[tuple[int, bool, Way]]] = field(default_factory=dict)
    names: dict[tuple[int, ...], tuple[tuple[int, ...], Ints]] = field(default_factory=dict)
    back: Ints | None = None
    rounds: int = 0
    work: int = 0

    def keep(self, body: tuple[int, ...], effort: int, bent: bool, way: Way) -> None:
        """Remember what a search has found, or by what it was blocked."""
        name, elements = self._name(body)
        image = self._carried(way, int(elements[0]))
        if image is None:
            return
        if way.free:
            kept = self.ways.setdefault(name, [])
            kept.insert(0, image)
            del kept[_WAYS:]
        elif way.blockers:
            failed = self.failures.setdefault(name, [])
            failed.insert(0, (effort, bent, image))
            del failed[_FAILURES:]

    def failed(
        self, body: tuple[int, ...], effort: int, bent: bool, still: Collection[int]
    ) -> Way | None:
        """Return a failure that holds for this body as well, because all that blocked it stands."""
        name, elements = self._name(body)
        known = [one for e, b, one in self.failures.get(name, ()) if (e, b) == (effort, bent)]
        for way in known:
            for element in elements.tolist():
                image = self._carried(way, self._back(element))
                if image is not None and image.blockers.issubset(still):
                    return image
        return None

    def likely(self, body: tuple[int, ...]) -> list[Way]:
        """Return ways that copies of this body have come; not proved for this one."""
        name, elements = self._name(body)
        found = []
        for way in self.ways.get(name, ()):
            for element in elements[:2].tolist():
                image = self._carried(way, self._back(element))
                if image is not None:
                    found.append(image)
        return found

    def _name(self, body: tuple[int, ...]) -> tuple[tuple[int, ...], Ints]:
        """Return the least image of a body and the elements that carry it there."""
        if self.copies is None:
            return body, np.zeros(1, dtype=np.intp)
        if body not in self.names:
            images = np.sort(self.copies.plate[:, list(body)], axis=1)
            whole = np.flatnonzero(images.min(axis=1) >= 0)
            order = whole[np.lexsort(images[whole].T[::-1])]
            least = images[order[0]]
            same = order[(images[order] == least).all(axis=1)]
            self.names[body] = tuple(least.tolist()), same
        return self.names[body]

    def _back(self, element: int) -> int:
        """Return the number of an element's inverse."""
        if self.copies is None:
            return element
        if self.back is None:
            every = self.copies.matrices
            apart = np.abs(every[:, None] - every.transpose(0, 2, 1)[None]).sum(axis=(2, 3))
            self.back = apart.argmin(axis=1).astype(np.intp)
        return int(self.back[element])

    def _carried(self, way: Way, element: int) -> Way | None:
        """Return a way carried by an element with all that blocks it; None: not all has an image.

        Joints that have no image are left out: which close is asked anew.
        """
        if self.copies is None:
            return way
        blockers = self._images(self.copies.plate, sorted(way.blockers), element)
        if len(blockers) < len(way.blockers):
            return None
        moved = carried_way(way, self.copies.matrices[element])
        return replace(
            moved,
            straight=self._images(self.copies.joint, way.straight, element),
            sprung=self._images(self.copies.joint, way.sprung, element),
            blockers=frozenset(blockers),
        )

    def _images(self, table: Ints, numbers: Sequence[int], element: int) -> tuple[int, ...]:
        return tuple(k for k in table[element, list(numbers)].tolist() if k >= 0)
