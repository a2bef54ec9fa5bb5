# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Page, sheet and index of the finds: whole, readable by all, honest about what is not drawn."""

from __future__ import annotations

import io
import json
import os
import re
import stat
import time
from collections.abc import Iterator
from contextlib import contextmanager
from html.parser import HTMLParser
from pathlib import Path

import numpy as np
import pytest

from pinwright.core.design.files import write_bytes
from pinwright.core.errors import OutputError
from pinwright.core.search.page import FIGURES
from pinwright.core.search.rank import WEIGHTS, merits_from, record_of
from pinwright.core.search.sheet import contact_sheet, write_sheet
from pinwright.core.search.state import read_state
from tests.found import found_state
from tests.pixels import png_pixels


class Page(HTMLParser):
    """Elements that are open, so that the page is known to be well formed; texts and attributes."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.seen: list[tuple[str, dict[str, str | None]]] = []
        self.text = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.seen.append((tag, dict(attrs)))
        if tag not in {"meta", "img", "br"}:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if self.open and self.open[-1] not in {"script", "style"}:
            self.text += data

    def all(self, tag: str) -> list[dict[str, str | None]]:
        return [attributes for name, attributes in self.seen if name == tag]


def page_of(folder: Path) -> Page:
    page = Page()
    page.feed((folder / "sheet.html").read_text(encoding="utf-8"))
    assert page.open == []
    return page


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A sheet of three finds."""
    place = tmp_path_factory.mktemp("sheet")
    write_sheet(found_state(place, 3), place)
    return place


def test_page_shows_every_design_with_its_figures_and_units(folder: Path) -> None:
    page = page_of(folder)
    cards = page.all("figure")
    assert [card["id"] for card in cards] == [f"T2-00000-0{k}" for k in (1, 2, 3)]
    assert [float(str(card["data-clearance"])) for card in cards] == [40, 39, 38]
    assert float(str(cards[0]["data-sprung"])) == 25
    assert {"40.0\N{NO-BREAK SPACE}mm", "25\N{NO-BREAK SPACE}%"} <= set(
        re.findall(r"[\d.]+\s(?:mm|%)", page.text)
    )
    for image in page.all("img"):
        assert (folder / str(image["src"])).is_file()
        assert image["alt"]
    assert all((folder / str(link["href"])).is_file() for link in page.all("a"))


def test_page_can_be_sorted_by_any_figure_with_the_keyboard(folder: Path) -> None:
    page = page_of(folder)
    options = {str(option["value"]) for option in page.all("option")}
    assert options == {figure.key for figure in FIGURES}
    for card in page.all("figure"):
        assert {f"data-{key.replace('_', '-')}" for key in options} <= set(card)
    # A label, a list and a button of the browser's own are reached and worked with the keyboard.
    assert len(page.all("label")) == len(page.all("select")) == len(page.all("button")) == 1
    assert page.all("output")[0]["aria-live"] == "polite"


def test_page_says_what_it_shows_and_what_to_mind(folder: Path) -> None:
    page = page_of(folder)
    for word in ("Hanging", "Cutting", "Pinching", "Local building", "tab through a slot"):
        assert word in page.text
    source = (folder / "sheet.html").read_text(encoding="utf-8")
    assert "//" not in re.sub(r"<!--.*?-->", "", source)  # no address: nothing is fetched
    assert "@import" not in source
    assert "@media print" in source
    assert "prefers-color-scheme: dark" in source


def test_a_figure_that_is_not_known_is_left_out(tmp_path: Path) -> None:
    write_sheet(found_state(tmp_path, 1, sprung=None), tmp_path)
    page = page_of(tmp_path)
    assert "data-sprung" not in page.all("figure")[0]
    assert "sprung" not in {option["value"] for option in page.all("option")}
    assert json.loads((tmp_path / "index.json").read_text())["designs"][0]["figures"][
        "sprung"
    ] is None  # fmt: skip
    assert read_state(tmp_path).found[0].merits.sprung is None


def test_sheet_shows_the_pictures_as_they_are(folder: Path) -> None:
    sheet = png_pixels((folder / "sheet.png").read_bytes())
    cards = [
        png_pixels((folder / "pictures" / f"T2-00000-0{k}.png").read_bytes()) for k in (1, 2, 3)
    ]
    card = cards[0]
    assert card.shape == (320, 320, 3)
    assert card.std() > 20  # something is drawn
    assert all((other == card).all() for other in cards)  # one find under three names
    # Two pixels of the picture at their distance from each other show where it may stand.
    drawn = np.argwhere((card != card[0, 0]).any(axis=2))
    (y0, x0), (y1, x1) = drawn[len(drawn) // 3], drawn[2 * len(drawn) // 3]
    high, wide = len(sheet) - 319, sheet.shape[1] - 319
    first = (sheet[y0 : y0 + high, x0 : x0 + wide] == card[y0, x0]).all(axis=2)
    second = (sheet[y1 : y1 + high, x1 : x1 + wide] == card[y1, x1]).all(axis=2)
    places = [
        (y, x)
        for y, x in np.argwhere(first & second)
        if (sheet[y : y + 320, x : x + 320] == card).all()
    ]
    assert len(places) == 3
    assert len({y for y, _ in places}) == 1


def test_sheet_fills_its_rows_and_keeps_margins() -> None:
    card = np.zeros((40, 40, 3), dtype=np.uint8)
    for count in (1, 2, 5, 12, 24, 60):
        sheet = contact_sheet([(k, f"N-{k}", card) for k in range(count)], "Title", "a; b, c")
        black = (sheet == 0).all(axis=2)
        assert black.sum() == count * 1600
        for rim in (black[:40], black[-40:], black[:, :40], black[:, -40:]):
            assert not rim.any()


def test_pictures_end_with_the_time_and_the_page_says_so(tmp_path: Path) -> None:
    state = found_state(tmp_path, 5)
    told: list[str] = []
    write_sheet(
        state, tmp_path, progress=lambda text, _: told.append(text), until=time.monotonic() - 1
    )
    assert told == ["1 of 5 pictures"]
    assert [path.stem for path in (tmp_path / "pictures").iterdir()] == ["T2-00000-01"]
    page = page_of(tmp_path)
    assert len(page.all("figure")) == 5
    assert len(page.all("img")) == 1
    assert page.text.count("no picture yet") == 4
    write_sheet(state, tmp_path, workers=2)
    assert len(page_of(tmp_path).all("img")) == 5


@contextmanager
def umask(mask: int) -> Iterator[None]:
    before = os.umask(mask)
    try:
        yield
    finally:
        os.umask(before)


@pytest.mark.skipif(os.name != "posix", reason="modes of files are POSIX's")
@pytest.mark.parametrize(("mask", "mode"), [(0o022, 0o644), (0o027, 0o640)])
def test_files_may_be_read_by_whom_the_mask_allows(tmp_path: Path, mask: int, mode: int) -> None:
    with umask(mask):
        write_sheet(found_state(tmp_path), tmp_path)
    files = [path for path in tmp_path.rglob("*") if path.is_file() and path.suffix != ".toml"]
    assert {path.name for path in files} == {
        "index.json", "sheet.html", "sheet.png", "T2-00000-01.png",
    }  # fmt: skip
    assert {stat.S_IMODE(path.stat().st_mode) for path in files} == {mode}


def test_a_file_is_written_whole_or_left_as_it_was(tmp_path: Path) -> None:
    target = tmp_path / "a.bin"
    write_bytes(target, b"one")
    target.chmod(0o600)
    write_bytes(target, b"two")
    assert target.read_bytes() == b"two"
    assert os.name != "posix" or stat.S_IMODE(target.stat().st_mode) == 0o600
    with pytest.raises(OutputError, match="cannot be written"):
        write_bytes(tmp_path / "none" / "a.bin", b"three")
    with pytest.raises(OutputError, match="is a folder"):
        write_bytes(tmp_path, b"four")
    assert [path.name for path in tmp_path.iterdir()] == ["a.bin"]


def test_index_of_an_older_search_is_read(tmp_path: Path) -> None:
    """An index without the newer figure is read, and its record is one that an older reader knows.

    The older reader took the figures that it knew by name and passed over all others.
    """
    state = found_state(tmp_path)
    state.write(tmp_path)
    path = tmp_path / "index.json"
    record = json.loads(path.read_text(encoding="utf-8"))
    older = {
        "clearance", "web", "width", "length", "slenderness", "openness", "evenness", "roundness",
        "parts", "plates", "square", "linked", "linked_on_axis",
    }  # fmt: skip
    assert record["schema"] == "pinwright-search/1"
    assert older <= set(record["designs"][0]["figures"])
    assert {"name", "file", "kind", "normals", "signature"} <= set(record["designs"][0])
    del record["designs"][0]["figures"]["sprung"]
    path.write_text(json.dumps(record), encoding="utf-8")
    merits = read_state(tmp_path).found[0].merits
    assert merits.sprung is None
    assert merits.clearance == 40
    assert merits_from(record_of(merits)) == merits


def test_every_weight_is_explained_in_the_docs() -> None:
    docs = (Path(__file__).parents[2] / "docs" / "search.md").read_text(encoding="utf-8")
    rows = dict(re.findall(r"^\| `(\w+)` \| ([\d.]+) \|", docs, re.MULTILINE))
    assert {name: float(weight) for name, weight in rows.items()} == WEIGHTS
    for figure in FIGURES:
        assert figure.title in docs
    assert io.StringIO(docs).readline().startswith("# ")
