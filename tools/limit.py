# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Run a command with a time limit and leave no process behind (`timeout`, but everywhere).

    python tools/limit.py SECONDS COMMAND...

The command gets a process group of its own; at the limit, or when we are interrupted, the whole
group is killed. Blender as a module may hang at exit, so no test process runs without this.
"""

from __future__ import annotations

import os
import signal
import subprocess
import sys

TIMED_OUT = 124  # as the well-known command says it


def run_limited(command: list[str], seconds: float, env: dict[str, str] | None = None) -> int:
    """Return the command's exit status (negative: killed by that signal), 124 at the limit."""
    # Being ended ourselves must unwind the stack too, so that the group is killed on the way.
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(128 + signal.SIGTERM))
    with subprocess.Popen(
        command, stdin=subprocess.DEVNULL, env=env, start_new_session=True
    ) as process:
        try:
            return process.wait(timeout=seconds)
        except subprocess.TimeoutExpired:
            print(f"stopped after {seconds:g} s: {' '.join(command)}", file=sys.stderr, flush=True)
            return TIMED_OUT
        finally:
            _kill_group(process.pid)


def _kill_group(group: int) -> None:
    """Kill what is left of the group; that nothing is left is the usual case."""
    try:
        os.killpg(group, signal.SIGKILL)
    except (ProcessLookupError, PermissionError):
        return


if __name__ == "__main__":
    if len(sys.argv) < 3:
        raise SystemExit("usage: limit.py SECONDS COMMAND...")
    status = run_limited(sys.argv[2:], float(sys.argv[1]))
    sys.exit(status if status >= 0 else 128 - status)
