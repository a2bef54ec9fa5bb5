# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""An independent judge of a whole build: it reads build.json and nothing else.

Every part is extruded again and every plate and pin put in its place; manifold3d's booleans say
what shares room, trimesh weighs the parts, networkx tells whether the whole hangs together. No
geometry of pinwright's own is used. How single joints are tried is told in `tests/judge_joints.py`.
"""

from __future__ import annotations

import json
import random
from collections import Counter, defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import jsonschema
import manifold3d
import networkx
import numpy as np
import numpy.typing as npt
import shapely
import trimesh
from scipy.spatial import cKDTree

from tests.judge_joints import JointTrial, Piece, Tools, inside, lap_failures, tenon_failures
from tests.judge_solids import extruded, pin_pose, pin_solid, polygon_of, standing
from tests.judge_splice import splice_failures

__all__ = ["Verdict", "judge", "judge_file"]

Floats = npt.NDArray[np.float64]
Record = dict[str, Any]

SCHEMA = Path(__file__).resolve().parents[1] / "core" / "export" / "build.schema.json"
NOISE = 1e-7  # mm3: rounding where faces touch exactly


@dataclass(slots=True)
class Verdict:
    """What the judge found.

    interference : volume that pairs of solids share, all pairs added up, mm3; clashes : which do
    pairs, joints : how many were judged; failures : by kind, "id: what" for each
    """

    interference: float = 0.0
    clashes: list[str] = field(default_factory=list)
    pairs: int = 0
    joints: int = 0
    failures: dict[str, list[str]] = field(default_factory=lambda: defaultdict(list))

    @property
    def sound(self) -> bool:
        """Nothing failed but, perhaps, the interference: that has its figure."""
        return not self.failures

    def fail(self, kind: str, what: str) -> None:
        self.failures[kind].append(what)

    def __str__(self) -> str:
        lines = [f"{self.interference:.4g} mm3 shared in {self.pairs} pairs"]
        lines += [f"  {clash}" for clash in self.clashes[:10]]
        for kind, found in self.failures.items():
            lines += [f"{kind}: {len(found)}", *(f"  {what}" for what in found[:6])]
        return "\n".join(lines)


def judge_file(path: Path, density: float | None = None, copies: int = 6) -> Verdict:
    """Judge a build.json."""
    return judge(json.loads(path.read_text(encoding="utf-8")), density, copies)


def judge(
    build: Record, density: float | None = None, copies: int = 6, classes: int | None = None
) -> Verdict:
    """Judge the content of a build.json.

    density : of the sheet, kg/m3; None: only that all parts have the same
    copies : of each joint class that are tried out besides the first (chosen at random, always the
        same); every pair of solids is tried for interference whatever this is
    classes : how many joint classes are tried out, chosen in the same way; None: all
    """
    verdict = Verdict()
    _judge_form(build, verdict)
    if not verdict.sound:
        return verdict
    _judge_counts(build, verdict)
    outlines = {part["mark"]: polygon_of(part) for part in build["parts"]}
    for mark, outline in outlines.items():
        if not outline.is_valid:
            verdict.fail("outline", f"{mark}: {shapely.is_valid_reason(outline)}")
    _judge_poses(build, verdict)
    if {"broken", "outline", "transform"} & verdict.failures.keys():
        return verdict
    solids = {part["mark"]: extruded(part) for part in build["parts"]}
    whole = {part["mark"]: standing(part) for part in build["parts"]}
    pieces = {
        plate["id"]: Piece(
            plate["id"],
            outlines[plate["part"]],
            whole[plate["part"]],
            np.array(plate["transform"]),
            build["sheet"]["thickness"],
            solids[plate["part"]],
        )
        for plate in build["plates"]
    }
    _judge_totals(build, solids, pieces, density, verdict)
    _judge_interference(build, pieces, verdict)
    _judge_joints(build, pieces, copies, classes, verdict)
    return verdict


def _judge_form(build: Record, verdict: Verdict) -> None:
    """The JSON Schema holds; of long lists and rings a few are shown to it, it is slow."""
    schema = json.loads(SCHEMA.read_text(encoding="utf-8"))
    short = dict(build)
    for key in ("parts", "plates", "joints"):
        records = build.get(key, [])
        short[key] = [dict(record) for record in records[:: max(1, len(records) // 60)]]
    for part in short["parts"]:
        outline = part.get("outline", {})
        rings = [outline.get("exterior", []), *outline.get("interiors", [])]
        for ring in rings:
            if {(len(corner), *map(type, corner)) for corner in ring} != {(2, float, float)}:
                verdict.fail("schema", f"{part.get('mark')}: a ring is not of x, y")
        cut = [ring[:4] for ring in rings]
        part["outline"] = {**outline, "exterior": cut[0], "interiors": cut[1:]}
    for error in jsonschema.Draft202012Validator(schema).iter_errors(short):
        verdict.fail("schema", f"{error.json_path}: {error.message[:120]}")


def _judge_counts(build: Record, verdict: Verdict) -> None:
    """Ids are unique, references lead somewhere, quantities add up, all hangs together."""
    for kind, key in (("parts", "mark"), ("plates", "id"), ("joints", "id"), ("modules", "id")):
        names = [record[key] for record in build[kind]]
        for name, count in Counter(names).items():
            if count > 1:
                verdict.fail("ids", f"{kind}: {name} stands {count} times")
    plates = {plate["id"]: plate for plate in build["plates"]}
    used = Counter(plate["part"] for plate in build["plates"])
    for joint in build["joints"]:
        used.update(one["part"] for one in joint["fasteners"] if one["part"] is not None)
    for part in build["parts"]:
        if used.pop(part["mark"], 0) != part["quantity"]:
            verdict.fail("counts", f"part {part['mark']}: quantity {part['quantity']} is wrong")
        if abs(part["thickness"] - build["sheet"]["thickness"]) > 1e-9:
            verdict.fail("counts", f"part {part['mark']}: not as thick as the sheet")
    for mark in used:
        verdict.fail("counts", f"plates of a part {mark} that is not listed")
    totals = build["totals"]
    pins = sum(len(joint["pins"]) for joint in build["joints"])
    if (totals["plates"], totals["pins"]) != (len(plates), pins):
        verdict.fail("counts", f"{len(plates)} plates and {pins} pins, but totals differ")
    graph = networkx.Graph()
    graph.add_nodes_from(plates)
    home = {name: m["id"] for m in build["modules"] for name in m["plates"]}
    for joint in build["joints"]:
        if not set(joint["plates"]) <= set(plates) or len(set(joint["plates"])) != 2:
            verdict.fail("broken", f"{joint['id']} joins {joint['plates']}")
            continue
        graph.add_edge(*joint["plates"])
        one, two = (plates[name]["module"] for name in joint["plates"])
        if (joint["stage"] == "module") != (one == two):
            verdict.fail(
                "modules", f"{joint['id']}: stage {joint['stage']} between {one} and {two}"
            )
        held = bool(joint["pins"] or joint["fasteners"]) or joint["lock"] == "foot"
        fish = joint["kind"] == "splice" and held  # by a plate and pins, which lock no tab
        if not fish and ((joint["kind"] == "tenon") != held or held != (joint["lock"] is not None)):
            verdict.fail("counts", f"{joint['id']}: a {joint['kind']} with lock {joint['lock']}")
        if (joint["pin"] is None) != (not joint["pins"]):
            verdict.fail(
                "counts", f"{joint['id']}: {len(joint['pins'])} pins, first {joint['pin']}"
            )
    if not networkx.is_connected(graph):
        verdict.fail("connected", f"{networkx.number_connected_components(graph)} pieces")
    if sum(len(m["plates"]) for m in build["modules"]) != len(plates) or home != {
        name: plate["module"] for name, plate in plates.items()
    }:
        verdict.fail("modules", "they do not hold every plate once")
    for module in build["modules"]:
        mine = {
            joint["id"]
            for joint in build["joints"]
            if {home[p] for p in joint["plates"]} == {module["id"]}
        }
        if mine != set(module["joints"]):
            verdict.fail("modules", f"{module['id']}: its joints are not those between its plates")


def _judge_poses(build: Record, verdict: Verdict) -> None:
    """Transforms are proper rigid motions, turned over or not."""
    posed = [(plate["id"], plate) for plate in build["plates"]]
    posed += [
        (f"{one['kind']} of {joint['id']}", one)
        for joint in build["joints"]
        for one in joint["fasteners"]
    ]
    for name, record in posed:
        pose = np.array(record["transform"])
        turn = pose[:3, :3]
        wrong = max(
            np.abs(turn @ turn.T - np.eye(3)).max(),
            abs(np.linalg.det(turn) - 1.0),
            np.abs(pose[3] - (0, 0, 0, 1)).max(),
        )
        if wrong > 1e-9:
            verdict.fail("transform", f"{name}: {wrong:.2e} from a proper rigid motion")


def _judge_totals(
    build: Record,
    solids: dict[str, manifold3d.Manifold],
    pieces: dict[str, Piece],
    density: float | None,
    verdict: Verdict,
) -> None:
    """Masses, sums, diameter and centre of gravity, from the solids by trimesh."""
    meshes = {}
    for mark, solid in solids.items():
        mesh = solid.to_mesh64()
        meshes[mark] = trimesh.Trimesh(mesh.vert_properties[:, :3], mesh.tri_verts, process=False)
        if not meshes[mark].is_volume:
            verdict.fail("outline", f"{mark}: its solid is not closed")
    thickness = build["sheet"]["thickness"]
    if density is None:
        first = build["parts"][0]
        density = first["mass"] / meshes[first["mark"]].volume * 1e9
    sums = np.zeros(3)
    reach = 0.0
    part_of = {plate["id"]: plate["part"] for plate in build["plates"]}
    for part in build["parts"]:
        _close(
            "mass",
            part["mark"],
            part["mass"],
            meshes[part["mark"]].volume * density * 1e-9,
            verdict,
        )
    for name, piece in pieces.items():
        mesh = meshes[part_of[name]]
        sums += mesh.volume * (piece.world[:3, :3] @ mesh.center_mass + piece.world[:3, 3])
        corners = mesh.vertices @ piece.world[:3, :3].T + piece.world[:3, 3]
        reach = max(reach, float(np.linalg.norm(corners, axis=1).max()))
    volume = sum(meshes[part_of[name]].volume for name in pieces)
    lengths = {p["mark"]: polygon_of(p).length for p in build["parts"]}
    totals = build["totals"]
    _close("totals", "mass", totals["mass"], volume * density * 1e-9, verdict)
    _close("totals", "sheet area", totals["sheet_area"], volume / thickness, verdict)
    cut = sum(lengths[part_of[name]] for name in pieces)
    _close("totals", "cut length", totals["cut_length"], cut, verdict)
    _close("totals", "diameter", totals["diameter"], 2 * reach, verdict)
    aside = np.abs(np.array(totals["centre_of_gravity"]) - sums / volume).max()
    if aside > 1e-5 * reach:
        verdict.fail("totals", f"centre of gravity is {aside:.4g} mm aside")


def _close(kind: str, name: str, given: float, wanted: float, verdict: Verdict) -> None:
    if abs(given - wanted) > 1e-5 * wanted:  # outlines of one part may differ by 0.01 mm
        verdict.fail(kind, f"{name}: {given:.8g} is given, {wanted:.8g} found")


def _judge_interference(build: Record, pieces: dict[str, Piece], verdict: Verdict) -> None:
    """Try every pair of plates and pins whose boxes meet."""
    names, solids, poses = [], [], []
    for name, piece in pieces.items():
        names.append(name)
        solids.append(piece.solid)
        poses.append(piece.world)
    owner: list[str | None] = [None] * len(names)
    for joint in build["joints"]:
        for pin in joint["pins"]:
            names.append(f"pin of {joint['id']}")
            solids.append(pin_solid(pin))
            poses.append(pin_pose(pin))
            owner.append(None)
        for fastener in joint["fasteners"]:
            names.append(f"{fastener['kind']} of {joint['id']}")
            solids.append(extruded(fastener))
            poses.append(np.array(fastener["transform"]))
            owner.append(joint["id"])  # pieces of one fastener may run into each other
    boxes = np.array(
        [
            solid.transform(pose[:3]).bounding_box()
            for solid, pose in zip(solids, poses, strict=True)
        ]
    )
    for i, j in _meeting(boxes):
        if owner[i] is not None and owner[i] == owner[j]:
            continue
        verdict.pairs += 1
        here = inside(poses[i], poses[j])[:3]
        shared = float((solids[i] ^ solids[j].transform(here)).volume())
        if shared > NOISE:
            verdict.interference += shared
            verdict.clashes.append(f"{names[i]} and {names[j]}: {shared:.4g} mm3")


def _meeting(boxes: Floats) -> Iterable[tuple[int, int]]:
    """Pairs of boxes (n, 6) that meet."""
    low, high = boxes[:, :3] - 1e-6, boxes[:, 3:] + 1e-6
    for i in range(len(boxes) - 1):
        meets = ((low[i] <= high[i + 1 :]) & (low[i + 1 :] <= high[i])).all(axis=1)
        for j in np.flatnonzero(meets):
            yield i, int(i + 1 + j)


def _judge_joints(
    build: Record, pieces: dict[str, Piece], copies: int, classes: int | None, verdict: Verdict
) -> None:
    """Try out joints of every class; two joints in one place are told too."""
    by_class: dict[str, list[Record]] = defaultdict(list)
    by_pair: dict[frozenset[str], list[Record]] = defaultdict(list)
    for joint in build["joints"]:
        by_class[joint["class"]].append(joint)
        by_pair[frozenset(joint["plates"])].append(joint)
    chance = random.Random(20)
    tried = list(by_class.values())
    if classes is not None and classes < len(tried):
        tried = chance.sample(tried, classes)
    for joints in tried:
        rest = joints[1:]
        for joint in [joints[0], *chance.sample(rest, min(copies, len(rest)))]:
            verdict.joints += 1
            first, second = (pieces[name] for name in joint["plates"])
            companions = by_pair[frozenset(joint["plates"])]
            others = [other for other in companions if other is not joint]
            tries = TRIES[joint["kind"]]
            single = _by_tab(joint)
            for one in single:
                mates = [*others, *(tab for tab in single if tab is not one)]
                trial = JointTrial(one, first, second, build["design"], mates, TOOLS)
                for kind, what in tries(trial):
                    verdict.fail(kind, f"{joint['id']} ({joint['class']}): {what}")
    centres = np.array([joint["centre"] for joint in build["joints"]])
    for i, j in cKDTree(centres).query_pairs(0.5) if len(centres) else ():
        one, two = build["joints"][i], build["joints"][j]
        if set(one["plates"]) == set(two["plates"]):
            verdict.fail("ids", f"{one['id']} and {two['id']} are one joint")


def _by_tab(joint: Record) -> list[Record]:
    """Return a record for each tab of a joint, with what holds it; the joint if it has none."""
    if joint["kind"] != "tenon":
        return [joint]
    line = np.array(joint["line"])
    places = np.array(joint["tabs"]) @ line

    def mine(tab: int, place: npt.ArrayLike) -> bool:
        return int(np.abs(places - np.asarray(place) @ line).argmin()) == tab

    return [
        {
            **joint,
            "centre": centre,
            "pins": [pin for pin in joint["pins"] if mine(k, pin["centre"])],
            "fasteners": [
                one for one in joint["fasteners"] if mine(k, np.array(one["transform"])[:3, 3])
            ],
        }
        for k, centre in enumerate(joint["tabs"])
    ]


TRIES = {"tenon": tenon_failures, "cross-lap": lap_failures, "splice": splice_failures}
TOOLS = Tools(pin_pose, pin_solid, extruded)
