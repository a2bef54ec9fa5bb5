# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""All that is asked of a build file, in order."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

import numpy as np
import numpy.typing as npt

from ..checks.judge import check_clash, check_clearance, connected_check, web_check
from ..checks.outline_views import outline_views
from ..checks.parts import part_checks
from ..checks.places import SHOWN, at, listed
from ..checks.webs import Opening, Web, webs
from ..export.legible import check_marks
from ..fit.sizes import Sizes
from ..pipeline import sizes_of
from ..results import Build, Check
from .against import check_against_design
from .book import check_book
from .reading import Reading, read_record
from .scene import placed_scene
from .seats import check_seats

__all__ = ["recheck"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]


def recheck(
    record: Mapping[str, Any],
    folder: str = "",
    progress: Callable[[str, float], None] | None = None,
    against_design: bool = True,
    fresh: Build | None = None,
) -> Build:
    """Read the content of a build.json and judge it; what was found stands in its `checks`.

    record : as `read_build_json` gives it; folder : where its design's mesh paths start
    against_design : build its design anew, too, and tell every difference
    fresh : what its design gives, where that is known already

    Raises
    ------
    PinwrightError : the record cannot be read; names the place.
    """
    say = progress if progress is not None else _silent
    say("reading", 0.0)
    reading = read_record(record, folder)
    build = reading.build
    sizes = sizes_of(build.design)
    say("solids", 0.1)
    scene, named = placed_scene(build, max(10 * sizes.gap, 25.0))
    checks = [
        check_book(reading, record),
        _check_whole(reading),
        check_clash(scene, named),
        check_clearance(scene, sizes.gap, named),
        _check_connected(build),
    ]
    say("joints", 0.5)
    checks.append(check_seats(build, sizes))
    checks.append(_check_webs(build, sizes))
    checks += [*part_checks(build, sizes), check_marks(build)]
    if against_design:
        say("design", 0.7)
        checks.append(check_against_design(build, fresh))
    say("done", 1.0)
    return replace(build, checks=tuple(checks))


def _check_whole(reading: Reading) -> Check:
    """Judge whether every outline is one sound piece."""
    count = len(reading.apart)
    if not count:
        text = "every part is one piece"
        return Check("in one piece", True, 0.0, "", 0.0, text)
    text = f"{count} parts are not one piece of sheet"
    remedy = "Move the slots or holes apart, or away from the edge."
    return Check("in one piece", False, float(count), "", 0.0, text, listed(reading.apart), remedy)


def _check_webs(build: Build, sizes: Sizes) -> Check:
    """Judge whether every closed hole of a joint keeps the design's web round it."""
    named: list[tuple[str, Web, Floats]] = []
    for view in outline_views(build):
        rings = [np.asarray(ring.coords)[:-1] for ring in view.outline.interiors]
        openings = [
            Opening(name, ring) for name, ring in zip(view.holes, rings, strict=True) if name
        ]
        for web in webs(view.bare, openings):
            named.append((f"part {view.mark}, {web.beside}", web, web.place))
    return web_check(named, sizes.web)


def _check_connected(build: Build) -> Check:
    """Judge whether the joints hold all plates in one piece; the largest is not told of."""
    count = len(build.plates)

    def where(piece: Ints) -> tuple[str, ...]:
        sizes = np.bincount(piece)
        main = int(sizes.argmax())
        firsts = [int(np.flatnonzero(piece == k)[0]) for k in range(len(sizes)) if k != main]
        return tuple(
            f"piece of {build.plates[k].id}, {sizes[piece[k]]} of {count} plates"
            + at(build.plates[k].world_from_part[:3, 3])
            for k in firsts[:SHOWN]
        )

    pairs = np.array([joint.plates for joint in build.joints], dtype=np.intp).reshape(-1, 2)
    return connected_check(count, pairs[:, 0], pairs[:, 1], where)


def _silent(stage: str, share: float) -> None:
    """Take the progress of callers that do not want it."""
