# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Each test starts from Blender's factory settings, with this extension registered.

Every test file begins with ``pytest.importorskip("bpy")``, so that all are skipped where there is
no Blender.
"""

from __future__ import annotations

import importlib.util
import os
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest

# Before bpy is imported: nobody's own preferences take part.
os.environ["BLENDER_USER_RESOURCES"] = tempfile.mkdtemp(prefix="blender-user-")


@pytest.fixture(autouse=True)
def factory_settings() -> Iterator[None]:
    """Empty scene, extension registered; and taken out again whatever the test did."""
    if importlib.util.find_spec("bpy") is None:
        yield
        return
    import bpy

    import pinwright

    bpy.ops.wm.read_factory_settings(use_empty=True)
    pinwright.register()
    yield
    if hasattr(bpy.types.Scene, "pinwright"):
        pinwright.unregister()


@pytest.fixture
def root(tmp_path: Path):
    """The small sculpture: 160 x 60 x about 160 mm, about the origin."""
    import bpy

    from pinwright.core.design.write import write_design
    from tests.builders import small_design

    path = tmp_path / "small.toml"
    write_design(small_design(), path)
    assert bpy.ops.pinwright.open_design(filepath=str(path)) == {"FINISHED"}
    return bpy.context.active_object
