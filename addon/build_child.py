# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Building as a process of its own, so that Blender's window stays free.

Blender's Python runs this file as a program. Standard input: the job as one line of JSON, with the
files that `core.beside.handing` reads and writes; when the input ends, Blender has gone. Standard
output: lines of JSON, see `building`. No bpy in here.
"""

from __future__ import annotations

import importlib
import importlib.util
import os
import sys
import threading
import time
from pathlib import Path
from typing import Any

__all__ = ["main"]

_NAME = "pinwright_build"  # of the package, in this process
_ROOT = Path(__file__).resolve().parent.parent


def main() -> None:
    """Build what the first line of standard input names. Never returns."""
    beside = _core("beside.answers")

    def work(job: dict[str, Any]) -> None:
        threading.Thread(target=_leave_with_blender, daemon=True).start()
        handing = _core("beside.handing")
        design, frame = handing.taken(Path(job["order"]))
        began = time.process_time()
        build = _core("pipeline").build(
            design, lambda stage, share: beside.tell(stage=stage, share=share), frame
        )
        took = time.process_time() - began
        handing.hand(build, Path(job["build"]))
        beside.tell(done=took)

    beside.serve("The build", work)


def _leave_with_blender() -> None:
    sys.stdin.read()
    os._exit(1)


def _core(module: str) -> Any:
    return importlib.import_module(f"{_NAME}.core.{module}")


def _name_package() -> None:
    """Make the package that this file belongs to importable under a name of our own."""
    spec = importlib.util.spec_from_file_location(
        _NAME, _ROOT / "__init__.py", submodule_search_locations=[str(_ROOT)]
    )
    package = importlib.util.module_from_spec(spec)
    sys.modules[_NAME] = package
    spec.loader.exec_module(package)


if __name__ == "__main__":
    _name_package()
    main()
