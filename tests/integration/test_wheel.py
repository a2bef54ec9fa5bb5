# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The wheel holds the package and its data, nothing else, and works where the source is not."""

from __future__ import annotations

import shutil
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent.parent
SUFFIXES = {".py", ".json"}


def run(*command: str, folder: Path) -> str:
    done = subprocess.run(
        command, cwd=folder, capture_output=True, text=True, timeout=300, check=False
    )
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Build in a copy with an odd name: the folder's name must not matter."""
    source = tmp_path_factory.mktemp("source") / "odd name-1"
    source.mkdir()
    for name in ("__init__.py", "LICENSE", "README.md", "pyproject.toml", "setup.py"):
        shutil.copy(ROOT / name, source)
    for name in ("core", "addon", "tests"):  # tests too, to see that they are left out
        shutil.copytree(ROOT / name, source / name, ignore=shutil.ignore_patterns("__pycache__"))
    target = tmp_path_factory.mktemp("wheel")
    options = ("--no-deps", "--no-build-isolation", "--quiet", "--wheel-dir", str(target))
    run(sys.executable, "-m", "pip", "wheel", *options, ".", folder=source)
    (built,) = target.glob("pinwright-*.whl")
    return built


def test_wheel_holds_the_package_and_nothing_else(wheel: Path) -> None:
    names = {
        name
        for name in zipfile.ZipFile(wheel).namelist()
        if not name.split("/")[0].endswith("info")
    }
    wanted = {
        f"pinwright/{path.relative_to(ROOT).as_posix()}"
        for folder in ("core", "addon")
        for path in (ROOT / folder).rglob("*")
        if path.suffix in SUFFIXES
    }
    assert names == wanted | {"pinwright/__init__.py"}


def test_wheel_works_without_the_source(wheel: Path, tmp_path: Path) -> None:
    site = tmp_path / "site"
    zipfile.ZipFile(wheel).extractall(site)
    code = (
        f"import sys; sys.path.insert(0, {str(site)!r})\n"
        "import pinwright.core.pipeline\n"
        "from pinwright.core.export.build_json import build_schema\n"
        "print(pinwright.__file__, build_schema()['$schema'])\n"
    )
    said = run(sys.executable, "-c", code, folder=tmp_path)
    assert said.startswith(str(site / "pinwright"))
    assert "json-schema.org" in said
