# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The build file: a whole build as JSON, the contract with every other program.

``build.schema.json`` beside this module says what stands in it, with units. Numbers are written in
full precision, are always finite, and zero has no sign.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from importlib.resources import files
from math import isfinite
from os import PathLike, fspath
from pathlib import Path
from typing import Any, Final

import numpy as np
import numpy.typing as npt
from shapely import Polygon, orient_polygons

from ... import __version__
from ..assembly.explode import SPLIT
from ..assembly.explode_straight import ways_of
from ..assembly.schedule import schedule_record, schedule_steps
from ..design.model import Lock
from ..design.write import design_to_dict
from ..errors import OutputError, PinwrightError
from ..results import Build, Fastener, Joint, Part, Pin, Step

__all__ = ["SCHEMA_NAME", "build_json", "build_schema", "build_to_dict", "read_build_json"]

SCHEMA_NAME: Final = "pinwright-build/1"

Record = dict[str, Any]


def build_to_dict(build: Build) -> Record:
    """Return the build file's content as dicts, lists, texts and numbers.

    Raises
    ------
    OutputError : a number is infinite or no number; names its place
    """
    record: Record = {
        "schema": SCHEMA_NAME,
        "units": {"length": "mm", "angle": "deg", "mass": "kg", "force": "N"},
        "generator": {"name": "pinwright", "version": __version__},
        "design": design_to_dict(build.design),
        "sheet": _sheet(build),
        "group": {"name": build.group.name, "order": build.group.order},
        "parts": [_part(part) for part in build.parts],
        "plates": _plates(build),
        "joints": [_joint(joint, build) for joint in build.joints],
        "modules": _modules(build),
        "steps": [_step(step, build) for step in build.steps],
        "exploded": _exploded(build),
        "schedule": schedule_record(build, schedule_steps(build)) if build.steps else None,
        "checks": _checks(build),
        "totals": _totals(build),
    }
    clean: Record = _clean(record, "")
    return clean


def build_json(build: Build) -> bytes:
    """Return the build file: UTF-8, one record on each line; equal builds give equal bytes."""
    entries = [f"{json.dumps(key)}: {_lines(value)}" for key, value in build_to_dict(build).items()]
    return ("{\n" + ",\n".join(entries) + "\n}\n").encode("utf-8")


def build_schema() -> Record:
    """Return the JSON Schema (draft 2020-12) that every build file satisfies."""
    text = files(__package__).joinpath("build.schema.json").read_text(encoding="utf-8")
    schema: Record = json.loads(text)
    return schema


def read_build_json(path: str | PathLike[str]) -> Record:
    """Read a build file.

    Raises
    ------
    PinwrightError : it cannot be read, is no JSON, or is no build file of this version
    """
    name = fspath(path)
    try:
        record = json.loads(Path(path).read_text(encoding="utf-8"), parse_constant=_no_constant)
    except OSError as error:
        reason = error.strerror or str(error)
        raise PinwrightError(f"{name}: cannot be read ({reason}). Name a build.json.") from error
    except ValueError as error:  # JSONDecodeError and UnicodeDecodeError are both of this kind
        raise PinwrightError(f"{name}: is not JSON ({error}). Build the design again.") from error
    found = record.get("schema") if isinstance(record, dict) else None
    if found != SCHEMA_NAME:
        raise PinwrightError(
            f"{name}: schema is {found!r}, this version reads {SCHEMA_NAME!r}. "
            "Build the design again with this version."
        )
    missing = [key for key in build_schema()["required"] if key not in record]
    if missing:
        raise PinwrightError(
            f"{name}: {', '.join(missing)} missing; the file is not whole. Build the design again."
        )
    return dict(record)


def _sheet(build: Build) -> Record:
    sheet = build.design.sheet
    return {
        "material": sheet.material,
        "thickness": sheet.thickness,
        "clearance": sheet.clearance,
        "kerf": sheet.kerf,
        "one_sided": sheet.one_sided,
    }


def _part(part: Part) -> Record:
    return {
        "mark": part.mark,
        "quantity": part.quantity,
        "thickness": part.thickness,
        "mass": part.mass,
        "outline": _outline(part.outline),
        "flaps": list(part.flaps),
    }


def _outline(polygon: Polygon) -> Record:
    outline = orient_polygons(polygon)
    return {
        "exterior": _ring(outline.exterior.coords),
        "interiors": [_ring(hole.coords) for hole in outline.interiors],
    }


def _ring(coordinates: npt.ArrayLike) -> npt.NDArray[np.float64]:
    """Return a ring (n, 2) without shapely's repetition of the first point."""
    return np.asarray(coordinates, dtype=np.float64)[:-1, :2]


def _plates(build: Build) -> list[Record]:
    ways = ways_of(build)
    return [
        {
            "id": plate.id,
            "part": build.parts[plate.part].mark,
            "flipped": plate.flipped,
            "motif": plate.motif,
            "module": build.modules[plate.module].id,
            "transform": plate.world_from_part,
            "explode": plate.explode,
            "explode_way": ways[p],
        }
        for p, plate in enumerate(build.plates)
    ]


def _joint(joint: Joint, build: Build) -> Record:
    return {
        "id": joint.id,
        "kind": joint.kind.value,
        "class": joint.joint_class,
        "plates": [build.plates[index].id for index in joint.plates],
        "angle": joint.angle,
        "centre": joint.centre,
        "line": joint.line,
        "insertion": joint.insertion,
        "pin": None if joint.pin is None else _pin(joint.pin),
        "lock": None if joint.lock is None else joint.lock.value,
        "play": joint.play,
        "tabs": list(joint.tabs),
        "pins": [_pin(pin) for pin in joint.pins],
        "fasteners": [_fastener(fastener, build) for fastener in joint.fasteners],
        "stage": "module" if joint.within_module else "between",
        "hang_point": joint.lock is Lock.LINK,
    }


def _pin(pin: Pin) -> Record:
    return {
        "centre": pin.centre,
        "axis": pin.axis,
        "diameter": pin.diameter,
        "length": pin.length,
    }


def _fastener(fastener: Fastener, build: Build) -> Record:
    return {
        "kind": fastener.kind,
        "part": None if fastener.part is None else build.parts[fastener.part].mark,
        "outline": _outline(fastener.outline),
        "thickness": fastener.thickness,
        "transform": fastener.world,
    }


def _modules(build: Build) -> list[Record]:
    return [
        {
            "id": module.id,
            "plates": [build.plates[index].id for index in module.plates],
            "joints": [build.joints[index].id for index in module.joints],
            "explode": module.explode,
        }
        for module in build.modules
    ]


def _step(step: Step, build: Build) -> Record:
    joints, plates = build.joints, build.plates
    return {
        "n": step.n,
        "module": None if step.module is None else build.modules[step.module].id,
        "add": [plates[p].id for p in step.add],
        "direction": step.direction,
        "way": step.way,
        "turns": np.tile((0.0, 0.0, 0.0, 1.0), (len(step.way), 1))
        if step.turns is None
        else step.turns,
        "pivot": step.pivot,
        "free": step.free,
        "why": step.why,
        "close": [joints[j].id for j in step.close],
        "pin": [joints[j].id for j in step.pin],
        "spring": [
            {
                "joint": joints[spring.joint].id,
                "plate": plates[spring.plate].id,
                "deflection": spring.deflection,
                "force": spring.force,
                "stress_ratio": spring.stress_ratio,
                "zone": spring.zone,
            }
            for spring in step.springs
        ],
        "leave_open": [joints[j].id for j in step.leave_open],
        "minutes": step.minutes,
        "people": step.people,
        "after": list(step.after),
        "say": step.say,
    }


def _exploded(build: Build) -> Record:
    known = build.exploded
    return {
        "in_order": known is not None and known.in_order,
        "split": SPLIT if known is None else known.split,
        "snags": None
        if known is None
        else [
            {
                "plates": [build.plates[p].id for p in snag.plates],
                "joints": [build.joints[j].id for j in snag.joints],
                "why": snag.why,
            }
            for snag in known.snags
        ],
    }


def _checks(build: Build) -> list[Record]:
    return [
        {
            "name": check.name,
            "ok": check.ok,
            "figure": check.figure,
            "unit": check.unit,
            "limit": check.limit,
            "message": check.message,
            "remedy": check.remedy,
            "where": list(check.where),
        }
        for check in build.checks
    ]


def _totals(build: Build) -> Record:
    totals = build.totals
    return {
        "plates": totals.plates,
        "pins": totals.pins,
        "mass": totals.mass,
        "sheet_area": totals.sheet_area,
        "cut_length": totals.cut_length,
        "diameter": totals.diameter,
        "centre_of_gravity": totals.centre_of_gravity,
    }


def _clean(value: Any, where: str) -> Any:
    """Turn numpy's types into Python's, -0.0 into 0.0, and refuse what JSON has no word for."""
    if isinstance(value, Mapping):
        return {key: _clean(item, f"{where}.{key}".lstrip(".")) for key, item in value.items()}
    if isinstance(value, np.ndarray):
        if value.dtype.kind == "f" and not np.isfinite(value).all():
            raise _not_finite(value.tolist(), where)
        return (value + 0.0).tolist() if value.dtype.kind == "f" else value.tolist()
    if isinstance(value, Sequence) and not isinstance(value, str):
        return [_clean(item, f"{where}[{place}]") for place, item in enumerate(value)]
    if isinstance(value, np.generic):
        return _clean(value.item(), where)
    if isinstance(value, float):
        if not isfinite(value):
            raise _not_finite(value, where)
        return float(value) + 0.0
    return value


def _not_finite(value: object, where: str) -> OutputError:
    return OutputError(
        f"build.json: {where} is {value!r}; only finite numbers can be written. "
        "Look for a length, angle or limit of the design that is extremely large or zero."
    )


def _lines(value: Any) -> str:
    """Write lists of records with one record on each line: short enough, and fit for a diff."""
    if isinstance(value, list) and value:
        return "[\n" + ",\n".join(_text(item) for item in value) + "\n]"
    return _text(value)


def _text(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False, allow_nan=False)


def _no_constant(name: str) -> float:
    raise ValueError(f"{name} is no JSON number")
