# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The README.txt of a build's folder: what to cut, from what, and what to beware of."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from textwrap import fill
from typing import Final

from ..results import Build
from .cautions import ASSEMBLY, CUTTING, HANGING
from .drawing import Drawing
from .names import cut_names

__all__ = ["readme_text"]

_FILES: Final = """\
FILES
  build.json   the whole build for other programs, outlines at true size
  cut/         one DXF and one SVG file for each part
  parts.csv    the parts: number, size, mass, files
  plates.csv   every plate of the sculpture: its part, its module, flipped or not
  joints.csv   every joint: its two plates (of a tenon first the one with the tab), angle, pin
  Lengths are mm. Layers: CUT_OUTER and CUT_INNER are cut, MARK is engraved.
  Cut inner contours first, outer ones last.
  A flipped plate is turned over: its engraved mark looks the other way than on its fellows."""

_MARKS: Final = """\
MARKS
  The large letters are the part's own mark. OUT: this side looks away from the middle of the
  sculpture; IN: towards it. At a tab or a slot B-3 says: joint 3, with a part B; both ends of a
  joint bear the same number. TO B says only which part goes there."""

_FIRST: Final = "Cut one piece of each part first and try its joints; then cut the rest."


def readme_text(build: Build, drawings: Sequence[Drawing]) -> str:
    """Return the text; `drawings` are the parts' own, in their order."""
    title = f"{build.design.name}: {build.totals.plates} plates, {build.totals.joints} joints"
    blocks = [
        f"{title}\n{'=' * len(title)}",
        _note(build),
        _FILES,
        _sheet(build, drawings),
        _MARKS if build.design.keying.marks else "",
        _parts(build),
        _pins(build),
        _fasteners(build),
        _findings(build, drawings),
        _assembly(build),
        _cautions(),
    ]
    return "\n\n".join(block for block in blocks if block) + "\n"


def _assembly(build: Build) -> str:
    """Return how it goes together, or that nobody has judged it yet."""
    if not build.steps:
        text = (
            "Whether and how it goes together was not judged. Do that before you cut: "
            "`pinwright plan` and the design file."
        )
    else:
        text = f"The {len(build.steps)} steps of the assembly stand in build.json."
        unsure = sum(not step.free for step in build.steps)
        bent = sum(any(s.stress_ratio > 1.0 for s in step.springs) for step in build.steps)
        if unsure:
            text += f" {unsure} of them are not proved: try them on a model before you cut."
        if bent:
            text += (
                f" {bent} of them bend a plate beyond its yield: mend the design before you cut."
            )
    return f"ASSEMBLY\n{_indented(text)}"


def _cautions() -> str:
    return "\n".join(["BEFORE YOU START", *map(_indented, (_FIRST, CUTTING, ASSEMBLY, HANGING))])


def _indented(text: str) -> str:
    return fill(text, 98, initial_indent="  ", subsequent_indent="  ")


def _note(build: Build) -> str:
    """Return what the designer wrote, a paragraph for each of its lines."""
    lines = (line for line in build.design.note.strip().splitlines() if line.strip())
    return "\n".join(fill(line.strip(), 98) for line in lines)


def _sheet(build: Build, drawings: Sequence[Drawing]) -> str:
    sheet, totals = build.design.sheet, build.totals
    side = "\n  One-sided: keep the good face up when you cut." if sheet.one_sided else ""
    note = _indented(drawings[0].kerf_note)
    return (
        f"SHEET\n  {sheet.material}, {sheet.thickness:g} mm{side}\n{note}\n"
        f"  Net area of all plates {totals.sheet_area / 1e6:.3f} m2, cut length "
        f"{totals.cut_length / 1e3:.1f} m, mass {totals.mass:.2f} kg."
    )


def _parts(build: Build) -> str:
    names = cut_names(part.mark for part in build.parts)
    rows = [
        f"  {part.mark:<4} cut {part.quantity:>4}   cut/{name}.dxf"
        for part, name in zip(build.parts, names, strict=True)
    ]
    return "\n".join(["PARTS", *rows])


def _pins(build: Build) -> str:
    sizes = Counter(
        (round(pin.diameter, 3), round(pin.length, 3))
        for joint in build.joints
        for pin in joint.pins
    )
    rows = [
        f"  {number} of diameter {diameter:g} mm, length {length:g} mm"
        for (diameter, length), number in sorted(sizes.items())
    ]
    return "\n".join(["PINS", *rows]) if rows else ""


def _fasteners(build: Build) -> str:
    """Return what holds tabs in place of pins: how many of each, and what is cut for it."""
    found: Counter[tuple[str, str]] = Counter()
    for joint in build.joints:
        for one in joint.fasteners:
            source = "" if one.part is None else f", cut as part {build.parts[one.part].mark}"
            found[one.kind, source] += 1
    rows = [f"  {number} x {kind}{source}" for (kind, source), number in sorted(found.items())]
    return "\n".join(["INSTEAD OF PINS", *rows]) if rows else ""


def _findings(build: Build, drawings: Sequence[Drawing]) -> str:
    failed = [check.message for check in build.checks if not check.ok]
    rows = [f"  FAILED: {text}" for text in failed]
    rows += [f"  {text}" for text in build.warnings]
    rows += [f"  {text}" for drawing in drawings for text in drawing.warnings]
    return "\n".join(["NOTES", *rows]) if rows else ""
