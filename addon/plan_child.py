# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Planning as a process of its own, so that Blender's window stays free.

Blender's Python runs this file as a program. Standard input: the job as one line of JSON; when the
input ends, Blender has gone. Standard output: lines of JSON, see `plan_run`. No bpy in here.
"""

from __future__ import annotations

import importlib
import importlib.util
import json
import os
import sys
import threading
from pathlib import Path
from typing import Any

__all__ = ["main", "planned_record"]

_NAME = "pinwright_plan"  # of the package, in this process
_ROOT = Path(__file__).resolve().parent.parent


def main() -> None:
    """Plan as the first line of standard input says. Never returns."""
    beside = _core("beside.answers")

    def work(job: dict[str, Any]) -> None:
        threading.Thread(target=_leave_with_blender, daemon=True).start()
        plan = planned_record(job, _core, lambda text, share: beside.tell(stage=text, share=share))
        beside.tell(plan=plan)

    beside.serve("The planning", work)


def _leave_with_blender() -> None:
    sys.stdin.read()
    os._exit(1)


def planned_record(job: dict[str, Any], core: Any, say: Any) -> dict[str, Any]:
    """Build and plan a design; return what `core.export.plan_record` makes of it.

    job : design (text), title, folder, frame (mesh as JSON text, or empty), diameter (of that mesh,
        mm, or None: its own); core : imports a module of core; say : takes stage and share
    """
    design = core("design.read").design_from_text(job["design"], job["title"], job["folder"])
    frame = None
    if job["frame"]:
        mesh = json.loads(job["frame"])
        frames, numpy = core("frame.frame"), importlib.import_module("numpy")
        faces = tuple(tuple(face) for face in mesh["faces"])
        frame = frames.frame_from_mesh(
            design.name, numpy.array(mesh["vertices"]), faces, diameter=job["diameter"]
        )
    say("build", 0.0)
    build = core("pipeline").build(design, None, frame)
    say("plan", 0.05)
    planned = core("assembly.plan").planned(
        build, lambda _, share: say("plan", 0.05 + 0.80 * share)
    )
    opened = core("assembly.explode_order").exploded(
        planned, lambda _, share: say("exploded view", 0.85 + 0.15 * share)
    )
    record: dict[str, Any] = core("export.plan_record").plan_record(opened)
    return record


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
