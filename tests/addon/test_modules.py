# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Modules by hand in Blender: of selected plates, or cut; networkx judges what hangs together."""

from __future__ import annotations

import networkx as nx
import pytest

bpy = pytest.importorskip("bpy")

from pinwright.addon import making, store, tags  # noqa: E402
from pinwright.core.design.model import Design, EdgeRotor, FrameChoice, Sheet  # noqa: E402

DESIGN = Design("Six", Sheet(3.0), FrameChoice(400.0, solid="tetrahedron"), EdgeRotor(30.0))


def sculpture():
    root = making.add_design(bpy.context, DESIGN, "SHEET")
    bpy.context.view_layer.objects.active = root
    return root


def plates(root) -> dict:
    return {piece[tags.PLATE]: piece for piece in tags.pieces(root) if tags.PLATE in piece}


def select(root, wanted: list[str]) -> list[str]:
    """Select plates; return their keys, which outlive a rebuild (ids may change with modules)."""
    for obj in bpy.context.selected_objects:
        obj.select_set(False)
    for name in wanted:
        plates(root)[name].select_set(True)
    return [plates(root)[name][tags.KEY] for name in wanted]


def gathered(root) -> list[set[str]]:
    found: dict[str, set[str]] = {}
    for piece in plates(root).values():
        found.setdefault(piece[tags.MODULE], set()).add(piece[tags.KEY])
    return sorted(found.values(), key=sorted)


def test_selected_plates_become_a_module_and_the_rest_stays() -> None:
    root = sculpture()
    everything = set.union(*gathered(root))
    first = set(select(root, ["A01", "A03"]))
    assert bpy.ops.pinwright.gather_plates() == {"FINISHED"}
    assert gathered(root) == sorted([first, everything - first], key=sorted)
    rest = [name for name, p in plates(root).items() if p[tags.KEY] not in first]
    second = set(select(root, rest[:2]))
    assert bpy.ops.pinwright.gather_plates() == {"FINISHED"}
    assert gathered(root) == sorted([first, second, everything - first - second], key=sorted)
    assert store.stored_design(root).modules.about == "listed"
    # The design alone makes the same modules.
    again = making.build_of(root)
    assert len(again.modules) == 3
    making.rebuild(bpy.context, root)
    assert gathered(root) == sorted([first, second, everything - first - second], key=sorted)


def test_nothing_selected_is_said_before() -> None:
    root = sculpture()
    select(root, [])
    assert not bpy.ops.pinwright.gather_plates.poll()


def test_cut_into_a_number_of_modules() -> None:
    root = sculpture()
    assert bpy.ops.pinwright.cut_modules(use_count=True, count=2) == {"FINISHED"}
    build = making.build_of(root)
    assert len(build.modules) == 2
    for module in build.modules:
        graph = nx.Graph([build.joints[j].plates for j in module.joints])
        assert nx.is_connected(graph)
        assert set(graph) == set(module.plates)
    assert root.pinwright.about == "joints"


def test_limits_that_cannot_be_kept_change_nothing() -> None:
    root = sculpture()
    text, before = root[tags.DESIGN], gathered(root)
    with pytest.raises(RuntimeError, match=r"modules\.largest: found 5\.0"):
        bpy.ops.pinwright.cut_modules(use_largest=True, largest=5.0)
    assert root[tags.DESIGN] == text
    assert root.pinwright.about == "none"
    assert gathered(root) == before
