# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""`pinwright search GROUP --list`: how many patterns there are, and all normals of one motif."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from .answers import print_json
from .terminal import console, plain_table

if TYPE_CHECKING:
    from ..frame.group import Group

__all__ = ["tell_patterns"]


def tell_patterns(name: str, motifs: int, as_json: bool) -> int:
    """Print the patterns of a group and return 0. Raises DesignError for no group with rotors."""
    from ..errors import DesignError
    from ..frame.group import rotation_group
    from ..search.patterns import rotor_elements

    allowed = "T, O, I, or D3, D4, D5, ..., D12"
    group = name.strip().upper()
    if group not in ("T", "O", "I", *(f"D{n}" for n in range(3, 13))):
        raise DesignError("GROUP", name, allowed)
    found = rotation_group(group)
    record = {
        "group": group,
        "motifs": motifs,
        "rotors": len(rotor_elements(found)),
        "patterns": _patterns(found, motifs),
    }
    if motifs == 1:
        record["normals"] = _normals(found)
    if as_json:
        print_json(record)
    else:
        _print(record)
    return 0


def _patterns(group: Group, motifs: int) -> list[dict[str, Any]]:
    from ..search.listing import every_pattern, free_numbers, same_up_to_turns
    from ..search.patterns import KINDS

    return [
        {
            "kind": kind,
            "patterns": len(every_pattern(group, kind)),
            "up_to_turns": same_up_to_turns(group, kind),
            "free": free_numbers(kind),
        }
        for kind in KINDS[motifs]
    ]


def _normals(group: Group) -> list[dict[str, Any]]:
    from ..search.normals import one_motif_normals

    found = []
    for one in one_motif_normals(group):
        turns = [group.axis_angle_deg(g) for g in one.elements]
        found.append(
            {
                "normal": [float(x) for x in one.normal],
                "directions": one.lines,
                "shared_planes": one.plates_in_plane > 1,
                "square": [
                    {"axis": [float(x) for x in axis], "angle": float(angle)}
                    for axis, angle in turns
                ],
            }
        )
    return found


def _print(record: dict[str, Any]) -> None:
    out = console()
    motifs = record["motifs"]
    table = plain_table("kind of pattern", "patterns", "turned alike", "free numbers")
    for one in record["patterns"]:
        table.add_row(*(str(one[key]) for key in ("kind", "patterns", "up_to_turns", "free")))
    out.print(f"{record['group']}, {motifs} {'motif' if motifs == 1 else 'motifs'}")
    out.print(table)
    out.print(
        "Turned alike: those that a turn of the whole frame joins counted once. Free numbers: of "
        "the normals; 0 means that right angles fix them. Mirror twins are one pattern: their "
        "offsets and places are negated.",
        soft_wrap=True,
    )
    if motifs > 1:
        return
    table = plain_table("normal", "plane directions", "square to its copies by turns of")
    for one in record["normals"]:
        angles = [f"{turn['angle']:.0f}" for turn in one["square"]]
        said = ", ".join(f"{angles.count(a)} x {a} deg" for a in sorted(set(angles), key=int))
        shared = " (plates share planes)" if one["shared_planes"] else ""
        normal = "  ".join(f"{round(x, 6) + 0.0:9.6f}" for x in one["normal"])
        table.add_row(normal, str(one["directions"]), said + shared)
    out.print("All normals of one motif with two or more square joint classes")
    out.print(table)
