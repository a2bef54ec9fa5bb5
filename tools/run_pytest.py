# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Run pytest, write how many tests passed, failed and were skipped, and leave at once.

    python tools/run_pytest.py COUNTS.json PYTEST-ARGUMENTS...

`os._exit` is on purpose: after a picture Blender may crash or hang while the interpreter takes it
down, when every test has long been judged.
"""

from __future__ import annotations

import json
import os
import sys
from pathlib import Path
from typing import Any

import pytest


class CountWriter:
    """Pytest plugin: writes the closing figures to a file."""

    def __init__(self, path: Path) -> None:
        self.path = path

    def pytest_terminal_summary(self, terminalreporter: Any, exitstatus: int) -> None:
        """Take the figures when all tests are done (pytest calls this)."""

        def count(*outcomes: str) -> int:
            return sum(len(terminalreporter.stats.get(name, [])) for name in outcomes)

        counts = {
            "passed": count("passed", "xfailed"),
            "failed": count("failed", "error", "xpassed"),
            "skipped": count("skipped"),
        }
        self.path.write_text(json.dumps(counts), encoding="utf-8")


def main() -> int:
    """Return pytest's exit status."""
    counts = Path(sys.argv[1])
    counts.unlink(missing_ok=True)
    return int(pytest.main(sys.argv[2:], plugins=[CountWriter(counts)]))


if __name__ == "__main__":
    status = main()
    sys.stdout.flush()
    sys.stderr.flush()
    os._exit(status)
