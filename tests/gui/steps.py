# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The steps of the walk, in order: install, build, drag, undo, take apart, save, open, disable.

Each is a generator that yields the seconds to wait; its docstring is the line in the report. The
state is judged by numbers; pictures are judged at the end (pictures.py). The second argument of
an operator, True, is Blender's own: push an undo step, as for a press of the button.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass, field
from pathlib import Path

import bpy
import numpy as np

from tests.gui import hands
from tests.gui.hands import Wait

MODULE = "bl_ext.user_default.pinwright"


@dataclass(slots=True)
class Notes:
    """What the steps tell one another and the report."""

    zip_file: Path
    out: Path
    root: Path
    said: list[str] = field(default_factory=list)
    shots: list[str] = field(default_factory=list)
    differ: list[tuple[str, str]] = field(default_factory=list)
    before: dict[str, object] = field(default_factory=dict)
    places: dict[str, tuple[int, int]] = field(default_factory=dict)

    def say(self, line: str) -> None:
        """Add a line to the report."""
        self.said.append(line)

    def shoot(self, name: str, *, side: bool = False, unlike: str = "") -> Wait:
        """Take a picture; `unlike` names one that it must differ from."""
        yield from hands.shoot(self.out / f"{name}.png", side)
        self.shots.append(name)
        if unlike:
            self.differ.append((unlike, name))

    def shoot_panels(self, name: str, *, unlike: str = "") -> Wait:
        """Take pictures of the whole sidebar, page after page: NAME, NAME-2, NAME-3."""
        yield from hands.to_top()
        yield from self.shoot(name, side=True, unlike=unlike)
        for page in range(2, 6):
            before = hands.height()
            yield from hands.page_down()
            if hands.height() == before:
                break
            yield from self.shoot(f"{name}-{page}", side=True)
        yield from hands.to_top()


def part(name: str):
    """Return a module of the installed extension."""
    return sys.modules[f"{MODULE}.{name}"]


def sculpture() -> bpy.types.Object:
    """Return the only sculpture in the scene."""
    (root,) = part("addon.tags").roots(bpy.context.scene)
    return root


def pieces() -> list[bpy.types.Object]:
    return part("addon.tags").pieces(sculpture())


def deltas() -> np.ndarray:
    """Return how far each piece is drawn away (n,), in scene units."""
    return np.array([piece.delta_location.length for piece in pieces()])


def trace() -> dict[str, object]:
    """Return everything that an extension could leave behind in Blender."""
    menus = (
        "VIEW3D_MT_mesh_add",
        "VIEW3D_MT_add",
        "TOPBAR_MT_file_import",
        "TOPBAR_MT_file_export",
    )
    keys = bpy.context.window_manager.keyconfigs.addon.keymaps
    handlers = {
        name: [f.__module__ for f in found if f.__module__.startswith(MODULE)]
        for name in dir(bpy.app.handlers)
        if isinstance(found := getattr(bpy.app.handlers, name), list)
    }
    return {
        "classes": [n for n in dir(bpy.types) if n.lower().startswith("pinwright")],
        "operators": dir(bpy.ops.pinwright),
        "properties": [
            f"{kind.__name__}.{name}"
            for kind in (
                bpy.types.Scene,
                bpy.types.Object,
                bpy.types.WindowManager,
                bpy.types.Collection,
                bpy.types.Curve,
                bpy.types.Mesh,
            )
            for name in kind.bl_rna.properties.keys()  # noqa: SIM118 - a collection of Blender's
            if "pinwright" in name
        ],
        "menus": {m: len(getattr(bpy.types, m)._dyn_ui_initialize()) for m in menus},
        # Blender keeps an empty map of keys once somebody has asked for it; it does nothing.
        "keys": {k.name: len(k.keymap_items) for k in keys if len(k.keymap_items)},
        "handlers": handlers,
    }


def open_panels() -> None:
    """Let all panels be open when they are drawn first, so that pictures show what is in them."""
    panels = [cls for cls in part("addon.panels").CLASSES if issubclass(cls, bpy.types.Panel)]
    for cls in reversed(panels):
        bpy.utils.unregister_class(cls)
    for cls in panels:
        cls.bl_options = getattr(cls, "bl_options", set()) - {"DEFAULT_CLOSED"}
        bpy.utils.register_class(cls)


# ---------------------------------------------------------------- steps


def install(notes: Notes) -> Wait:
    """the zip is installed and enabled, with the libraries that it brings"""
    for obj in list(bpy.data.objects):
        bpy.data.objects.remove(obj)
    hands.area().spaces[0].show_region_ui = True
    yield 1.0
    notes.before = trace()
    assert not notes.before["classes"]
    done = bpy.ops.extensions.package_install_files(
        filepath=str(notes.zip_file), repo="user_default", enable_on_install=True
    )
    assert done == {"FINISHED"}
    assert MODULE in bpy.context.preferences.addons
    import shapely

    assert "/extensions/.local/" in shapely.__file__, shapely.__file__
    open_panels()
    version = ".".join(str(number) for number in bpy.app.version)
    notes.say(f"Blender {version}, Python {sys.version.split()[0]}, numpy {np.__version__}")
    yield 0.5


def empty_scene(notes: Notes) -> Wait:
    """in an empty scene the sidebar offers a sculpture and nothing that cannot be done"""
    yield from hands.show_sidebar()
    assert not bpy.context.scene.objects
    yield from notes.shoot("empty-window")
    yield from notes.shoot_panels("empty-panels")
    for name in ("rebuild_sculpture", "remove_sculpture", "save_design", "export_cut_files"):
        assert not getattr(bpy.ops.pinwright, name).poll(), name
    wanted = {"title", "solid", "diameter", "recipe", "width", "material", "thickness"}
    yield from hands.fields(notes.places, wanted)
    assert wanted <= notes.places.keys(), sorted(notes.places)


def first_build(notes: Notes) -> Wait:
    """one press builds a sculpture; undo takes it away and redo brings it back"""
    with hands.here():
        assert bpy.ops.pinwright.build_sculpture("INVOKE_DEFAULT", True) == {"FINISHED"}
    yield 0.5
    figures = sculpture().pinwright.figures
    # An icosahedron has 30 edges (Euclid, Elements XIII.16).
    assert (figures.plates, len(pieces())) == (30, figures.plates + figures.pins)
    yield from notes.shoot("first-window")
    yield from notes.shoot_panels("first-panels")
    yield from hands.undo()
    assert not part("addon.tags").roots(bpy.context.scene)
    yield from hands.redo()
    assert sculpture().pinwright.figures.plates == 30
    with hands.here():
        bpy.ops.pinwright.remove_sculpture("INVOKE_DEFAULT", True)
    yield 0.3
    assert not bpy.context.scene.objects
    assert not [mesh for mesh in bpy.data.meshes if mesh.users]


def demo(notes: Notes) -> Wait:
    """the demo's file is opened: one mesh for each part, plates where core puts them"""
    yield from hands.show_sidebar()
    with hands.here():
        done = bpy.ops.pinwright.open_design(
            "INVOKE_DEFAULT", True, filepath=str(notes.root / "examples" / "demo.toml")
        )
        assert done == {"FINISHED"}
        bpy.ops.view3d.view_all("INVOKE_DEFAULT")
    yield 0.5
    build = part("addon.making").build_of(sculpture())
    plates = {piece["pinwright_plate"]: piece for piece in pieces() if "pinwright_plate" in piece}
    meshes = {piece.data.name for piece in plates.values()}
    assert len(plates) == len(build.plates) == sculpture().pinwright.figures.plates
    assert len(meshes) == len(build.parts)
    unit = sculpture()["pinwright_unit"]
    worst = max(
        np.abs(
            np.array(plates[plate.id].matrix_basis.translation) / unit
            - plate.world_from_part[:3, 3]
        ).max()
        for plate in build.plates
    )
    assert worst < 0.001, worst  # mm
    notes.say(
        f"{len(plates)} plates, {len(meshes)} meshes; places differ by {worst:.2g} mm at most"
    )
    yield from notes.shoot("demo-window")
    yield from notes.shoot_panels("demo-panels")


def drag_exploded(notes: Notes) -> Wait:
    """the slider Exploded is dragged: pieces follow at each step; one undo takes all back"""
    places: dict[str, tuple[int, int]] = {}
    yield from hands.fields(places, {"explode", "thickness"})
    notes.places = places
    names = sorted(piece.name for piece in pieces())
    ways = [float(deltas().max())]
    x, y = places["explode"]
    yield from hands.drag((x - 60, y), 90, 9, lambda: ways.append(float(deltas().max())))
    assert sculpture().pinwright.explode > 0.2, sculpture().pinwright.explode
    assert len({round(way, 5) for way in ways}) >= 6, ways
    assert ways == sorted(ways), ways
    assert sorted(piece.name for piece in pieces()) == names
    yield from notes.shoot("dragged-window", unlike="demo-window")
    yield from hands.undo()
    assert sculpture().pinwright.explode == 0.0
    assert deltas().max() == 0.0
    yield from hands.redo()
    assert abs(deltas().max() - ways[-1]) < 1e-5


def explode_whole(notes: Notes) -> Wait:
    """taken apart as far as it goes, and put together again"""
    sculpture().pinwright.explode = 1.0
    yield 0.5
    far = deltas()
    assert (far > 0).all()
    yield from notes.shoot("exploded-window", unlike="dragged-window")
    sculpture().pinwright.explode = 0.0
    yield 0.3
    assert deltas().max() == 0.0


def drag_a_size(notes: Notes) -> Wait:
    """a length is dragged, then the sculpture is built again in its place"""
    settings = sculpture().pinwright
    before, mass = settings.thickness, settings.figures.mass
    yield from hands.drag(notes.places["thickness"], 12, 4, lambda: None)
    after = sculpture().pinwright.thickness
    assert before + 0.05 < after < before + 2.0, after  # mm
    yield 1.0
    if sculpture().pinwright.stale:
        yield from notes.shoot("stale-panels", side=True, unlike="demo-panels")
        with hands.here():
            assert bpy.ops.pinwright.rebuild_sculpture("INVOKE_DEFAULT", True) == {"FINISHED"}
        yield 0.5
    assert not sculpture().pinwright.stale
    figures = sculpture().pinwright.figures
    assert abs(figures.thickness - after) < 1e-6
    # Thicker plates of nearly the same outlines: slots get wider, tabs longer.
    assert 1.0 < figures.mass / mass < after / before + 0.01


def faults(notes: Notes) -> Wait:
    """a gap that is too wide: faults are listed, and the plates at fault selected"""
    sculpture().pinwright.gap = 40.0
    with hands.here():
        bpy.ops.pinwright.rebuild_sculpture("INVOKE_DEFAULT", True)
    yield 0.5
    failed = [finding for finding in sculpture().pinwright.figures.findings if not finding.ok]
    assert failed
    yield from notes.shoot("faults-window", unlike="demo-window")
    yield from notes.shoot_panels("faults-panels")
    where = next(finding.where for finding in failed if finding.where)
    with hands.here():
        assert bpy.ops.pinwright.select_pieces("INVOKE_DEFAULT", True, ids=where) == {"FINISHED"}
    assert len(bpy.context.selected_objects) >= 2  # it takes two to be too near
    yield from hands.undo()
    yield from hands.undo()
    yield 0.3


def save_and_open(notes: Notes) -> Wait:
    """saved, another file opened, this one opened again: everything is as it was"""
    path = str(notes.out / "walk.blend")
    root = sculpture()
    root.pinwright.explode = 0.25
    yield 0.2
    kept = (root.name, root.pinwright.explode, root.pinwright.figures.plates, len(pieces()))
    with hands.here():
        bpy.ops.wm.save_as_mainfile(filepath=path)
        bpy.ops.wm.read_homefile(use_factory_startup=True, use_empty=True, load_ui=False)
    yield 0.5
    assert not part("addon.tags").roots(bpy.context.scene)
    with hands.here():
        bpy.ops.wm.open_mainfile(filepath=path, load_ui=False)
    yield 1.0
    root = sculpture()
    assert kept == (root.name, root.pinwright.explode, root.pinwright.figures.plates, len(pieces()))
    assert deltas().max() > 0
    yield from hands.show_sidebar()
    with hands.here():
        bpy.ops.view3d.view_all("INVOKE_DEFAULT")
        hands.area().spaces[0].overlay.show_relationship_lines = False
    yield 0.5
    yield from notes.shoot("opened-window", unlike="demo-window")
    with hands.here():
        assert bpy.ops.pinwright.rebuild_sculpture("INVOKE_DEFAULT", True) == {"FINISHED"}


def disable(notes: Notes) -> Wait:
    """disabled, the extension leaves no trace; enabled again, the sculpture is known"""
    bpy.ops.preferences.addon_disable(module=MODULE)
    yield 0.5
    after = trace()
    left = {
        key: (notes.before[key], after[key]) for key in after if after[key] != notes.before[key]
    }
    assert not left, left
    assert not [name for name in sys.modules if name.startswith(f"{MODULE}.") and _alive(name)]
    yield from notes.shoot("disabled-window")
    bpy.ops.preferences.addon_enable(module=MODULE)
    yield 0.5
    assert sculpture().pinwright.figures.plates == sum(
        1 for p in pieces() if "pinwright_plate" in p
    )
    bpy.ops.preferences.addon_disable(module=MODULE)
    yield 0.3


def _alive(name: str) -> bool:
    """Tell whether a timer or draw function of a module is still in Blender's hands."""
    return any(
        bpy.app.timers.is_registered(thing)
        for thing in vars(sys.modules[name]).values()
        if callable(thing) and getattr(thing, "__module__", "") == name
    )


STEPS = (
    install,
    empty_scene,
    first_build,
    demo,
    drag_exploded,
    explode_whole,
    drag_a_size,
    faults,
    save_and_open,
)
LAST = (disable,)
