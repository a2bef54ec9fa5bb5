# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The laws of the source tree, checked by machine: what may import what, what a file looks like.

They are decisions of our own, with no outside source; DEVELOPERS.md gives the reasons.
"""

from __future__ import annotations

import ast
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent

# The flow of data. A module imports from its own stage and from those before it, never later ones.
STAGES = (
    "errors",
    "tolerance",
    "design",
    "frame",
    "results",
    "fit",
    "plates",
    "joints",
    "outlines",
    "checks",
    "assembly",
    "export",
    "records",
    "pipeline",
    "cli",
)
BLENDER = {"aud", "blf", "bmesh", "bpy", "bpy_extras", "gpu", "gpu_extras", "idprop", "mathutils"}
MOST_LINES = 400
HEADER = [
    "# SPDX-FileCopyrightText: 2026 Pinwright authors",
    "# SPDX-License-Identifier: GPL-3.0-or-later",
]

CORE = sorted((ROOT / "core").rglob("*.py"))
ADDON = sorted((ROOT / "addon").rglob("*.py"))
OTHERS = sorted(
    [*ROOT.glob("*.py"), *(ROOT / "tests").rglob("*.py"), *(ROOT / "tools").rglob("*.py")]
)

IMPORT_CORE = """
import importlib, pkgutil, sys
for name in {blender!r}:
    sys.modules[name] = None  # from now on importing it is an ImportError
import pinwright.core
for module in pkgutil.walk_packages(pinwright.core.__path__, "pinwright.core."):
    importlib.import_module(module.name)
    print(module.name)
"""


def name_of(path: Path) -> str:
    return path.relative_to(ROOT).as_posix()


def every(paths: list[Path]) -> pytest.MarkDecorator:
    """One test for each file, named by its path."""
    return pytest.mark.parametrize("path", paths, ids=name_of)


def imports(source: str, package: str) -> Iterator[tuple[int, str]]:
    """Yield (line, full name) of whatever a file imports, inside functions too.

    ``from x import y`` gives x and x.y, since y may be a module; relative names are resolved
    against the package that the file is in.
    """
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            yield from ((node.lineno, alias.name) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            parts = package.split(".")
            base = parts[: len(parts) - node.level + 1] if node.level else []
            module = ".".join([*base, node.module] if node.module else base)
            yield node.lineno, module
            yield from ((node.lineno, f"{module}.{alias.name}") for alias in node.names)


def imports_of(path: Path) -> Iterator[tuple[int, str]]:
    package = ".".join(["pinwright", *path.relative_to(ROOT).parent.parts])
    return imports(path.read_text(encoding="utf-8"), package)


def stage_of(module: str) -> str | None:
    """Return the stage that a module of the core belongs to, None for anything else."""
    parts = module.split(".")
    return parts[2] if parts[:2] == ["pinwright", "core"] and len(parts) > 2 else None


def test_import_walker_resolves_names_wherever_they_stand() -> None:
    source = "import a.b\ndef f():\n    from ..frame.group import Group\n    from . import tenon\n"
    assert set(imports(source, "pinwright.core.joints")) == {
        (1, "a.b"),
        (3, "pinwright.core.frame.group"),
        (3, "pinwright.core.frame.group.Group"),
        (4, "pinwright.core.joints"),
        (4, "pinwright.core.joints.tenon"),
    }


def test_core_imports_without_blender() -> None:
    code = IMPORT_CORE.format(blender=sorted(BLENDER))
    run = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, timeout=120, check=False
    )
    assert run.returncode == 0, run.stderr
    expected = {
        ".".join(["pinwright", *path.relative_to(ROOT).with_suffix("").parts]).removesuffix(
            ".__init__"
        )
        for path in CORE
    }
    # __main__ modules are imported too; that they then do nothing is part of this test.
    assert {*run.stdout.split(), "pinwright.core"} == expected


@every(CORE)
def test_core_never_names_blender(path: Path) -> None:
    assert [hit for hit in imports_of(path) if hit[1].split(".")[0] in BLENDER] == []


@every(CORE)
def test_stages_import_only_upward(path: Path) -> None:
    stage = path.relative_to(ROOT / "core").with_suffix("").parts[0]
    if stage == "__init__":
        allowed: set[str] = set()  # core/__init__.py is above everything and imports nothing
    else:
        assert stage in STAGES, f"{stage} has no place in STAGES: where does it stand in the flow?"
        allowed = set(STAGES[: STAGES.index(stage) + 1])
    later = {
        (line, module)
        for line, module in imports_of(path)
        if (found := stage_of(module)) in STAGES and found not in allowed
    }
    assert later == set()


@every(CORE)
def test_core_does_not_know_the_blender_layer(path: Path) -> None:
    assert [hit for hit in imports_of(path) if hit[1].startswith("pinwright.addon")] == []


@every(CORE + ADDON)
def test_own_modules_are_imported_relatively(path: Path) -> None:
    # As an extension the package has another name, so `import pinwright` would not be found.
    tree = ast.parse(path.read_text(encoding="utf-8"))
    absolute = [
        node.lineno
        for node in ast.walk(tree)
        if (isinstance(node, ast.Import) and any(_is_own(alias.name) for alias in node.names))
        or (isinstance(node, ast.ImportFrom) and not node.level and _is_own(node.module or ""))
    ]
    assert absolute == []


@every(sorted((ROOT / "tests").rglob("*.py")))
def test_tests_use_one_name_for_each_module(path: Path) -> None:
    # The root is on the path for tests/, so `import core` would work, as a second copy of it all.
    assert [hit for hit in imports_of(path) if hit[1].split(".")[0] in {"core", "addon"}] == []


def _is_own(module: str) -> bool:
    return module.split(".")[0] in {"pinwright", "core", "addon"}


@every(CORE + ADDON + OTHERS)
def test_file_has_licence_docstring_and_fits_a_sitting(path: Path) -> None:
    source = path.read_text(encoding="utf-8")
    lines = source.splitlines()
    assert lines[:2] == HEADER
    docstring = ast.get_docstring(ast.parse(source))
    assert docstring, "a module says its one idea in a docstring"
    assert len(lines) <= MOST_LINES
