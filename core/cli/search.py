# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""`pinwright search`: finds designs whose every joint is square, and a sheet to choose from."""

from __future__ import annotations

import argparse
import os
from pathlib import Path
from typing import TYPE_CHECKING, Any

from .answers import print_json
from .terminal import Say, console, progress_bar

if TYPE_CHECKING:
    from ..search.finds import Wanted
    from ..search.state import State

__all__ = ["register", "run"]


def register(commands: Any) -> None:
    """Add the sub-command to the parser."""
    parser = commands.add_parser(
        "search",
        help="find right-angle designs and show them on a sheet",
        description="Searches a rotation group for sculptures whose every joint is square, proves "
        "each by a full build, and writes design files, an index and a contact sheet. Ctrl-C stops "
        "it and keeps what was found.",
        allow_abbrev=False,
    )
    parser.add_argument("group", metavar="GROUP", help="T, O or I")
    parser.add_argument("--motifs", type=int, choices=(1, 2, 3), default=2, help="default: 2")
    parser.add_argument("--out", metavar="FOLDER", required=True, help="where the files go")
    parser.add_argument("--seed", type=int, default=1, help="of the random draws; default: 1")
    parser.add_argument("--time", type=float, metavar="SECONDS", help="stop after this time")
    parser.add_argument("--designs", type=int, metavar="N", help="stop after N designs")
    parser.add_argument("--batches", type=int, metavar="N", help="stop after N batches in all")
    parser.add_argument(
        "--thickness", type=float, default=3.0, metavar="MM", help="of the sheet; default: 3"
    )
    parser.add_argument(
        "--diameter",
        type=float,
        default=1000.0,
        metavar="MM",
        help="of the sculpture; default: 1000",
    )
    parser.add_argument(
        "--width", type=float, metavar="MM", help="of the strips; left out: the search chooses"
    )
    parser.add_argument(
        "--clearance", type=float, metavar="MM",
        help="between plates that are not joined; default: a hundredth of the diameter",
    )  # fmt: skip
    parser.add_argument("--material", default="aluminium-5052", help="default: %(default)s")
    parser.add_argument(
        "--weights", default="", metavar="NAME=W,...",
        help="what counts how much: clearance, web, slenderness, openness, evenness, roundness, "
        "parts, square, linked",
    )  # fmt: skip
    parser.add_argument("--resume", action="store_true", help="go on with the search in FOLDER")
    parser.add_argument(
        "--workers", type=int, metavar="N", help="processes; left out: one for each core"
    )
    parser.add_argument("--scheduler", metavar="ADDRESS", help="of a running Dask scheduler")
    parser.add_argument(
        "--sheet", type=int, default=60, metavar="N", help="designs on the sheet; default: 60"
    )
    parser.add_argument("--json", action="store_true", help="print one JSON object, nothing else")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Search and write; return 0, or 1 when nothing was found."""
    from ..search.rank import parse_weights
    from ..search.run import begin, search
    from ..search.sheet import write_sheet

    weights = parse_weights(args.weights)
    wanted, plan = _wanted(args), _plan(args)
    folder = Path(args.out)
    state = begin(folder, wanted, args.seed, args.resume)
    stopped = False
    with progress_bar(not args.json) as say:
        try:
            search(state, folder, plan, _teller(say, args))
        except KeyboardInterrupt:
            stopped = True
        files = write_sheet(state, folder, weights, args.sheet, say)
    if stopped:
        raise KeyboardInterrupt(
            f"stopped; {len(state.found)} designs in {folder} are kept (go on with --resume)"
        )
    _tell(state, files, args)
    return 0 if state.found else 1


def _wanted(args: argparse.Namespace) -> Wanted:
    """Return what is searched. Raises DesignError for what is out of range."""
    from ..design.materials import material
    from ..design.model import FrameChoice, JointSizes, MotifChoice, Sheet
    from ..errors import DesignError
    from ..search.finds import Wanted
    from .choices import number_of

    group = args.group.strip().upper()
    if group not in ("T", "O", "I"):
        raise DesignError("GROUP", args.group, "T, O or I")
    diameter = number_of(FrameChoice, "diameter", args.diameter, "--diameter")
    clearance = diameter / 100 if args.clearance is None else args.clearance
    width = args.width
    if width is not None:
        width = number_of(MotifChoice, "width", width, "--width")
    return Wanted(
        group=group,
        motifs=args.motifs,
        thickness=number_of(Sheet, "thickness", args.thickness, "--thickness"),
        diameter=diameter,
        width=width,
        clearance=number_of(JointSizes, "gap", clearance, "--clearance"),
        material=material(args.material).name,
    )


def _plan(args: argparse.Namespace) -> Any:
    from ..errors import DesignError
    from ..search.run import Plan

    for name in ("time", "designs", "batches", "workers", "sheet"):
        value = getattr(args, name)
        if value is not None and not value >= (0 if name == "workers" else 1e-9):
            raise DesignError(f"--{name}", value, "a number above 0")
    seconds = args.time
    if seconds is None and args.designs is None and args.batches is None:
        seconds = 60.0
    workers = (os.cpu_count() or 1) if args.workers is None else args.workers
    return Plan(seconds, args.designs, args.batches, workers, args.scheduler)


def _teller(say: Say | None, args: argparse.Namespace) -> Any:
    """Return a function that moves the bar: by time, by designs or by batches."""
    if say is None:
        return None
    before: list[float] = []

    def tell(state: State) -> None:
        if not before:
            before.append(state.seconds)
        shares = [0.0]
        if args.time is not None:
            shares.append((state.seconds - before[0]) / args.time)
        if args.designs is not None:
            shares.append(len(state.found) / args.designs)
        if args.batches is not None:
            shares.append(state.next_batch / args.batches)
        say(f"{len(state.found)} designs", min(max(shares), 1.0))

    return tell


def _tell(state: State, files: tuple[Path, ...], args: argparse.Namespace) -> None:
    if args.json:
        print_json(
            {
                "folder": str(args.out),
                "designs": len(state.found),
                "normals": state.normals,
                "judged": state.judged,
                "batches": state.next_batch,
                "seconds": round(state.seconds, 1),
                "files": [str(file) for file in files],
            }
        )
        return
    out = console()
    out.print(
        f"{len(state.found)} designs of {state.normals} different sets of planes; "
        f"{state.judged:,} candidates judged in {state.seconds:.0f} s "
        f"({state.next_batch} batches).",
        soft_wrap=True,
    )
    if not state.found:
        out.print("Give it more time, thinner strips or less clearance.", style="bold red")
        return
    for file in files:
        out.print(f"  {file}", soft_wrap=True)
