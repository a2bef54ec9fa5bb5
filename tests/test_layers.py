# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The laws of the source tree, checked by machine: what may import what, what a file looks like.

They are decisions of our own, with no outside source; DEVELOPERS.md gives the reasons.
"""

from __future__ import annotations

import ast
import re
import subprocess
import sys
import tomllib
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path

import pinwright

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
    "recheck",
    "rough",
    "section_map",
    "search",
    "beside",
    "cli",
)
BLENDER = {
    *("aud", "blf", "bmesh", "bpy", "bpy_extras", "gpu", "gpu_extras", "idprop", "imbuf"),
    "mathutils",
}
MODULES = {"python-fcl": "fcl"}  # where a library's module has another name than the library
MOST_LINES = 400
HEADER = [
    "# SPDX-FileCopyrightText: 2026 Pinwright authors",
    "# SPDX-License-Identifier: GPL-3.0-or-later",
]

CORE = sorted((ROOT / "core").rglob("*.py"))
ADDON = sorted((ROOT / "addon").rglob("*.py"))
TESTS = sorted((ROOT / "tests").rglob("*.py"))
EVERY = sorted(
    [
        *CORE,
        *ADDON,
        *ROOT.glob("*.py"),
        *TESTS,
        *(ROOT / "tools").rglob("*.py"),
        *(ROOT / "examples").rglob("*.py"),
    ]
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


def hits(paths: Iterable[Path], forbidden: Callable[[str], bool]) -> list[str]:
    """Return 'file:line module' for each import that is forbidden."""
    return [
        f"{name_of(path)}:{line} {module}"
        for path in paths
        for line, module in imports_of(path)
        if forbidden(module)
    ]


def distribution_of(requirement: str) -> str:
    """Return the library's name out of ``numpy>=1.26; python_version < '4'``."""
    return re.split(r"[^A-Za-z0-9_.-]", requirement)[0]


def core_stage(path: Path) -> str:
    """Return the stage that a file of the core belongs to."""
    return path.relative_to(ROOT / "core").with_suffix("").parts[0]


def stage_of(module: str) -> str | None:
    """Return the stage that a module of the core belongs to, None for anything else."""
    parts = module.split(".")
    return parts[2] if parts[:2] == ["pinwright", "core"] and len(parts) > 2 else None


def later_than(stage: str) -> Callable[[str], bool]:
    """Tell modules of later stages; core/__init__.py stands above all and imports none."""
    later = STAGES[STAGES.index(stage) + 1 :] if stage in STAGES else STAGES
    return lambda module: stage_of(module) in later


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


def test_core_never_names_blender() -> None:
    assert hits(CORE, lambda module: module.split(".")[0] in BLENDER) == []


def test_core_does_not_know_the_blender_layer() -> None:
    assert hits(CORE, lambda module: module.startswith("pinwright.addon")) == []


def test_whatever_is_imported_is_declared() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    needed = project["dependencies"]
    for paths, requirements in (
        (CORE, needed),
        (ADDON, needed),
        (TESTS, needed + project["optional-dependencies"]["test"]),
    ):
        declared = {MODULES.get(name, name) for name in map(distribution_of, requirements)}
        known = sys.stdlib_module_names | BLENDER | declared | {"pinwright", "tests"}
        assert hits(paths, lambda module, known=known: module.split(".")[0] not in known) == []


def test_every_module_of_the_core_has_a_place_in_the_flow() -> None:
    assert {core_stage(path) for path in CORE} - {"__init__"} == set(STAGES)


def test_stages_import_only_upward() -> None:
    assert [hit for path in CORE for hit in hits([path], later_than(core_stage(path)))] == []


def test_own_modules_are_imported_relatively() -> None:
    # As an extension the package has another name, so `import pinwright` would not be found.
    deep = ".".join(["here"] * 9)  # so that what is relative is seen as `here...`
    absolute = [
        f"{name_of(path)}:{line}"
        for path in CORE + ADDON
        for line, module in imports(path.read_text(encoding="utf-8"), deep)
        if module.split(".")[0] in {"pinwright", "core", "addon"}
    ]
    assert absolute == []


def test_tests_use_one_name_for_each_module() -> None:
    # The root is on the path for tests/, so `import core` would work, as a second copy of it all.
    assert hits(TESTS, lambda module: module.split(".")[0] in {"core", "addon"}) == []


def test_extension_and_package_have_one_version() -> None:
    manifest = tomllib.loads((ROOT / "blender_manifest.toml").read_text(encoding="utf-8"))
    assert manifest["version"] == pinwright.__version__


def test_every_file_names_the_licence() -> None:
    assert [
        name_of(p) for p in EVERY if p.read_text(encoding="utf-8").splitlines()[:2] != HEADER
    ] == []


def test_every_module_says_its_idea() -> None:
    undocumented = [
        name_of(path)
        for path in EVERY
        if not ast.get_docstring(ast.parse(path.read_text(encoding="utf-8")))
    ]
    assert undocumented == []


def test_every_file_can_be_read_at_a_sitting() -> None:
    lengths = {name_of(p): len(p.read_text(encoding="utf-8").splitlines()) for p in EVERY}
    assert {name: length for name, length in lengths.items() if length > MOST_LINES} == {}
