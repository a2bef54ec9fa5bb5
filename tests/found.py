# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""One find of a search, as its design file: 24 strips in two rotors of the tetrahedral group."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from pinwright.core.design.model import Design
from pinwright.core.design.read import design_from_text
from pinwright.core.search.finds import Wanted
from pinwright.core.search.rank import Merits
from pinwright.core.search.state import DESIGNS, Found, State

__all__ = ["FOUND", "found_design", "found_state"]


def found_design() -> Design:
    """Return the find."""
    return design_from_text(FOUND)


def found_state(folder: Path, count: int = 1, sprung: float | None = 0.25) -> State:
    """Write the find `count` times under different names, as a search would; return the search.

    The finds are told apart by signature, and the first is the best.
    """
    state = State(Wanted("T", 2, clearance=8.0), 3, 4, 2_755_072, 1000, 200, 150, 12.0)
    (folder / DESIGNS).mkdir(parents=True, exist_ok=True)
    for k in range(count):
        name = f"T2-00000-{k + 1:02d}"
        merits = Merits(
            40.0 - k, 8.0, 39.5, 700.0, 17.7, 0.5, 0.8, 0.9, 2, 24, 1.0, 4, 4, sprung=sprung
        )
        signature = np.roll(np.eye(1, 48)[0], k)
        state.found.append(Found(name, "two rotors", f"{k:012x}", merits, signature))
        (folder / DESIGNS / f"{name}.toml").write_text(FOUND, encoding="utf-8")
    return state


FOUND = """\
schema = "pinwright-design/1"
units = {length = "mm", angle = "deg"}
name = "T2-00000-08"

[sheet]
thickness = 3.0 # mm

[frame]
diameter = 1000.0 # mm
group = "T"

[[motifs]]
name = "a"
normal = [0.06307284593903803, 0.9957345908992771, -0.06733825503976107]
offset = 196.19219142718714 # mm
path = [
    [337.63311641296303, -175.19868766159152],
    [339.1297836751182, -198.8266584913017],
    [216.40086648779655, -312.8280141553889],
    [-95.1288228481551, 135.9644090464736],
    [-113.12942957188329, 161.89624214997556],
    [-126.62988461467943, 181.34511697760203],
] # mm
width = 39.45887516077278 # mm
bend = "smooth"

[[motifs]]
name = "b"
normal = [0.06358283963479527, 0.9961852242639287, -0.05976806389872399]
offset = -141.04579447452315 # mm
path = [
    [115.56576495355738, -403.705439283411],
    [139.1930126301089, -405.21347961912244],
    [385.73713292365426, -165.95298135361062],
    [213.90459980505912, 101.1357717595432],
    [190.2765832010358, 99.63982731430437],
] # mm
width = 39.45887516077278 # mm
bend = "smooth"

[[joint_classes]]
name = "a in a 1"
motifs = ["a", "a"]
kind = "tenon"
at = 325.88237982448703 # mm
turn = {axis = [-0.5773502691896258, 0.5773502691896258, -0.5773502691896258], angle = 120.0}

[[joint_classes]]
name = "b in b 2"
motifs = ["b", "b"]
kind = "tenon"
at = 395.52447660968255 # mm
turn = {axis = [-0.5773502691896258, -0.5773502691896258, -0.5773502691896258], angle = 120.0}

[[joint_classes]]
name = "b in a 3"
motifs = ["b", "a"]
kind = "tenon"
at = 87.41794624036326 # mm
turn = {axis = [0.5773502691896258, -0.5773502691896258, 0.5773502691896258], angle = 120.0}

[joints]
gap = 8.0 # mm
"""
