# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Materials: a colour for each part, the look of the sheet with its cut edge, or that sheet tinted.

Colours are the eight of Okabe and Ito, told apart by colour-blind people too; beyond eight parts
the same hues return lighter, then darker. Rims shine because the sheet looks round them with the
Bevel node: no geometry is added.
"""

from __future__ import annotations

import bpy

from ..core.design.materials import MATERIALS, Finish

__all__ = [
    "OKABE_ITO",
    "PARTS",
    "SHEET",
    "dress",
    "floor_boards",
    "part_rgb",
    "pin_material",
    "tie_material",
]

PARTS = "PARTS"
SHEET = "SHEET"
TINTED = "TINTED"  # coloured acrylic, anodised metal, stained wood, coloured card
Rgb = tuple[float, float, float]
Tint = Rgb | None
_TAG = "pinwright_look"

# Okabe and Ito's palette (as in the khroma package), black last: it hides the shading.
OKABE_ITO = ("E69F00", "56B4E9", "009E73", "D55E00", "0072B2", "F0E442", "CC79A7", "000000")
_EDGE_SHADE = 0.55  # rims darker than faces, so that plates stay apart for the eye
_RIM_RADIUS_MM = 0.35  # of the rounding that the Bevel node fakes
_METALS = {  # linear base colours, from memory: chosen by eye
    "steel-s235": (0.36, 0.352, 0.345),
    "stainless-304": (0.52, 0.50, 0.475),
}
_ALUMINIUM = (0.66, 0.665, 0.68)
_WOODS = {"mdf": ((0.36, 0.24, 0.14), (0.33, 0.215, 0.125))}
_BIRCH = ((0.62, 0.45, 0.28), (0.52, 0.35, 0.20))


def part_rgb(index: int) -> tuple[float, float, float]:
    """Return the linear colour of the part number `index` (from 0)."""
    text = OKABE_ITO[index % len(OKABE_ITO)]
    round_number = index // len(OKABE_ITO)
    red, green, blue = (_linear(int(text[k : k + 2], 16) / 255) for k in (0, 2, 4))
    if round_number == 0:
        return (red, green, blue)
    if red == green == blue == 0.0:  # black cannot get darker: its greys only get lighter
        return (1 - 0.8**round_number,) * 3
    # 1: half-way to white, 2: half as bright, 3: nearer to white, ...
    share = 1 - 0.5 ** ((round_number + 1) // 2)
    target = 1.0 if round_number % 2 else 0.0

    def nearer(value: float) -> float:
        return value + share * (target - value)

    return (nearer(red), nearer(green), nearer(blue))


def dress(mesh: bpy.types.Mesh, part: int, look: str, material: str, unit: float) -> None:
    """Give a part's mesh its two materials: faces, then cut edges."""
    if look == PARTS:
        pair = _part_pair(part)
    else:
        pair = _sheet_pair(material, unit, part if look == TINTED else None)
    if len(mesh.materials) == len(pair):
        for slot, entry in enumerate(pair):
            mesh.materials[slot] = entry
        return
    for entry in pair:  # never clear(): that sets the faces' material indices to 0
        mesh.materials.append(entry)


def pin_material(unit: float) -> bpy.types.Material:
    """Return the material of all pins: bright steel."""

    def fill(material: bpy.types.Material) -> None:
        shader = _principled(material, (0.42, 0.41, 0.40), metallic=1.0, roughness=0.2)
        _round_rims(material, shader, unit)

    return _kept("pin", "Pin Steel", (0.45, 0.44, 0.43), fill)


def tie_material() -> bpy.types.Material:
    """Return the material of cable ties: black nylon, which light harms least."""

    def fill(material: bpy.types.Material) -> None:
        _principled(material, (0.012, 0.012, 0.013), roughness=0.38)

    return _kept("tie", "Cable Tie Nylon", (0.03, 0.03, 0.03), fill)


# ---------------------------------------------------------------- pairs of face and edge


def _part_pair(part: int) -> tuple[bpy.types.Material, bpy.types.Material]:
    face = part_rgb(part)
    edge = tuple(_EDGE_SHADE * value for value in face)

    def painted(rgb: tuple[float, ...]):
        return lambda material: _principled(material, rgb, roughness=0.45)

    number = part + 1
    return (
        _kept(f"part {number}", f"Part Color {number}", face, painted(face)),
        _kept(f"part {number} edge", f"Part Color {number} Edge", edge, painted(edge)),
    )


def _sheet_pair(
    name: str, unit: float, part: int | None = None
) -> tuple[bpy.types.Material, bpy.types.Material]:
    """Return face and edge of a sheet; part : its number, if the sheet is tinted for it."""
    entry = MATERIALS[name]
    tint = None if part is None else part_rgb(part)
    fill_face, face, fill_edge, edge = _FINISHES[entry.finish](name, unit, tint)
    key, title = name, entry.title
    if part is not None:
        key, title = f"{name} tint {part + 1}", f"{entry.title} Tint {part + 1}"
    return (
        _kept(f"{key} face", title, face, fill_face),
        _kept(f"{key} edge", f"{title} Edge", edge, fill_edge),
    )


def _metal(name: str, unit: float, tint: Tint) -> tuple:
    """Brushed metal; tinted it is anodised or lacquered, and bare where it was cut."""
    bare = _METALS.get(name, _ALUMINIUM)
    face = bare if tint is None else _mixed(bare, tint, 0.85)
    edge = tuple(0.62 * value for value in bare)

    def fill_face(material: bpy.types.Material) -> None:
        shader = _principled(material, face, metallic=1.0, roughness=0.34)
        _brushed(material, shader, unit)
        _round_rims(material, shader, unit)

    def fill_edge(material: bpy.types.Material) -> None:
        shader = _principled(material, edge, metallic=1.0, roughness=0.42)
        _round_rims(material, shader, unit)

    return fill_face, tuple(0.8 * value for value in face), fill_edge, edge


def _wood(name: str, unit: float, tint: Tint) -> tuple:
    light, dark = _WOODS.get(name, _BIRCH)
    if tint is not None:  # stained: the grain shows through
        light, dark = _mixed(light, tint, 0.6), _mixed(dark, tint, 0.45)
    burnt = (0.055, 0.028, 0.014)  # a laser leaves the edge brown

    def fill_face(material: bpy.types.Material) -> None:
        shader = _principled(material, light, roughness=0.62)
        _grain(material, shader, light, dark, unit)
        _round_rims(material, shader, unit)

    def fill_edge(material: bpy.types.Material) -> None:
        _principled(material, burnt, roughness=0.85)

    return fill_face, light, fill_edge, burnt


def _clear(name: str, unit: float, tint: Tint) -> tuple:
    """Clear sheet gathers light in its edges: they are brighter and bluer than the faces."""
    face, edge = (0.80, 0.95, 0.95), (0.30, 0.78, 0.80)
    if tint is not None:
        face, edge = _mixed((0.9, 0.9, 0.9), tint, 0.75), tint

    def fill(rgb: tuple[float, float, float], clear: float, roughness: float):
        def inner(material: bpy.types.Material) -> None:
            shader = _principled(material, rgb, roughness=roughness)
            shader.inputs["Transmission Weight"].default_value = clear
            shader.inputs["IOR"].default_value = 1.49  # PMMA

        return inner

    return fill(face, 1.0, 0.03), face, fill(edge, 0.3, 0.35), edge


def _card(name: str, unit: float, tint: Tint) -> tuple:
    own = (0.36, 0.35, 0.33) if name == "greyboard" else (0.42, 0.28, 0.16)
    face = own if tint is None else _mixed(own, tint, 0.9)
    edge = tuple(0.6 * value for value in own)
    return (
        lambda material: _principled(material, face, roughness=0.95),
        face,
        lambda material: _principled(material, edge, roughness=1.0),
        edge,
    )


_FINISHES = {Finish.METAL: _metal, Finish.WOOD: _wood, Finish.CLEAR: _clear, Finish.CARD: _card}


def _mixed(own: Rgb, tint: Rgb, share: float) -> Rgb:
    red, green, blue = (a + share * (b - a) for a, b in zip(own, tint, strict=True))
    return (red, green, blue)


# ---------------------------------------------------------------- nodes


def _kept(key: str, name: str, seen: tuple[float, ...], fill) -> bpy.types.Material:
    """Return the material made for `key`, or make it: a user's changes to it are kept."""
    for material in bpy.data.materials:
        if material.get(_TAG) == key:
            return material
    material = bpy.data.materials.new(name)
    material[_TAG] = key
    if bpy.app.version < (5, 0, 0):
        material.use_nodes = True
    fill(material)
    material.diffuse_color = (*seen, 1.0)  # what the solid view shows
    return material


def _principled(
    material: bpy.types.Material,
    rgb: tuple[float, ...],
    *,
    metallic: float = 0.0,
    roughness: float,
) -> bpy.types.Node:
    nodes = material.node_tree.nodes
    nodes.clear()
    shader = nodes.new("ShaderNodeBsdfPrincipled")
    output = nodes.new("ShaderNodeOutputMaterial")
    output.location = (300, 0)
    shader.inputs["Base Color"].default_value = (*rgb, 1.0)
    shader.inputs["Metallic"].default_value = metallic
    shader.inputs["Roughness"].default_value = roughness
    material.node_tree.links.new(shader.outputs["BSDF"], output.inputs["Surface"])
    material.metallic = 0.0  # of the solid view, where bare metal would only mirror black
    material.roughness = roughness
    return shader


def _streaks(material: bpy.types.Material, along: float, across: float, detail: float):
    """Return a noise drawn out along the part's own x axis (scales per scene unit)."""
    nodes, links = material.node_tree.nodes, material.node_tree.links
    flat = nodes.new("ShaderNodeUVMap")
    flat.uv_map = "Flat"
    flat.location = (-1000, 0)
    stretch = nodes.new("ShaderNodeMapping")
    stretch.inputs["Scale"].default_value = (along, across, 1.0)
    stretch.location = (-800, 0)
    noise = nodes.new("ShaderNodeTexNoise")
    noise.inputs["Scale"].default_value = 1.0
    noise.inputs["Detail"].default_value = detail
    noise.location = (-600, 0)
    links.new(flat.outputs["UV"], stretch.inputs["Vector"])
    links.new(stretch.outputs["Vector"], noise.inputs["Vector"])
    return noise.outputs[0]


def _brushed(material: bpy.types.Material, shader: bpy.types.Node, unit: float) -> None:
    """Fine scratches along the part: highlights are drawn out across them."""
    nodes, links = material.node_tree.nodes, material.node_tree.links
    streaks = _streaks(material, 0.02 / unit, 2.5 / unit, 3.0)
    spread = nodes.new("ShaderNodeMapRange")
    spread.inputs["To Min"].default_value = 0.20
    spread.inputs["To Max"].default_value = 0.36
    spread.location = (-300, -100)
    tangent = nodes.new("ShaderNodeTangent")
    tangent.direction_type = "UV_MAP"
    tangent.uv_map = "Flat"
    tangent.location = (-300, -400)
    links.new(streaks, spread.inputs["Value"])
    links.new(spread.outputs["Result"], shader.inputs["Roughness"])
    links.new(tangent.outputs["Tangent"], shader.inputs["Tangent"])
    shader.inputs["Anisotropic"].default_value = 0.65


def _grain(
    material: bpy.types.Material,
    shader: bpy.types.Node,
    light: tuple[float, ...],
    dark: tuple[float, ...],
    unit: float,
) -> None:
    """Long soft veins between two shades."""
    nodes, links = material.node_tree.nodes, material.node_tree.links
    veins = _streaks(material, 0.008 / unit, 0.16 / unit, 6.0)
    ramp = nodes.new("ShaderNodeValToRGB")
    ramp.color_ramp.elements[0].position = 0.35
    ramp.color_ramp.elements[0].color = (*dark, 1.0)
    ramp.color_ramp.elements[1].position = 0.65
    ramp.color_ramp.elements[1].color = (*light, 1.0)
    ramp.location = (-350, 0)
    links.new(veins, ramp.inputs["Fac"])
    links.new(ramp.outputs["Color"], shader.inputs["Base Color"])


def _round_rims(material: bpy.types.Material, shader: bpy.types.Node, unit: float) -> None:
    """Let light run along the rims, as on a deburred edge (seen in Cycles only)."""
    bevel = material.node_tree.nodes.new("ShaderNodeBevel")
    bevel.samples = 4
    bevel.inputs["Radius"].default_value = _RIM_RADIUS_MM * unit
    bevel.location = (-300, -600)
    material.node_tree.links.new(bevel.outputs["Normal"], shader.inputs["Normal"])


def _linear(value: float) -> float:
    """Return the linear value of an sRGB channel (IEC 61966-2-1)."""
    return value / 12.92 if value <= 0.04045 else ((value + 0.055) / 1.055) ** 2.4


def floor_boards(
    light: tuple[float, float, float], dark: tuple[float, float, float], unit: float
) -> bpy.types.Material:
    """Return floor boards along the u of the map "Flat": 140 mm broad, each of its own shade."""

    def fill(material: bpy.types.Material) -> None:
        shader = _principled(material, light, roughness=0.42)
        tree, links = material.node_tree, material.node_tree.links
        flat = tree.nodes.new("ShaderNodeUVMap")
        flat.uv_map = "Flat"
        boards = tree.nodes.new("ShaderNodeTexBrick")
        boards.offset, boards.offset_frequency = 0.37, 2
        for socket, value in (
            ("Scale", 1.0),
            ("Mortar Size", 0.9 * unit),
            ("Brick Width", 1900.0 * unit),
            ("Row Height", 140.0 * unit),
            ("Bias", 0.0),
        ):
            boards.inputs[socket].default_value = value
        boards.inputs["Color1"].default_value = (*light, 1.0)
        boards.inputs["Color2"].default_value = (*dark, 1.0)
        boards.inputs["Mortar"].default_value = (*(0.35 * value for value in dark), 1.0)
        veins = _streaks(material, 0.0025 / unit, 0.09 / unit, 5.0)
        shade = tree.nodes.new("ShaderNodeMapRange")
        shade.inputs["To Min"].default_value = 0.76
        shade.inputs["To Max"].default_value = 1.24
        mixed = tree.nodes.new("ShaderNodeVectorMath")
        mixed.operation = "SCALE"
        links.new(flat.outputs["UV"], boards.inputs["Vector"])
        links.new(veins, shade.inputs["Value"])
        links.new(boards.outputs["Color"], mixed.inputs[0])
        links.new(shade.outputs["Result"], mixed.inputs["Scale"])
        links.new(mixed.outputs["Vector"], shader.inputs["Base Color"])

    return _kept("boards", "Floor Boards", light, fill)
