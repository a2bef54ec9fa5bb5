# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The command `pinwright`: finds the sub-command, and turns every end into an exit status.

0 all well; 1 built, but a check failed; 2 refused, nothing written; 70 a fault of the program
itself; 130 stopped with Ctrl-C. At the top of this module and of the sub-commands stands no
import that takes time (numpy, shapely, rich): they wait until a sub-command runs.
"""

from __future__ import annotations

import argparse
import errno
import os
import sys
import traceback
from collections.abc import Callable, Sequence
from contextlib import suppress
from io import TextIOWrapper
from typing import NoReturn

from ... import __version__
from ..errors import PinwrightError
from . import build, check, coupon, fields, frames, materials, new, plan, search, turn
from .answers import error_record, print_json

__all__ = [
    "EXIT_BUG",
    "EXIT_CHECK_FAILED",
    "EXIT_OK",
    "EXIT_OUTPUT_LOST",
    "EXIT_REFUSED",
    "EXIT_STOPPED",
    "main",
]

EXIT_OK = 0
EXIT_CHECK_FAILED = 1
EXIT_REFUSED = 2
EXIT_BUG = 70  # EX_SOFTWARE of the BSD list of exit statuses
EXIT_OUTPUT_LOST = 74  # EX_IOERR of the same list
EXIT_STOPPED = 130  # what shells give for Ctrl-C: 128 and the number of the signal

# The disk is full, over its quota, broken, or the file would be too large.
_OUTPUT_LOST = frozenset((errno.ENOSPC, errno.EDQUOT, errno.EIO, errno.EFBIG))
_COMMANDS = (new, search, turn, check, build, plan, coupon, frames, materials, fields)

_DESCRIPTION = "Designs hanging sculptures of flat sheet: plates, tenons, pins and cross-laps."
_EPILOG = """\
A first piece, from nothing to cut files:
  pinwright new star.toml --recipe right-angle-orbit --frame dodecahedron
  pinwright check star.toml
  pinwright plan star.toml
  pinwright build star.toml --out star

exit status: 0 all well; 1 built, but a check failed; 2 refused, nothing written;
             74 the answer could not be written where it is sent
"""


class _UsageError(PinwrightError):
    """The command line is not understood."""


class _Parser(argparse.ArgumentParser):
    """A parser that raises instead of leaving, so that --json can answer usage errors too."""

    def error(self, message: str) -> NoReturn:
        raise _UsageError(f"{message}. `{self.prog} --help` tells what may stand there.")


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command line and return the exit status.

    arguments : what stands behind `pinwright`; None: those of the process
    """
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, TextIOWrapper):
            stream.reconfigure(errors="replace")  # a narrow terminal code must not stop a build
    given = list(sys.argv[1:] if arguments is None else arguments)
    as_json = "--json" in given
    try:
        return _run(given)
    except PinwrightError as error:
        _tell(f"pinwright: {error}", error_record(error), as_json)
        return EXIT_REFUSED
    except KeyboardInterrupt as stop:
        # A sub-command that was stopped after its files were in place says so.
        said = str(stop) or "stopped; nothing was written"
        _tell(f"\npinwright: {said}", {"kind": "Stopped", "message": said}, as_json)
        return EXIT_STOPPED
    except BrokenPipeError:
        # The reader (a pager, `head`) has gone. Python must not try to flush into the pipe again.
        with suppress(OSError):
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return EXIT_OK
    except OSError as error:
        if error.errno not in _OUTPUT_LOST or error.filename is not None:
            return _fault(error, as_json)
        with suppress(OSError):
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        said = f"the answer cannot be written where it is sent: {error.strerror}"
        _tell(f"pinwright: {said}. Make room there.", {"kind": "Output", "message": said}, False)
        return EXIT_OUTPUT_LOST
    except Exception as error:
        if isinstance(error.__context__ or error.__cause__, KeyboardInterrupt):
            # Ctrl-C while a library was being loaded comes out as an error of that library.
            _tell("\npinwright: stopped; nothing was written", {"kind": "Stopped"}, as_json)
            return EXIT_STOPPED
        return _fault(error, as_json)


def _fault(error: Exception, as_json: bool) -> int:
    """Tell of a fault of the program itself, from within its `except`."""
    traceback.print_exc()
    said = f"a fault of the program itself ({type(error).__name__}: {error})"
    remedy = "Please report it with the lines above and the design file."
    _tell(f"pinwright: {said}. {remedy}", {"kind": "Fault", "message": said}, as_json)
    return EXIT_BUG


def _run(given: Sequence[str]) -> int:
    parser = _parser()
    args = parser.parse_args(given)
    run: Callable[[argparse.Namespace], int] | None = getattr(args, "run", None)
    if run is None:
        parser.print_help(sys.stderr)
        return EXIT_REFUSED
    status = run(args)
    sys.stdout.flush()  # so that a reader that has gone is noticed here
    return status


def _parser() -> argparse.ArgumentParser:
    parser = _Parser(
        prog="pinwright",
        description=_DESCRIPTION,
        epilog=_EPILOG,
        formatter_class=argparse.RawDescriptionHelpFormatter,
        allow_abbrev=False,
    )
    parser.add_argument("--version", action="version", version=f"pinwright {__version__}")
    commands = parser.add_subparsers(title="commands", metavar="COMMAND", parser_class=_Parser)
    for command in _COMMANDS:
        command.register(commands)
    return parser


def _tell(text: str, record: dict[str, object], as_json: bool) -> None:
    if as_json:
        print_json({"error": record})
    else:
        print(text, file=sys.stderr)
