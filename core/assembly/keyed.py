# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Key a design: look for wrong placements, key the joint classes against them, and look again.

Keys may open the way for placements that did not go in before, so what is found anew joins the
conditions until nothing is found. Placements that no key keeps out (a plate held along one line
only, a cross-lap) are left for the check to tell.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache

from ..checks.mates import JointSizeTable
from ..checks.mistakes import Mistake, find_mistakes, still_goes_in
from ..checks.sites import Whole
from ..checks.webs import least_web
from ..design.model import Design, JointClassChoice
from ..errors import DesignError
from ..fit.fish_plate import FishPlateSizes
from ..fit.sizes import Sizes
from ..frame.frame import Frame
from ..frame.group import Group
from ..joints.classes import JointClass, joint_classes
from ..joints.features import MotifFeatures, motif_features
from ..joints.keying import Conflict, Key, choose_keys, keyed_choices
from ..joints.table import joint_table
from ..outlines.finish import finished_outline
from ..outlines.parts import part_shapes
from ..plates.motif import Motif
from ..plates.orbits import Orbits
from .modules import module_of_plates

__all__ = ["Sculpture", "key_step", "keyed_joint_classes", "tab_words"]

#: Times that keys are chosen anew; each adds at least one placement to keep out.
_MOST_ROUNDS = 20
_MOST_IDLE = 4  # of these in a row that leave no fewer wrong placements
_MOST_WIDTHS = 4  # hands cannot tell more widths apart
_MOST_SHIFTS = 2  # steps to each side, where the strip has room


@dataclass(frozen=True, slots=True, eq=False)
class Sculpture:
    """What keying does not change: the plates before their joints are cut."""

    design: Design
    frame: Frame
    group: Group
    motifs: Sequence[Motif]
    orbits: Orbits
    sizes: Sizes


@dataclass(frozen=True, slots=True, eq=False)
class _Cut:
    """The same with its joints: one choice of keys, worked out."""

    classes: tuple[JointClass, ...]
    features: tuple[MotifFeatures, ...]
    table: JointSizeTable
    mistakes: list[Mistake]


def keyed_joint_classes(
    whole: Sculpture, choices: Sequence[JointClassChoice]
) -> tuple[JointClassChoice, ...]:
    """Return the joint classes with as few tab sizes as keep wrong placements out.

    Where keys cannot keep out all of them, those that leave the fewest are taken.

    Raises
    ------
    DesignError : the joints cannot be cut, with or without keys.
    """
    plain = _cut(whole, choices)
    best, fewest = tuple(choices), len(plain.mistakes)
    keys: dict[int, Key] = {}
    options: dict[int, tuple[Key, ...]] = {}
    conflicts: list[Conflict] = []
    now, idle = plain, 0
    for _ in range(_MOST_ROUNDS):
        fresh = [_conflict(mistake, now, keys, plain) for mistake in now.mistakes]
        for c in {c for one in fresh for c in one.classes} - set(options):
            options[c] = _options(whole, choices, plain, c)
        fresh = [one for one in fresh if _removable(one, options)]
        if not fresh:
            break
        conflicts += fresh
        keys, conflicts = _chosen(options, conflicts)
        keyed = keyed_choices(choices, plain.classes, whole.motifs, keys)
        now = _cut(whole, keyed)
        if len(now.mistakes) < fewest:
            best, fewest, idle = keyed, len(now.mistakes), 0
        elif (idle := idle + 1) == _MOST_IDLE:
            break
    return best


def _chosen(
    options: Mapping[int, Sequence[Key]], conflicts: Sequence[Conflict]
) -> tuple[dict[int, Key], list[Conflict]]:
    """Return keys against all conflicts, or against as many as go together, first come first."""
    keys = choose_keys(_busy(options, conflicts), conflicts)
    if keys is not None:
        return keys, list(conflicts)
    kept: list[Conflict] = []
    keys = {}
    for one in conflicts:
        more = choose_keys(_busy(options, [*kept, one]), [*kept, one])
        if more is not None:
            keys, kept = more, [*kept, one]
    return keys, kept


def _busy(
    options: Mapping[int, Sequence[Key]], conflicts: Sequence[Conflict]
) -> dict[int, Sequence[Key]]:
    """Return the options of the joint classes that the conflicts name."""
    return {c: options[c] for c in sorted({c for one in conflicts for c in one.classes})}


def key_step(design: Design, sizes: Sizes) -> float:
    """Return by how much two tab widths differ at least, and a shifted tab is shifted, mm.

    A tab must be plainly too wide for a wrong slot, as hands and eyes judge it (3 mm; no published
    source), and by far more than play.
    """
    if design.keying.step is not None:
        return design.keying.step
    return max(3.0, 10 * sizes.clearance)


def _cut(whole: Sculpture, choices: Sequence[JointClassChoice]) -> _Cut:
    """Cut all joints and look for wrong placements."""
    group, motifs, orbits, sizes = whole.group, whole.motifs, whole.orbits, whole.sizes
    classes = joint_classes(choices, motifs, group, sizes)
    features = motif_features(classes, motifs, group)
    joints = joint_table(classes, motifs, orbits, group)
    outlines = [
        finished_outline(motif, found, classes, sizes).outline
        for motif, found in zip(motifs, features, strict=True)
    ]
    one_sided = whole.design.sheet.one_sided
    shapes = part_shapes(outlines, one_sided)
    module = module_of_plates(whole.design.modules, whole.frame, group, motifs, orbits, joints)
    table = JointSizeTable.of(classes, sizes)
    mated = Whole(features, classes, orbits, group, joints, module)
    return _Cut(classes, features, table, find_mistakes(mated, shapes, table, one_sided))


def _conflict(mistake: Mistake, now: _Cut, keys: Mapping[int, Key], plain: _Cut) -> Conflict:
    """Return a mistake as a condition on the keys of the tenons that it takes part with.

    keys : those with which it was found
    """
    named = {
        int(joint)
        for f, g in mistake.matches
        for joint in (mistake.body.joint[f], mistake.site.open_.joint[g])
    }
    classes = tuple(sorted(c for c in named if _keyable(plain.classes[c])))

    @cache
    def goes_in(chosen: tuple[Key, ...]) -> bool:
        table = now.table
        width, length, shift = table.tab_width.copy(), table.slot_length.copy(), table.shift.copy()
        for c, key in zip(classes, chosen, strict=True):
            width[c] = key.width
            length[c] = key.width + 2 * table.clearance
            shift[c] = key.shift - (keys[c].shift if c in keys else 0.0)
        sizes = replace(table, tab_width=width, slot_length=length, shift=shift)
        return still_goes_in(mistake, sizes)

    return Conflict(classes, goes_in)


def _keyable(joint: JointClass) -> bool:
    """Tell whether a joint can be keyed: a tenon with one tab, or a splice.

    Two tabs stand where their own widths put them; a lap lies where the plates cross.
    """
    if joint.splice is not None:
        return True
    return joint.tenon is not None and len(joint.tenon.places) == 1


def _own_key(joint: JointClass) -> Key:
    """Return what a joint is keyed by when the design says nothing: width and place of its own."""
    if joint.tenon is not None:
        return Key(joint.tenon.tab_width)
    assert joint.splice is not None
    if isinstance(joint.splice, FishPlateSizes):
        return Key(0.0)  # its pins can only be shifted
    return Key(joint.splice.neck)


def _removable(conflict: Conflict, options: Mapping[int, Sequence[Key]]) -> bool:
    """Tell whether some keys keep a wrong placement out."""
    own = _busy(options, [conflict])
    return bool(own) and choose_keys(own, [conflict]) is not None


def _options(
    whole: Sculpture, choices: Sequence[JointClassChoice], plain: _Cut, c: int
) -> tuple[Key, ...]:
    """Return the keys that a joint class has room for: its own width and narrower ones, shifted."""
    joint = plain.classes[c]
    own = _own_key(joint).width
    step = key_step(whole.design, whole.sizes)
    least = whole.sizes.hole_diameter + 2 * whole.sizes.web
    if joint.splice is not None:
        least = whole.sizes.web
    widths = [own - k * step for k in range(_MOST_WIDTHS)]
    widths = [width for k, width in enumerate(widths) if not k or width >= least - 1e-9]
    shifts = [0.0, *(sign * k * step for k in range(1, _MOST_SHIFTS + 1) for sign in (1, -1))]
    keys = [Key(width, shift) for width in widths for shift in shifts]
    return tuple(key for key in keys if _has_room(whole, choices, plain, c, key))


def _has_room(
    whole: Sculpture, choices: Sequence[JointClassChoice], plain: _Cut, c: int, key: Key
) -> bool:
    """Tell whether a key leaves its webs, and makes no new feature out of one of a symmetric plate.

    A slot that a turn of its plate carries onto itself would come out as two.
    """
    if key == _own_key(plain.classes[c]):
        return True
    try:
        keyed = keyed_choices(choices, plain.classes, whole.motifs, {c: key})
        classes = joint_classes(keyed, whole.motifs, whole.group, whole.sizes)
        features = motif_features(classes, whole.motifs, whole.group)
        for m in {classes[c].a, classes[c].b}:
            old, new = plain.features[m], features[m]
            if _counts(old) != _counts(new):
                return False
            finished = finished_outline(whole.motifs[m], new, classes, whole.sizes)
            bottom = whole.sizes.clearance + whole.sizes.relief
            web = least_web(finished, new, classes, bottom).width
            if web < whole.sizes.web - 1e-4 and web < _web(whole, plain, m) - 1e-4:
                return False
    except DesignError:
        return False
    return True


def _counts(features: MotifFeatures) -> tuple[int, int, int]:
    return len(features.tabs), len(features.slots), len(features.keys)


def _web(whole: Sculpture, plain: _Cut, m: int) -> float:
    """Return the least web of a motif without keys, mm."""
    features = plain.features[m]
    finished = finished_outline(whole.motifs[m], features, plain.classes, whole.sizes)
    bottom = whole.sizes.clearance + whole.sizes.relief
    return least_web(finished, features, plain.classes, bottom).width


def tab_words(classes: Sequence[JointClass]) -> str:
    """Say how many tab sizes there are and which."""
    widths = sorted({round(c.tenon.tab_width, 3) for c in classes if c.tenon is not None})
    if not widths:
        return "there are no tabs"
    shown = ", ".join(f"{width:g}" for width in reversed(widths))
    return f"{len(widths)} tab size{'' if len(widths) == 1 else 's'} ({shown} mm)"
