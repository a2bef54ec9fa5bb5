# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""What modules can gather round, as items of a menu: the texts of the design's `modules.about`."""

from __future__ import annotations

__all__ = ["ABOUT"]

ABOUT = (
    ("none", "One Module", "The sculpture is put together as one"),
    ("vertices", "Vertices", "A module at each vertex of the frame"),
    ("edges", "Edges", "A module at each edge of the frame"),
    ("faces", "Faces", "A module at each face of the frame"),
    *(
        (f"axes {n}", f"{n}-Fold Axes", f"A module at each end of the {n}-fold axes")
        for n in range(2, 10)
    ),
    *(
        (f"subgroup {name}", f"Subgroup {name}", "A module for each coset of this subgroup")
        for name in ("C2", "C3", "C4", "C5", "C6", "D2", "D3", "D4", "D5", "D6", "T", "O")
    ),
    ("joints", "Fewest Joints", "The graph of plates and joints is cut where it is thin"),
    ("listed", "As Listed", "The plates that the design lists for each module"),
)
