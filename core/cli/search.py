# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""`pinwright search`: finds designs whose every joint is square, and a sheet to choose from."""

from __future__ import annotations

import argparse
import os
import time
from pathlib import Path
from typing import TYPE_CHECKING, Any

from .answers import print_json
from .terminal import Say, console, counted, progress_bar

if TYPE_CHECKING:
    from ..search.finds import Wanted
    from ..search.state import State

__all__ = ["register", "run"]

_DESCRIPTION = """\
Searches a rotation group for sculptures whose every joint is square, proves each
by a full build, and writes design files, an index and a contact sheet. Ctrl-C
stops it and keeps what was found; --resume goes on with it.
"""

_EPILOG = """\
figures that --weights weighs (what they mean: docs/search.md), with their usual weights:
  clearance=1    air between plates that are not joined
  web=0.5        material beside slots and holes
  slenderness=1  strips 8 to 16 times as long as wide
  openness=1     about half of the silhouette free
  evenness=2     material spread evenly over the silhouette
  roundness=1    as broad one way as the other
  parts=0.5      few different outlines
  square=1       joints at 90 degrees
  linked=0.5     rings linked like a chain's
  springable=0.5 rings that can be sprung shut without bending the sheet for good

  pinwright search I --motifs 2 --time 600 --weights evenness=4,linked=0 --out found
  pinwright search I --motifs 1 --list

exit status:
  0    at least one design is in the folder
  1    the search ran to its limit and the folder holds no design; the index is written, no sheet
  2    refused, nothing written: the same for a scheduler that does not answer
  130  stopped with Ctrl-C; what was found is kept
"""


def register(commands: Any) -> None:
    """Add the sub-command to the parser."""
    parser = commands.add_parser(
        "search",
        help="find right-angle designs and show them on a sheet",
        description=_DESCRIPTION,
        epilog=_EPILOG,
        formatter_class=argparse.RawDescriptionHelpFormatter,
        allow_abbrev=False,
    )
    parser.add_argument("group", metavar="GROUP", help="T, O or I; with --list also D3 to D12")
    parser.add_argument("--motifs", type=int, choices=(1, 2, 3), default=2, help="default: 2")
    parser.add_argument("--out", metavar="FOLDER", help="where the files go")
    parser.add_argument(
        "--list", action="store_true",
        help="search nothing: say how many patterns there are, and for one motif all normals",
    )  # fmt: skip
    parser.add_argument(
        "--linked", action="store_true",
        help="only designs in which rotors of two motifs pass through each other on one axis",
    )  # fmt: skip
    parser.add_argument("--seed", type=int, default=1, help="of the random draws; default: 1")
    parser.add_argument("--time", type=float, metavar="SECONDS",
                        help="stop after this time, pictures included; default: 60, where no other "
                        "limit is given")  # fmt: skip
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
        help="what counts how much, 0 or more; see the list below",
    )  # fmt: skip
    parser.add_argument(
        "--resume", action="store_true", help="go on with the search that lies in FOLDER"
    )
    parser.add_argument(
        "--workers",
        type=int,
        metavar="N",
        help="processes; 0: none besides this one; left out: one for each core",
    )
    parser.add_argument("--scheduler", metavar="ADDRESS", help="of a running Dask scheduler")
    parser.add_argument(
        "--sheet", type=int, default=60, metavar="N", help="designs on the sheet; default: 60"
    )
    parser.add_argument("--json", action="store_true", help="print one JSON object, nothing else")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Search and write; return 0, or 1 when the folder holds no design at the end."""
    start = time.monotonic()
    if args.list:
        from .listing import tell_patterns

        return tell_patterns(args.group, args.motifs, args.json)
    if args.out is None:
        from ..errors import DesignError

        raise DesignError("--out", "nothing", "a folder", "Add --out FOLDER.")
    from ..search.rank import parse_weights
    from ..search.run import begin, search

    weights = parse_weights(args.weights)
    wanted, plan = _wanted(args), _plan(args, time.monotonic() - start)
    until = None if plan.seconds is None else time.monotonic() + plan.seconds
    folder = Path(args.out)
    state = begin(folder, wanted, args.seed, args.resume)
    if args.resume and not args.json:
        print(
            f"Going on with the search in {folder}: {len(state.found)} designs so far, "
            f"{state.next_batch} batches done.",
            flush=True,
        )
    stopped = False
    with progress_bar(not args.json) as say:
        try:
            search(state, folder, plan, _teller(say, args, plan, until))
        except KeyboardInterrupt:
            stopped = True
        files, drawn = _sheet(state, folder, weights, args, plan, say, until)
    if stopped:
        raise KeyboardInterrupt(
            f"stopped; {_designs(len(state.found))} in {folder} {_are(len(state.found))} kept "
            "(go on with --resume)"
        )
    _tell(state, files, drawn, args)
    return 0 if state.found else 1


def _sheet(
    state: State,
    folder: Path,
    weights: dict[str, float],
    args: argparse.Namespace,
    plan: Any,
    say: Say | None,
    until: float | None,
) -> tuple[tuple[Path, ...], int]:
    """Write the sheet; return its files and how many of its designs have a picture."""
    from ..search.sheet import write_sheet

    drawn = 0

    def told(text: str, share: float) -> None:
        nonlocal drawn
        drawn += 1
        if say is not None:
            say(text, share)

    try:
        return write_sheet(
            state, folder, weights, args.sheet, told, max(plan.workers, 1), until
        ), drawn
    except KeyboardInterrupt:
        raise KeyboardInterrupt(
            f"stopped; {_designs(len(state.found))} in {folder} {_are(len(state.found))} kept, the "
            "sheet is not done (--resume writes it)"
        ) from None


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
    if args.motifs == 1 and not _has_one_motif(group):
        allowed = "a group in which copies of one motif can be joined at right angles: T or I"
        raise DesignError("GROUP", f"{group} with one motif", allowed, "Or add --motifs 2.")
    if args.linked and args.motifs == 1:
        raise DesignError("--linked", "with one motif", "two or three motifs", "Add --motifs 2.")
    diameter = number_of(FrameChoice, "diameter", args.diameter, "--diameter")
    clearance = diameter / 100 if args.clearance is None else args.clearance
    width = args.width
    if width is not None:
        width = number_of(MotifChoice, "width", width, "--width")
    for name, value in (("--width", width), ("--clearance", clearance)):
        if value is not None and value > diameter / 4:
            allowed = f"at most a quarter of the diameter, {diameter / 4:g} mm"
            raise DesignError(name, value, allowed, "No plates would have room beside each other.")
    return Wanted(
        group=group,
        motifs=args.motifs,
        thickness=number_of(Sheet, "thickness", args.thickness, "--thickness"),
        diameter=diameter,
        width=width,
        clearance=number_of(JointSizes, "gap", clearance, "--clearance"),
        material=material(args.material).name,
        linked=args.linked,
    )


def _has_one_motif(group: str) -> bool:
    from ..frame.group import rotation_group
    from ..search.batch import one_motif_choices

    return len(one_motif_choices(rotation_group(group))) > 0


# Options that are counts or seconds, least and most (a year; the seeds of 64 bits).
_BOUNDS = (
    ("time", 0.1, 31_536_000),
    ("designs", 1, 10**9),
    ("batches", 1, 10**9),
    ("workers", 0, 4096),
    ("sheet", 1, 10_000),
    ("seed", 0, 2**63 - 1),
)


def _plan(args: argparse.Namespace, gone: float) -> Any:
    """Return limits and places; gone : seconds of the time that are over already."""
    from ..errors import DesignError
    from ..search.run import Plan

    for name, least, most in _BOUNDS:
        value = getattr(args, name)
        if value is not None and not least <= value <= most:
            raise DesignError(f"--{name}", value, f"a number from {least:g} to {most:g}")
    seconds = args.time
    if seconds is None and args.designs is None and args.batches is None:
        seconds = 60.0
    if seconds is not None:
        seconds = max(seconds - gone, 0.1)
    workers = (os.cpu_count() or 1) if args.workers is None else args.workers
    return Plan(seconds, args.designs, args.batches, workers, args.scheduler, args.sheet)


def _teller(say: Say | None, args: argparse.Namespace, plan: Any, until: float | None) -> Any:
    """Return a function that moves the bar and says how far the search is."""
    if say is None:
        return None
    start = time.monotonic()
    first: list[int] = []

    def tell(state: State) -> None:
        if not first:
            first.append(state.next_batch - 1)
        now = time.monotonic()
        shares = [0.0]
        if until is not None:
            shares.append((now - start) / max(until - start, 1e-9))
        if args.designs is not None:
            shares.append(len(state.found) / args.designs)
        if args.batches is not None:
            todo = max(args.batches - first[0], 1)
            shares.append((state.next_batch - first[0]) / todo)
        share = min(max(shares), 1.0)
        left = (now - start) * (1 - share) / share if share > 0 else None
        say(_progress(state, left), share)

    return tell


def _progress(state: State, left: float | None) -> str:
    """Return designs, sets of planes, candidates and the time that is left, in a few words."""
    said = (
        f"{_designs(len(state.found))}, {counted(state.normals, 'set')} of planes, "
        f"{state.judged / 1e6:.1f} M candidates"
    )
    if left is None:
        return said
    return f"{said}, {int(left) // 60}:{int(left) % 60:02d} left"


def _tell(state: State, files: tuple[Path, ...], drawn: int, args: argparse.Namespace) -> None:
    shown = min(args.sheet, len(state.found))
    if args.json:
        print_json(
            {
                "folder": str(args.out),
                "designs": len(state.found),
                "normals": state.normals,
                "judged": state.judged,
                "batches": state.next_batch,
                "seconds": round(state.seconds, 1),
                "shown": shown,
                "pictures": drawn,
                "files": [str(file) for file in files],
            }
        )
        return
    out = console()
    out.print(
        f"{_designs(len(state.found))} of {counted(state.normals, 'different set')} of planes; "
        f"{state.judged:,} candidates judged in {state.seconds:.0f} s "
        f"({counted(state.next_batch, 'batch', 'batches')}).",
        soft_wrap=True,
    )
    if not state.found:
        ask = "Give it more time, thinner strips or less clearance."
        if not state.next_batch:
            ask = "Not one batch of candidates was finished: give it more time."
        out.print(ask, style="bold red")
        return
    if drawn < shown:
        out.print(
            f"The time was up after {drawn} of {shown} pictures: --resume with more time draws "
            "the others.",
            soft_wrap=True,
        )
    for file in files:
        out.print(f"  {file}", soft_wrap=True)


def _designs(count: int) -> str:
    return counted(count, "design")


def _are(count: int) -> str:
    return "is" if count == 1 else "are"
