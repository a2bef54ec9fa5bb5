# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The core's list of wrong placements for a design, told by the plates of its build."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from pinwright.core.assembly.modules import module_of_plates
from pinwright.core.checks.mates import JointSizeTable
from pinwright.core.checks.mistakes import Mistake, find_mistakes
from pinwright.core.checks.sites import Whole
from pinwright.core.design.model import Design
from pinwright.core.outlines.parts import part_shapes
from pinwright.core.results import Build
from tests.placing_judge import Laid
from tests.stages import staged

__all__ = ["laid", "mistakes_of"]


def mistakes_of(
    design: Design, modules: Sequence[int] | None = None
) -> tuple[list[Mistake], Whole]:
    """Return the list of a design without keys.

    modules : of each plate, in the order of motifs and group elements; None: the design's own
    """
    s = staged(design)
    shapes = part_shapes([one.outline for one in s.finished], design.sheet.one_sided)
    module = module_of_plates(design.modules, s.frame, s.group, s.motifs, s.orbits, s.joints)
    if modules is not None:
        module = np.array(modules, dtype=np.intp)
    whole = Whole(s.features, s.classes, s.orbits, s.group, s.joints, module)
    table = JointSizeTable.of(s.classes, s.sizes)
    return find_mistakes(whole, shapes, table, design.sheet.one_sided), whole


def laid(mistake: Mistake, whole: Whole, build: Build) -> Laid:
    """Return a part's mistake as the judge of placements says it."""
    (plate,) = mistake.site.plates.tolist()
    motif, element = whole.orbits.motif[plate], whole.orbits.element[plate]
    names = [one.name for one in build.design.motifs]
    found = next(
        k
        for k, one in enumerate(build.plates)
        if one.element == element and one.motif == names[motif]
    )
    return Laid(found, mistake.part, mistake.placed[0])
