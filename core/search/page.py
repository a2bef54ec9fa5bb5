# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The page of the finds: pictures and figures, to be sorted in the browser; no network is used."""

from __future__ import annotations

import html
from collections.abc import Sequence, Set
from dataclasses import asdict, dataclass

from .page_parts import CAUTIONS, SCRIPT, STYLE
from .state import Found, State

__all__ = ["FIGURES", "Figure", "Shown", "facts", "page"]

#: A design, its score, and the name of the one that it looks like.
Shown = tuple[Found, float, str]


@dataclass(frozen=True, slots=True)
class Figure:
    """A column of the page: key of `Merits` (or "score"), title, unit, digits, meaning.

    falling : the greatest comes first when it is sorted by
    """

    key: str
    title: str
    unit: str
    digits: int
    falling: bool
    meaning: str


FIGURES = (
    Figure("score", "score", "", 3, True, "all figures weighed together, 1 is best"),
    Figure("clearance", "clearance", "mm", 1, True, "least air between plates not joined"),
    Figure("web", "least web", "mm", 1, True, "least material beside a slot, a hole or an edge"),
    Figure("width", "strip width", "mm", 1, True, "width of the strips"),
    Figure("length", "strip length", "mm", 0, True, "mean length of the strips along their curve"),
    Figure("slenderness", "length / width", "", 1, False, "slender strips bend and sway more"),
    Figure("plates", "plates", "", 0, False, "pieces to cut"),
    Figure("parts", "outlines", "", 0, False, "different outlines among the pieces"),
    Figure("openness", "open", "%", 0, True, "share of the silhouette that is free"),
    Figure("evenness", "even", "%", 0, True, "how evenly the material covers the silhouette"),
    Figure("roundness", "round", "%", 0, True, "least breadth over greatest breadth"),
    Figure("square", "square joints", "%", 0, True, "share of joints at 90 degrees"),
    Figure("linked", "linked rotors", "", 0, True, "pairs of rings that cannot be drawn apart"),
    Figure("linked_on_axis", "of them coaxial", "", 0, True, "linked rings about one axis"),
    Figure(
        "sprung", "spring stress", "%", 0, False,
        "stress where the hardest rotor is sprung shut, of the sheet's strength; an estimate: "
        "above 100 % the sheet stays bent or cracks",
    ),
)  # fmt: skip

_COUNTS = {1: "one motif", 2: "two motifs", 3: "three motifs"}


def facts(state: State) -> tuple[str, str]:
    """Return the title and the line of facts of a sheet."""
    wanted = state.wanted
    title = f"Right-angle sculptures in group {wanted.group}, {_COUNTS[wanted.motifs]}"
    line = (
        f"{_many(len(state.found), 'design')} of {_many(state.normals, 'set')} of planes, "
        f"each proved by a full build; {_round(state.judged)} candidates judged; "
        f"{wanted.diameter:g} mm across, {wanted.thickness:g} mm sheet, "
        f"{wanted.clearance:g} mm between plates"
    )
    return title, line


def page(state: State, shown: Sequence[Shown], painted: Set[str], folder: str) -> str:
    """Return the page; painted : names of the designs whose picture lies in `folder`."""
    title, line = facts(state)
    cards = "\n".join(
        _card(number, one, value, like, folder if one.name in painted else None)
        for number, (one, value, like) in enumerate(shown, 1)
    )
    known = [figure for figure in FIGURES if any(_value(figure, s) is not None for s in shown)]
    choices = "".join(
        f'<option value="{f.key}" data-falling="{int(f.falling)}">{html.escape(f.title)}</option>'
        for f in known
    )
    meanings = "".join(
        f"<dt>{html.escape(f.title)}{_unit(f)}</dt><dd>{html.escape(f.meaning)}</dd>" for f in known
    )
    return f"""<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>{html.escape(title)}</title>
<style>{STYLE}</style>
</head>
<body>
<header>
<h1>{html.escape(title)}</h1>
<p>{html.escape(line)}.</p>
<p>Each picture is one sculpture of flat plates. One color is one motif: all plates of a color
are carried round from one plate by the rotations of the group. Every joint is a tab through a slot,
or two plates slotted half way each, at a right angle. The best of those that look different come
first; a click on a name opens the design file, which <code>pinwright build</code> turns into cut
files.</p>
<form id="order" hidden>
<label>Sort by <select id="key">{choices}</select></label>
<button type="button" id="turn" aria-pressed="false">Turn the order round</button>
<output id="said" aria-live="polite"></output>
</form>
</header>
<main id="cards">
{cards}
</main>
<section>
<h2>What the figures say</h2>
<dl class="meanings">{meanings}</dl>
</section>
{CAUTIONS}
<script>{SCRIPT}</script>
</body>
</html>
"""


def _card(number: int, one: Found, value: float, like: str, pictures: str | None) -> str:
    shown = (one, value, like)
    name = html.escape(one.name)
    known = [(figure, _value(figure, shown)) for figure in FIGURES]
    rows = "".join(
        f"<dt>{html.escape(figure.title)}</dt><dd>{_text(figure, found)}</dd>"
        for figure, found in known
        if found is not None
    )
    data = "".join(
        f' data-{figure.key.replace("_", "-")}="{found:.6g}"'
        for figure, found in known
        if found is not None
    )
    picture = '<div class="none">no picture yet</div>'
    if pictures is not None:
        alt = f"Picture of design {name}: {one.merits.plates} plates"
        picture = f'<img src="{pictures}/{name}.png" alt="{alt}" loading="lazy">'
    note = "" if like == one.name else f'<span class="note">looks like {html.escape(like)}</span>'
    return (
        f'<figure id="{name}"{data}>{picture}<figcaption><span class="number">{number}</span> '
        f'<a href="{html.escape(one.file)}">{name}</a>{note}'
        f'<span class="kind">{html.escape(one.kind)}</span><dl>{rows}</dl></figcaption></figure>'
    )


def _value(figure: Figure, shown: Shown) -> float | None:
    one, value, _ = shown
    found = value if figure.key == "score" else asdict(one.merits)[figure.key]
    if found is None:
        return None
    return 100.0 * found if figure.unit == "%" else float(found)


def _text(figure: Figure, found: float) -> str:
    unit = f"&nbsp;{figure.unit}" if figure.unit else ""
    return f"{found:.{figure.digits}f}{unit}"


def _unit(figure: Figure) -> str:
    return f", {figure.unit}" if figure.unit else ""


def _many(count: int, word: str) -> str:
    return f"{count} {word}" if count == 1 else f"{count} {word}s"


def _round(count: int) -> str:
    if count < 1_000_000:
        return f"{count}"
    return f"{count / 1e6:.0f} million" if count >= 10_000_000 else f"{count / 1e6:.1f} million"
