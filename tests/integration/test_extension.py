# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The extension packs every library that the package needs, in releases that the package takes.

That zips are built, valid and can be installed is shown by `make extension` and `make gui-test`.
"""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).resolve().parent.parent.parent
BLENDERS_OWN = {"numpy"}
COMMAND_LINE_ONLY = {"rich"}
# Blender's extension platforms, from its manual's page on the manifest (from memory).
PLATFORMS = {"linux-x64", "macos-arm64", "macos-x64", "windows-arm64", "windows-x64"}


def read(path: Path) -> dict[str, Any]:
    return tomllib.loads(path.read_text(encoding="utf-8"))


def numbers(version: str) -> tuple[int, ...]:
    return tuple(int(number) for number in version.split("."))


PINS = read(ROOT / "tools" / "extension_wheels.toml")
NEEDED = dict(
    re.fullmatch(r"([\w-]+)>=([\d.]+)", requirement).groups()
    for requirement in read(ROOT / "pyproject.toml")["project"]["dependencies"]
)


@pytest.mark.parametrize("python", ["3.11", "3.13"])
def test_every_needed_library_is_packed_for_each_python(python: str) -> None:
    packed = {**PINS["any"], **PINS["compiled"][python]}
    wanted = NEEDED.keys() - BLENDERS_OWN - COMMAND_LINE_ONLY
    assert wanted <= packed.keys()
    assert all(numbers(packed[name]) >= numbers(NEEDED[name]) for name in wanted)
    assert not BLENDERS_OWN & packed.keys()


def test_what_the_extension_leaves_out_is_used_by_the_command_line_only() -> None:
    pattern = re.compile(r"^\s*(?:import|from) rich\b", re.MULTILINE)
    users = {
        path.relative_to(ROOT).parts[:2]
        for folder in ("core", "addon")
        for path in (ROOT / folder).rglob("*.py")
        if pattern.search(path.read_text(encoding="utf-8"))
    }
    assert users == {("core", "cli")}


def test_platforms_are_blenders_own_names() -> None:
    assert PINS["platforms"].keys() <= PLATFORMS
    assert all(system["pythons"] for system in PINS["platforms"].values())


def test_manifest_leaves_platforms_and_wheels_to_the_build() -> None:
    manifest = read(ROOT / "blender_manifest.toml")
    assert not {"platforms", "wheels"} & manifest.keys()
    assert manifest["permissions"].keys() == {"files"}  # offline: no network is asked for
