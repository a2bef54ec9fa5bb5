# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Two strips end to end in one plane: a dovetail key of one in a socket of the other.

On a strip of width W the key is W/4 wide at its neck and W/3 long; its sides flare by 15 degrees
(common practice of dovetails and of puzzle joints, no published source), so its head is W/4 +
2 (W/3) tan 15. The socket is the key, larger all round by the clearance, and the ends of the strips
stand one clearance apart: drawn apart, the flanks meet after clearance / sin 15. The key drops in
square to the plane and holds in it alone; glue, tape or a plate over it keeps it there.

A design may say the neck's width, and shift key and socket sideways: a shifted key does not go in
turned over. The other splice, with a plate laid over both ends, is in fish_plate.py.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import radians, sin, tan
from typing import Final

from shapely import Polygon

from ..errors import DesignError
from .fish_plate import FishPlateSizes
from .sizes import Sizes

__all__ = ["FLARE_DEG", "Splice", "SpliceSizes", "splice_sizes"]

FLARE_DEG: Final = 15.0
_NECK: Final = 1 / 4
_LENGTH: Final = 1 / 3


@dataclass(frozen=True, slots=True)
class SpliceSizes:
    """One splice, mm. x runs across the strips, y out of the first one's end.

    neck, head : widths of the key; length : from the end of the first strip to its head
    width : of the wider strip; clearance : round the key, and between the ends
    play : the way that the strips can be drawn apart before the flanks meet
    shift : of the key's middle from the strips' middle line, along x
    """

    neck: float
    head: float
    length: float
    width: float
    clearance: float
    play: float
    shift: float = 0.0

    @property
    def room(self) -> float:
        """How far from the strips' ends the joint reaches, mm."""
        return self.length + self.clearance

    def key(self, root: float) -> Polygon:
        """Return the key, with so much of it inside its own strip."""
        n, h, x = self.neck / 2, self.head / 2, self.shift
        ring = [(-n, -root), (n, -root), (n, 0), (h, self.length), (-h, self.length), (-n, 0)]
        return Polygon([(x + side, y) for side, y in ring])

    def socket(self) -> Polygon:
        """Return what is cut from the second strip: the gap between the ends, and the socket."""
        c, wide = self.clearance, self.width / 2 + 1.0
        gap = Polygon([(-wide, -1.0), (wide, -1.0), (wide, c), (-wide, c)])
        found = gap.union(self.key(1.0).buffer(c, join_style="mitre"))
        assert isinstance(found, Polygon)  # the key grows out of the gap
        return found


Splice = SpliceSizes | FishPlateSizes


def splice_sizes(
    sizes: Sizes,
    widths: tuple[float, float],
    field: str,
    neck: float | None = None,
    shift: float = 0.0,
) -> SpliceSizes:
    """Work out the splice of two strips of these widths, mm.

    neck, shift : of the key; None: a quarter of the narrower strip

    Raises DesignError, naming `field`, when the strips are too narrow for their webs.
    """
    width, c = min(widths), sizes.clearance
    slope = tan(radians(FLARE_DEG))
    own = _NECK * width if neck is None else neck
    length = _LENGTH * width
    share = (1 - _NECK) / 2 - _LENGTH * slope  # beside the head
    least = max(sizes.web / _NECK, (sizes.web + c) / share)
    if neck is None and width < least - 1e-9:
        raise DesignError(
            f"{field}.motifs",
            width,
            f"strips at least {least:.1f} mm wide: a web in the key's neck and on both sides of "
            "its socket",
            "Widen the strips, or take a smaller web.",
        )
    most = width - 2 * (length * slope + c + sizes.web)
    if own < sizes.web - 1e-9 or own > most + 1e-9:
        raise DesignError(
            f"{field}.tab_width",
            own,
            f"a neck from {sizes.web:g} to {most:.2f} mm: a web, and what the socket and its webs "
            f"leave of a strip {width:g} mm wide",
            "",
        )
    if abs(shift) > (most - own) / 2 + 1e-9:
        raise DesignError(
            f"{field}.at",
            shift,
            f"from {-(most - own) / 2:.2f} to {(most - own) / 2:.2f} mm: beyond that a side of the "
            "socket has no web",
            "Shift the key less, or narrow its neck.",
        )
    return SpliceSizes(
        neck=own,
        head=own + 2 * length * slope,
        length=length,
        width=max(widths),
        clearance=c,
        play=c / sin(radians(FLARE_DEG)),
        shift=shift,
    )
