# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""A program that works beside another one: a job on standard input, lines of JSON as its answer."""

from __future__ import annotations

import json
import os
import signal
import sys
import traceback
from collections.abc import Callable
from contextlib import suppress
from typing import Any, NoReturn

from ..errors import PinwrightError

__all__ = ["serve", "tell"]


def serve(what: str, work: Callable[[dict[str, Any]], None]) -> NoReturn:
    """Do one job and leave; threads may still wait then.

    The job is the first line of standard input, as JSON; its `path` is where libraries are found.
    What goes wrong is told as ``{"error": text}``. Exit status: 0 done, 2 refused, 1 broken off.
    what : what breaks off, for the text of an error
    """
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C in the other's terminal is the other's
    code = 1
    try:
        job = json.loads(sys.stdin.readline())
        sys.path[:] = job["path"]
        code = _answered(what, work, job)
    except BaseException:
        traceback.print_exc()
    finally:
        with suppress(OSError):
            sys.stdout.flush()
            sys.stderr.flush()
        os._exit(code)


def _answered(what: str, work: Callable[[dict[str, Any]], None], job: dict[str, Any]) -> int:
    try:
        work(job)
    except PinwrightError as error:
        tell(error=str(error))
        return 2
    except Exception as error:
        traceback.print_exc()
        tell(error=f"{what} broke off: {type(error).__name__}: {error}")
        return 1
    return 0


def tell(**what: object) -> None:
    """Write one record."""
    sys.stdout.write(json.dumps(what) + "\n")
    sys.stdout.flush()
