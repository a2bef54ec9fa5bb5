# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Walk through the extension in a real Blender with its window, on a virtual screen.

    python tools/run_gui.py [--zip pinwright-...-linux_x64.zip]

The zip is made (tools/make_extension.py) and installed into settings of its own. What is done is
in tests/gui; this program starts Blender, reads what came out, and says it.
Pictures are in out/gui. Where something is missing here, it says what, and ends well.
"""

from __future__ import annotations

import argparse
import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

from blender import ROOT, Blender, find_blender
from limit import TIMED_OUT

OUT = ROOT / "out" / "gui"
ZIPS = ROOT / "build" / "gui"
COUNTS = ROOT / ".venv" / "results" / "window.txt"  # the closing line, for .ci/run
SCREEN = "1200x1900"  # so high that every panel fits
LIMIT = 900  # s
PARTS = ("artist", "manners", "planning")  # as in tests/gui/walk.py
COMPLAINTS = (
    "Traceback (most recent call last)",
    "Error: Python:",
    "rna_uiItemO",
    "unknown operator",
)


def main() -> int:
    """Return 0 when every step was well, or when there is nothing to walk with."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--zip", type=Path, help="an extension made before, inside this folder")
    parser.add_argument("--figures", action="store_true", help="measure times instead")
    parser.add_argument("--part", choices=PARTS, help="walk only this part")
    parser.add_argument("--limit", type=int, default=LIMIT, help="seconds until it is stopped")
    asked = parser.parse_args()
    os.chdir(ROOT)  # a Blender in a system of its own sees only this folder
    blender = find_blender()
    missing = lacking(blender)
    if missing:
        print(f"NOT RUN: {missing}")
        return 0
    assert blender is not None
    COUNTS.parent.mkdir(parents=True, exist_ok=True)
    close(0, 1)  # until it is known better
    shutil.rmtree(OUT, ignore_errors=True)
    OUT.mkdir(parents=True)
    what = ["figures"] if asked.figures else [asked.part] if asked.part else []
    said = walk(blender, asked.zip or make_zip(), what, asked.limit)
    if said is None:
        COUNTS.unlink()
        return TIMED_OUT
    return tell(said)


def close(passed: int, failed: int) -> str:
    """Keep the closing line in a file, and return it."""
    line = f"{passed} passed, {failed} failed, 0 skipped"
    COUNTS.write_text(line + "\n", encoding="utf-8")
    return line


def lacking(blender: Blender | None) -> str:
    """Return what is missing here, in words; nothing when all is there."""
    if sys.platform != "linux":
        return "the walk through Blender's window needs Linux and its virtual screen Xvfb"
    if blender is None:
        return (
            "no Blender was found. Install Blender 4.2 or later so that `blender` is on PATH, or "
            "name one: make gui-test BLENDER=/path/to/blender. Debian: apt-get install blender xvfb"
        )
    programs = () if blender.enclosed else ("Xvfb", "import")
    if any(shutil.which(program) is None for program in programs):
        return (
            "a virtual screen (Xvfb) and a program that takes its picture (import, of ImageMagick) "
            "are needed. Debian: apt-get install xvfb imagemagick"
        )
    return ""


def make_zip() -> Path:
    """Return the extension for this system, made anew."""
    program = [sys.executable, "tools/make_extension.py", "--out", str(ZIPS)]
    subprocess.run([*program, "--platform", "linux-x64"], check=True)
    (made,) = ZIPS.glob("*.zip")
    return made


def walk(blender: Blender, zip_file: Path, what: list[str], limit: int) -> str | None:
    """Run walk.py in Blender's window and return what Blender said; None: it took too long."""
    user = ZIPS / "user"
    shutil.rmtree(user, ignore_errors=True)
    user.mkdir(parents=True)
    width, _, height = SCREEN.partition("x")
    window = ["--window-geometry", "0", "0", width, height, "-noaudio"]
    script = ["--python", "tests/gui/walk.py", "--", str(zip_file.resolve()), str(OUT), *what]
    own = ["--factory-startup", "--enable-event-simulate", "--python-exit-code", "1"]
    env = {**os.environ, "BLENDER_USER_RESOURCES": str(user)}
    command = ["sh", "tests/gui/screen.sh", SCREEN, blender.name, *own, *window, *script]
    with (OUT / "blender.log").open("w+", encoding="utf-8") as log:
        try:
            subprocess.run(
                blender.beside(*command),
                env=env,
                stdin=subprocess.DEVNULL,
                stdout=log,
                stderr=subprocess.STDOUT,
                timeout=limit,
                check=False,
            )
        except subprocess.TimeoutExpired:
            print(f"NOT RUN to the end: stopped after {limit} s, this machine is too slow or busy")
            return None
        log.seek(0)
        return log.read()


def tell(said: str) -> int:
    """Print each step's end and return the exit status."""
    report = OUT / "report.json"
    if not report.is_file():
        sys.stderr.write(said[-4000:])
        print("Blender ended before the first step was done")
        return 1
    steps = json.loads(report.read_text(encoding="utf-8"))
    for step in steps:
        mark = "ok" if step["ok"] else "FAILED"
        print(f"{mark:7}{step['seconds']:6.1f} s  {step['name']}")
        if not step["ok"]:
            print(step["message"])
        for line in step["notes"]:
            print(f"{'':17}{line}")
    complaints = [line for line in said.splitlines() if any(text in line for text in COMPLAINTS)]
    for line in complaints:
        print(f"Blender said: {line}")
    ended = bool(steps) and steps[-1]["name"] == "the end"
    if not ended:
        sys.stderr.write(said[-4000:])
        print("Blender ended before the last step")
    failed = sum(1 for step in steps if not step["ok"]) + len(complaints) + (not ended)
    passed = sum(1 for step in steps if step["ok"])
    print(f"The pictures are in {OUT.relative_to(ROOT)}")
    print(close(passed, failed))
    return 0 if failed == 0 else 1


if __name__ == "__main__":
    sys.exit(main())
