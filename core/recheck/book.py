# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Whether the numbers and names of a build file agree with each other."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from typing import Any

import numpy as np
import numpy.typing as npt

from ..checks.places import at, listed
from ..design.materials import material
from ..design.model import JointKind, Lock
from ..results import Build, Check
from .reading import Reading

__all__ = ["check_book"]

Floats = npt.NDArray[np.float64]
_SHARE = 1e-4  # of sums: outlines of one part may differ by 0.01 mm
_OFF_PLANE = 0.02  # mm; the same


def check_book(reading: Reading, record: Mapping[str, Any]) -> Check:
    """Ids are unique, references lead somewhere, quantities, masses and sums are right."""
    build = reading.build
    lines = [
        *reading.notes,
        *_ids(record),
        *_parts(build, record),
        *_joints(build),
        *_modules(build),
        *_steps(record),
        *_sums(build),
    ]
    if not lines:
        text = "all names, numbers and sums of the file agree"
        return Check("record", True, 0.0, "", 0.0, text)
    text = f"the file contradicts itself in {len(lines)} places"
    remedy = "Build the design again, or mend what the lines name."
    return Check("record", False, float(len(lines)), "", 0.0, text, listed(lines), remedy)


def _ids(record: Mapping[str, Any]) -> Iterator[str]:
    for kind, key in (("parts", "mark"), ("plates", "id"), ("joints", "id"), ("modules", "id")):
        for name, count in Counter(entry[key] for entry in record[kind]).items():
            if count > 1:
                yield f"{kind}: {name} stands {count} times"


def _parts(build: Build, record: Mapping[str, Any]) -> Iterator[str]:
    used = Counter(plate.part for plate in build.plates)
    for joint in build.joints:
        used.update(one.part for one in joint.fasteners if one.part is not None)
    sheet = record["sheet"]
    density = material(build.design.sheet.material).density * 1e-9
    for name in ("material", "thickness", "clearance", "kerf", "one_sided"):
        wanted = getattr(build.design.sheet, name)
        if sheet.get(name) != wanted:
            yield f"sheet: {name} {sheet.get(name)!r}, its design says {wanted!r}"
    for k, part in enumerate(build.parts):
        if used[k] != part.quantity:
            yield f"part {part.mark}: quantity {part.quantity}, {used[k]} stand in the sculpture"
        if abs(part.thickness - build.design.sheet.thickness) > 1e-9:
            yield (
                f"part {part.mark}: {part.thickness:g} mm thick, the sheet is "
                f"{build.design.sheet.thickness:g} mm"
            )
        mass = part.outline.area * part.thickness * density
        if abs(mass - part.mass) > _SHARE * mass:
            yield f"part {part.mark}: mass {part.mass:.5g} kg, its outline weighs {mass:.5g} kg"


def _joints(build: Build) -> Iterator[str]:
    for joint in build.joints:
        one, two = (build.plates[k] for k in joint.plates)
        if joint.within_module != (one.module == two.module):
            yield (f"joint {joint.id}: its stage does not fit the modules of {one.id} and {two.id}")
        held = bool(joint.pins or joint.fasteners) or joint.lock is Lock.FOOT
        tenon = joint.kind is JointKind.TENON
        if tenon != (joint.lock is not None) or (held and joint.kind is JointKind.CROSS_LAP):
            yield f"joint {joint.id}: a {joint.kind.value} does not go with its lock"
        if tenon and not held:
            yield f"joint {joint.id}: nothing locks it{at(joint.centre)}"
        if tenon and not joint.tabs:
            yield f"joint {joint.id}: it has no tab{at(joint.centre)}"


def _modules(build: Build) -> Iterator[str]:
    home = Counter(k for module in build.modules for k in module.plates)
    for k, plate in enumerate(build.plates):
        if home[k] != 1 or k not in build.modules[plate.module].plates:
            yield f"plate {plate.id}: modules do not hold it once, as its own module"
    for m, module in enumerate(build.modules):
        inside = {
            joint.id
            for joint in build.joints
            if all(build.plates[k].module == m for k in joint.plates)
        }
        told = {build.joints[k].id for k in module.joints}
        for name in sorted(inside ^ told):
            word = "misses" if name in inside else "has"
            yield f"module {module.id} {word} joint {name}, against the modules of its plates"


def _steps(record: Mapping[str, Any]) -> Iterator[str]:
    plates = {plate["id"] for plate in record["plates"]}
    joints = {joint["id"] for joint in record["joints"]}
    for step in record["steps"]:
        spring = step.get("spring", ())
        named = [
            ("plate", plates, [*step.get("add", ()), *(one["plate"] for one in spring)]),
            (
                "joint",
                joints,
                [
                    *(name for key in ("close", "pin", "leave_open") for name in step.get(key, ())),
                    *(one["joint"] for one in spring),
                ],
            ),
        ]
        for kind, known, names in named:
            for name in names:
                if name not in known:
                    yield f"step {step.get('n')} names {kind} {name}, which is not in the file"


def _sums(build: Build) -> Iterator[str]:
    totals, parts = build.totals, [build.parts[plate.part] for plate in build.plates]
    pins = sum(len(joint.pins) for joint in build.joints)
    if totals.plates != len(parts):
        yield f"totals: {totals.plates} plates, {len(parts)} stand in the file"
    if totals.pins != pins:
        yield f"totals: {totals.pins} pins, {pins} stand in the file"
    for name, told, found, unit in (
        ("mass", totals.mass, sum(part.mass for part in parts), "kg"),
        ("sheet area", totals.sheet_area, sum(part.outline.area for part in parts), "mm2"),
        ("cut length", totals.cut_length, sum(part.outline.length for part in parts), "mm"),
        ("diameter", totals.diameter, _diameter(build), "mm"),
    ):
        if abs(told - found) > _SHARE * max(abs(found), 1e-9):
            yield f"totals: {name} {told:.6g} {unit}, the parts give {found:.6g} {unit}"
    off = np.linalg.norm(totals.centre_of_gravity - _gravity(build)) if parts else 0.0
    if off > _SHARE * totals.diameter:
        yield f"totals: the centre of gravity is {off:.3g} mm aside"


def _gravity(build: Build) -> Floats:
    places = []
    for plate in build.plates:
        middle = build.parts[plate.part].outline.centroid
        pose = plate.world_from_part
        places.append(pose[:3, :2] @ (middle.x, middle.y) + pose[:3, 3])
    masses = np.array([build.parts[plate.part].mass for plate in build.plates])
    found: Floats = (masses[:, None] * np.array(places)).sum(axis=0) / masses.sum()
    return found


def _diameter(build: Build) -> float:
    reach = 0.0
    for plate in build.plates:
        part, pose = build.parts[plate.part], plate.world_from_part
        ring = np.asarray(part.outline.exterior.coords)
        middle = ring @ pose[:3, :2].T + pose[:3, 3]
        for side in (-0.5, 0.5):
            far = middle + side * part.thickness * pose[:3, 2]
            reach = max(reach, float(np.einsum("ij,ij->i", far, far).max()))
    return 2 * float(np.sqrt(reach))
