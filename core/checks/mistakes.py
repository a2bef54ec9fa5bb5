# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""What hands can put together wrongly: every placement that goes in and is not the right one.

Found geometrically: a part is brought to each place in every rigid way in which all joints that
wait there close, turned over or not; what then runs into nothing and does not fill the place as the
drawing wants is a mistake. For a module its mirror image counts too, since it can be built from the
same flat parts. The whole's mirror image can always be built; no cut in flat sheet prevents that.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import chain

import numpy as np
import numpy.typing as npt
import shapely

from ..outlines.parts import PartShapes
from ..results import Check
from .mates import JointSizeTable, MateKind, Mates, compatible
from .overlap import pair_overlaps
from .placing import Bodies, placements, torn
from .seating import seated
from .sites import Site, Whole
from .solids import PlacedPlates, PlateSolid

__all__ = ["Mistake", "Names", "check_mistakes", "described", "find_mistakes", "still_goes_in"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]

_SHOWN = 12  # places named in a finding; the figure counts them all
_FLAT = 0.05  # radians: a part lies in a plane; tilted by less it only leans in its slots
#: A placement is right when no corner is farther than this from the drawing, mm: play moves plates
#: as far.
_HARMLESS = 0.5


@dataclass(frozen=True, slots=True, eq=False)
class Mistake:
    """A wrong placement that goes in.

    site : the place; body : the mates of what is put there, at home
    pose : (4, 4) motion that brings it from there, a mirroring one for a mirror image
    matches : (mate of the body, open mate of the site) of each joint that closes
    home : the plates of the body; part : index, -1 for a module
    placed : (n, 4, 4) world_from_part of what is put there, proper
    way : how it lies, in words
    """

    site: Site
    body: Mates
    pose: Floats
    matches: tuple[tuple[int, int], ...]
    home: Ints
    part: int
    placed: Floats
    way: str


class _Stock:
    """The parts as solids, and what it takes to compare a placement with the drawing."""

    def __init__(self, whole: Whole, shapes: PartShapes, thickness: float, one_sided: bool) -> None:
        self.whole, self.shapes, self.one_sided = whole, shapes, one_sided
        motif = whole.orbits.motif
        self.part = shapes.part[motif]
        self.world_from_part = whole.orbits.transforms @ shapes.plane_from_part[motif]
        self.solids = [PlateSolid.of(outline, thickness) for outline in shapes.outlines]
        self.corners = [shapely.get_coordinates(outline) for outline in shapes.outlines]
        self.edges = [outline.boundary for outline in shapes.outlines]
        for edge in self.edges:
            shapely.prepare(edge)

    def fills(self, part: int, pose: Floats, plate: int) -> bool:
        """Tell whether a part at `pose` (world from part) fills the place of a plate."""
        if part != self.part[plate]:
            return False
        return self.same(part, np.linalg.inv(self.world_from_part[plate]) @ pose)

    def same(self, part: int, motion: Floats) -> bool:
        """Tell whether a motion (4, 4) in a part's own frame carries it onto itself, but for play.

        Corners go to edges, not to corners: a hole's circle is drawn with corners anywhere.
        """
        if self.one_sided and motion[2, 2] < 0:
            return False
        corners = self.corners[part]
        moved = corners @ motion[:3, :2].T + motion[:3, 3]
        if np.abs(moved[:, 2]).max() > _HARMLESS:
            return False
        apart = shapely.distance(self.edges[part], shapely.points(moved[:, :2]))
        return bool(apart.max() < _HARMLESS)

    def free(self, moved: Sequence[tuple[int, Floats]], standing: Ints) -> bool:
        """Tell whether parts, each with its world_from_part, run into none of the plates."""
        solids = [self.solids[part] for part, _ in moved]
        solids += [self.solids[self.part[plate]] for plate in standing]
        poses = [_proper(pose) for _, pose in moved]
        placed = PlacedPlates.of(solids, np.array([*poses, *self.world_from_part[standing]]))
        n, m = len(moved), len(standing)
        pairs = np.stack(np.meshgrid(np.arange(n), n + np.arange(m), indexing="ij"), axis=-1)
        return not pair_overlaps(placed, pairs.reshape(-1, 2), exact=False).clash.any()


def find_mistakes(
    whole: Whole, shapes: PartShapes, sizes: JointSizeTable, one_sided: bool
) -> list[Mistake]:
    """List every wrong placement that goes in, one for each kind of place that symmetry leaves.

    Parts come first, then modules. Placements that look alike, since a part is the same turned
    round, are listed once.
    """
    stock = _Stock(whole, shapes, sizes.thickness, one_sided)
    _, homes = np.unique(stock.part, return_index=True)  # parts are numbered without gaps
    bodies = Bodies.of([whole.mates(int(plate)) for plate in homes])
    found: list[Mistake] = []
    for site in whole.part_sites():
        found += _parts_at(site, homes, bodies, stock, sizes)
    sites = whole.module_sites()
    if sites:
        bodies = Bodies.of([site.own for site in sites])
        for site in sites:
            found += _modules_at(site, sites, bodies, stock, sizes)
    return found


def _parts_at(
    site: Site, homes: Ints, bodies: Bodies, stock: _Stock, sizes: JointSizeTable
) -> Iterator[Mistake]:
    plate = int(site.plates[0])
    known: dict[int, list[Floats]] = {}
    for way in placements(bodies, site.open_, sizes):
        world_from_part = stock.world_from_part[homes[way.body]]
        there = way.brought @ world_from_part
        if stock.fills(way.body, there, plate):
            continue
        alike = known.setdefault(way.body, [])
        if any(stock.same(way.body, np.linalg.inv(old) @ there) for old in alike):
            continue
        if stock.free([(way.body, way.seated @ world_from_part)], site.standing):
            alike.append(there)
            own = np.linalg.inv(stock.world_from_part[plate]) @ there
            words = _words(own, way.body == stock.part[plate])
            home = homes[way.body : way.body + 1]
            body = bodies.mates[way.body]
            yield Mistake(site, body, way.brought, way.matches, home, way.body, there[None], words)


def _modules_at(
    site: Site, sites: Sequence[Site], bodies: Bodies, stock: _Stock, sizes: JointSizeTable
) -> Iterator[Mistake]:
    known: list[list[tuple[int, Floats]]] = []
    turned = ((way, "turned in its place") for way in placements(bodies, site.open_, sizes))
    mirrored = (
        (way, "built as its mirror image") for way in placements(bodies, site.open_, sizes, True)
    )
    for way, words in chain(turned, mirrored):
        home = sites[way.body].plates
        brought = [(int(stock.part[p]), way.brought @ stock.world_from_part[p]) for p in home]
        if _module_fills(brought, site, stock):
            continue
        if any(_alike(brought, old, stock) for old in known):
            continue
        settled = [(int(stock.part[p]), way.seated @ stock.world_from_part[p]) for p in home]
        if stock.free(settled, site.standing):
            known.append(brought)
            placed = np.array([_proper(pose) for _, pose in brought])
            body = bodies.mates[way.body]
            yield Mistake(site, body, way.brought, way.matches, home, -1, placed, words)


def _module_fills(brought: Sequence[tuple[int, Floats]], site: Site, stock: _Stock) -> bool:
    """Tell whether every plate of a module comes to fill the place of a plate."""
    return all(
        any(stock.fills(part, _proper(pose), int(plate)) for plate in site.plates)
        for part, pose in brought
    )


def _alike(
    one: Sequence[tuple[int, Floats]], other: Sequence[tuple[int, Floats]], stock: _Stock
) -> bool:
    """Tell whether two placements of a module fill the same room."""
    return all(
        any(
            part == old and stock.same(part, np.linalg.inv(_proper(was)) @ _proper(pose))
            for old, was in other
        )
        for part, pose in one
    )


def _proper(pose: Floats) -> Floats:
    """Return a pose of a flat part without mirroring: its two sides are cut alike."""
    if np.linalg.det(pose[:3, :3]) > 0:
        return pose
    proper: Floats = pose @ np.diag([1.0, 1.0, -1.0, 1.0])
    return proper


def _words(motion: Floats, own_place: bool) -> str:
    """Say how a part lies, compared with the part that belongs there (both along their own x)."""
    if not own_place:
        return "in the place of another part"
    if np.hypot(motion[0, 2], motion[1, 2]) > _FLAT or abs(motion[2, 3]) > 2 * _HARMLESS:
        side = "turned over, " if motion[2, 2] < 0 else ""
        return f"{side}through the slot from its other side"
    reversed_ = motion[0, 0] < 0
    if motion[2, 2] < 0:
        return "turned over, end for end" if reversed_ else "turned over"
    if motion[0, 0] < -0.9:
        return "end for end"
    return "moved along" if motion[0, 0] > 0.9 else "turned in its plane"


@dataclass(frozen=True, slots=True)
class Names:
    """Give ids of plates and joints, marks of parts, and ids of modules, each by number."""

    plate: Callable[[int], str]
    joint: Callable[[int], str]
    part: Callable[[int], str]
    module: Callable[[int], str]


_SHOWN_JOINTS = 4
_MEETS = {
    MateKind.TAB: "its tab for {} in the slot of {}",
    MateKind.SLOT: "its slot for {} on the tab of {}",
    MateKind.LAP: "its cross-lap for {} in that of {}",
    MateKind.KEY: "its key for {} in the socket of {}",
    MateKind.SOCKET: "its socket for {} on the key of {}",
    MateKind.BUTT: "its end for {} under the fish plate of {}",
}


def described(mistake: Mistake, whole: Whole, names: Names) -> str:
    """Tell a mistake in plain words, with the joints that close."""
    site = mistake.site
    where = names.plate(int(site.plates[0]))
    if mistake.part < 0:
        where = names.module(int(whole.module[site.plates[0]]))
        what = f"module {where} {mistake.way}"
    elif mistake.way == "in the place of another part":
        what = f"a part {names.part(mistake.part)} in the place of {where}"
    else:
        what = f"{where} (part {names.part(mistake.part)}) {mistake.way}"
    closed = []
    for f, g in mistake.matches[:_SHOWN_JOINTS]:
        made_for = whole.classes[int(mistake.body.joint[f])].name
        at = names.joint(int(site.joints[g]))
        closed.append(_MEETS[MateKind(int(mistake.body.kind[f]))].format(made_for, at))
    more = len(mistake.matches) - len(closed)
    return f"{what}: {', '.join(closed)}" + (f" and {more} more" if more else "")


def still_goes_in(mistake: Mistake, sizes: JointSizeTable) -> bool:
    """Tell whether a mistake still goes in when the tabs have other sizes and places.

    sizes : `shift` counts from where the mistake was found. Whether something stands in the way
        then is not looked at anew.
    """
    body = mistake.body.shifted(sizes.shift).moved(mistake.pose)
    open_ = mistake.site.open_.shifted(sizes.shift)
    f, g = (np.array(rows) for rows in zip(*mistake.matches, strict=True))
    fits = compatible(body.kind[f], body.joint[f], open_.kind[g], open_.joint[g], sizes)
    if not fits.all() or torn(body, open_, mistake.matches, sizes):
        return False
    return seated(body, open_, mistake.matches, sizes) is not None


def check_mistakes(
    found: Sequence[Mistake], whole: Whole, names: Names, wanted: bool, keys: str
) -> Check:
    """Judge the list of mistakes.

    wanted : the design asks for keys, so that none may be left; else the list is only told
    keys : the sizes of the tabs, in words
    """
    where = tuple(described(mistake, whole, names) for mistake in found[:_SHOWN])
    if len(found) > _SHOWN:
        where = (*where, f"and {len(found) - _SHOWN} more")
    text = (
        f"{len(found)} kinds of wrong placements go in" if found else "no wrong placement goes in"
    )
    if len(found) == 1:
        text = "one kind of wrong placement goes in"
    if found and not wanted:
        text += " (told only, as keying is off)"
    text += f"; {keys}"
    figure = float(len(found))
    limit = 0.0 if wanted else figure
    return Check("mistakes", not found or not wanted, figure, "", limit, text, where)
