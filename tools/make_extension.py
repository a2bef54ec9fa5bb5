# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Make the Blender extension: one zip for each system, with the libraries that it needs inside.

    python tools/make_extension.py [--out dist] [--platform linux-x64 ...]

What belongs into it is copied to build/extension, the wheels are fetched by pip for the systems
that they are meant for (not for this one), and Blender's own command builds and validates the
zips. Where no Blender is found, the same command is taken out of the bpy library.
"""

from __future__ import annotations

import argparse
import importlib.util
import json
import os
import shutil
import subprocess
import sys
import tomllib
import zipfile
from pathlib import Path
from typing import Any

from blender import ROOT, find_blender

STAGE = ROOT / "build" / "extension"
WHEELS = ROOT / "build" / "wheels"  # kept between runs
PINS = ROOT / "tools" / "extension_wheels.toml"
# The command line has no place in the extension; `blender --command pinwright` is in addon/.
CONTENT = ("__init__.py", "LICENSE", "addon", "core")
LEFT_OUT = shutil.ignore_patterns("__pycache__", "cli", "*.blend1")


def main() -> int:
    """Return 0 when every zip was built and found valid."""
    pins = tomllib.loads(PINS.read_text(encoding="utf-8"))
    asked = arguments(sorted(pins["platforms"]))
    os.chdir(ROOT)  # a Blender in a system of its own sees only this folder
    wheels = fetch(pins, asked.platform)
    stage(asked.platform, wheels)
    out = asked.out.resolve()
    out.mkdir(parents=True, exist_ok=True)
    for old in out.glob("pinwright-*.zip"):
        old.unlink()
    command = extension_command()
    run(*command, "build", "--source-dir", STAGE, "--output-dir", out, "--split-platforms")
    zips = sorted(out.glob("pinwright-*.zip"))
    if len(zips) != len(asked.platform):
        raise SystemExit(f"{len(asked.platform)} zips were wanted, {len(zips)} were made")
    for path in zips:
        run(*command, "validate", path)
        print(f"{path.relative_to(ROOT)}: {path.stat().st_size / 1e6:.1f} MB, {contents(path)}")
    return 0


def arguments(platforms: list[str]) -> argparse.Namespace:
    """Read the command line."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--out", type=Path, default=ROOT / "dist", help="folder of the zips")
    parser.add_argument("--platform", nargs="+", choices=platforms, default=platforms)
    asked = parser.parse_args()
    if not asked.out.resolve().is_relative_to(ROOT):
        parser.error(f"--out must be a folder inside {ROOT}")
    return asked


# ---------------------------------------------------------------- wheels


def fetch(pins: dict[str, Any], platforms: list[str]) -> list[Path]:
    """Return the wheels of all systems asked for; fetches those that are not here yet."""
    WHEELS.mkdir(parents=True, exist_ok=True)
    pure = ("--platform", "any", "--abi", "none", "--implementation", "py")
    wanted = {
        *(download(name, version, "3.11", pure) for name, version in pins["any"].items()),
        *(
            download(name, version, python, [f"--platform={tag}" for tag in system["pip"]])
            for system in (pins["platforms"][platform] for platform in platforms)
            for python in system["pythons"]
            for name, version in pins["compiled"][python].items()
        ),
    }
    return sorted(wanted)


def download(name: str, version: str, python: str, target: tuple[str, ...] | list[str]) -> Path:
    """Return one wheel for a Python and a system, neither of which need be ours."""
    note = WHEELS / "known.json"
    known = json.loads(note.read_text(encoding="utf-8")) if note.is_file() else {}
    key = " ".join((f"{name}=={version}", python, *target))
    if key in known and (WHEELS / known[key]).is_file():
        return WHEELS / known[key]
    report = WHEELS / "report"
    shutil.rmtree(report, ignore_errors=True)
    pip = (sys.executable, "-m", "pip", "download", "--quiet", "--disable-pip-version-check")
    options = ("--no-deps", "--only-binary=:all:", "--python-version", python, "--dest", report)
    run(*pip, *options, *target, f"{name}=={version}")
    (wheel,) = report.glob("*.whl")
    kept = WHEELS / wheel.name
    os.replace(wheel, kept)
    report.rmdir()
    note.write_text(json.dumps({**known, key: kept.name}, indent=1), encoding="utf-8")
    return kept


# ---------------------------------------------------------------- what goes in


def stage(platforms: list[str], wheels: list[Path]) -> None:
    """Copy what belongs into the extension, with a manifest that names systems and wheels."""
    shutil.rmtree(STAGE, ignore_errors=True)
    STAGE.mkdir(parents=True)
    for name in CONTENT:
        source = ROOT / name
        if source.is_dir():
            shutil.copytree(source, STAGE / name, ignore=LEFT_OUT)
        else:
            shutil.copy(source, STAGE / name)
    folder = STAGE / "wheels"
    folder.mkdir()
    for wheel in wheels:
        os.link(wheel, folder / wheel.name)
    text = (ROOT / "blender_manifest.toml").read_text(encoding="utf-8")
    (STAGE / "blender_manifest.toml").write_text(
        manifest(text, platforms, [f"./wheels/{wheel.name}" for wheel in wheels]), encoding="utf-8"
    )


def manifest(text: str, platforms: list[str], wheels: list[str]) -> str:
    """Return the manifest with two more fields, put before its first table."""
    head, bracket, tables = text.partition("\n[permissions]")
    if not bracket:
        raise SystemExit("blender_manifest.toml has no table [permissions]")
    # A JSON list of plain texts is a TOML list too.
    added = f"platforms = {json.dumps(platforms)}\nwheels = {json.dumps(wheels, indent=2)}\n"
    return f"{head}\n{added}{bracket}{tables}"


def contents(path: Path) -> str:
    """Return what a zip holds, in words, after a look for what must not be there."""
    with zipfile.ZipFile(path) as archive:
        names = archive.namelist()
    strangers = [
        n for n in names if n.split("/")[0] not in (*CONTENT, "blender_manifest.toml", "wheels")
    ]
    numpy = [n for n in names if n.startswith("wheels/numpy")]
    if strangers or numpy:
        raise SystemExit(f"{path.name} holds what it must not: {strangers + numpy}")
    wheels = sum(1 for name in names if name.endswith(".whl"))
    return f"{len(names) - wheels} files and {wheels} wheels"


# ---------------------------------------------------------------- Blender's command


def extension_command() -> list[str]:
    """Return how Blender's command for extensions begins."""
    found = find_blender()
    if found is not None:
        return found.headless("--command", "extension")
    library = importlib.util.find_spec("bpy")
    places = (library.submodule_search_locations or []) if library is not None else []
    for place in places:
        for script in Path(place).glob("*/scripts/addons_core/bl_pkg/cli/blender_ext.py"):
            return [sys.executable, str(script)]
    raise SystemExit(
        "No Blender was found, and no bpy library that brings its command for extensions.\n"
        "Install Blender 4.2 or later, or name one: make extension BLENDER=/path/to/blender"
    )


def run(*command: str | Path) -> None:
    """Run a command; what it says is shown only when it fails."""
    words = [str(word) for word in command]
    done = subprocess.run(words, capture_output=True, text=True, check=False)
    if done.returncode != 0:
        sys.stderr.write(done.stdout + done.stderr)
        raise SystemExit(f"status {done.returncode}: {' '.join(words)}")


if __name__ == "__main__":
    sys.exit(main())
