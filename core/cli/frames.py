# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""`pinwright frames`: the solids of the catalogue, or the counts of one frame."""

from __future__ import annotations

import argparse
import os
from typing import TYPE_CHECKING, Any

from .answers import print_json
from .terminal import console, heading, plain_table

if TYPE_CHECKING:
    from ..frame.frame import Frame

__all__ = ["register", "run"]

_COLUMNS = ("name", "family", "vertices", "edges", "faces", "group", "handed")
_SOLID_DIAMETER = 1000.0


def register(commands: Any) -> None:
    """Add the sub-command to the parser."""
    parser = commands.add_parser(
        "frames",
        help="list the solids, or look at one frame",
        description="Lists the solids of the catalogue, or tells counts, symmetry and edges of "
        "one solid or mesh file.",
        allow_abbrev=False,
    )
    parser.add_argument(
        "frame", nargs="?", metavar="FRAME", help="a solid by name, or an OBJ, OFF, PLY, STL file"
    )
    parser.add_argument(
        "--diameter",
        type=float,
        metavar="MM",
        help="size to give it; left out: a mesh as its file has it, a solid 1000 mm",
    )
    parser.add_argument("--json", action="store_true", help="print one JSON object, nothing else")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """List, or look; return 0."""
    if args.frame is None:
        _list(args.json)
    else:
        _tell(_frame(args.frame, args.diameter), args.json)
    return 0


def _list(as_json: bool) -> None:
    from ..frame.solids import catalogue

    entries = catalogue()
    if as_json:
        rows = [{name: getattr(entry, name) for name in _COLUMNS} for entry in entries]
        print_json({"frames": rows})
        return
    out = console()
    table = plain_table("solid", "vertices>", "edges>", "faces>", "group", "")
    family = None
    for entry in entries:
        if family not in (None, entry.family):
            table.add_section()
        family = entry.family
        counts = (entry.vertices, entry.edges, entry.faces)
        handed = f"also {entry.name} left" if entry.handed else ""
        table.add_row(entry.name, *map(str, counts), entry.group, handed)
    heading(out, "Frames")
    out.print(table)
    out.print()
    out.print(
        "n is from 3 to 60, as in prism 7; left names a mirror image. A closed mesh in an OBJ,"
    )
    out.print(
        "OFF, PLY or STL file is a frame too, and so is a bare rotation group: C1 to C120, D2 to"
    )
    out.print("D120, T, O, I.")


def _frame(name: str, diameter: float | None) -> Frame:
    from ..design.model import FrameChoice
    from ..frame.frame import frame_from_choice, frame_from_file
    from .choices import frame_choice, number_of

    if diameter is not None:
        diameter = number_of(FrameChoice, "diameter", diameter, "--diameter")
    choice = frame_choice(name, _SOLID_DIAMETER if diameter is None else diameter)
    if choice.mesh is not None and diameter is None:
        return frame_from_file(choice.mesh)
    return frame_from_choice(choice, os.getcwd())


def _tell(frame: Frame, as_json: bool) -> None:
    from ..frame.detect import mirror_symmetric

    lengths = frame.edge_lengths
    record: dict[str, Any] = {
        "name": frame.name,
        "vertices": len(frame.vertices),
        "edges": len(frame.edges),
        "faces": len(frame.faces),
        "group": {"name": frame.group.name, "order": frame.group.order},
        "mirror": mirror_symmetric(frame),
        "diameter": 2.0 * frame.radius,
        "shortest_edge": float(lengths.min()) if len(lengths) else None,
        "longest_edge": float(lengths.max()) if len(lengths) else None,
    }
    if as_json:
        print_json({"frame": record})
        return
    out = console()
    heading(out, frame.name)
    table = plain_table("", "")
    table.show_header = False
    for title, text in _rows(record):
        table.add_row(title, text)
    out.print(table)


def _rows(record: dict[str, Any]) -> list[tuple[str, str]]:
    group = record["group"]
    mirror = "the frame itself, turned" if record["mirror"] else "another frame: this one is handed"
    rows = [
        ("vertices, edges, faces", "{vertices}, {edges}, {faces}".format_map(record)),
        ("rotation group", f"{group['name']}, order {group['order']}"),
        ("mirror image", mirror),
        ("diameter", f"{record['diameter']:.3f} mm"),
    ]
    if record["shortest_edge"] is not None:
        rows += [
            ("shortest edge", f"{record['shortest_edge']:.3f} mm"),
            ("longest edge", f"{record['longest_edge']:.3f} mm"),
        ]
    return rows
