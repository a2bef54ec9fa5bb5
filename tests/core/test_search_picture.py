# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Pictures of finds: what covers what, judged by shapely's polygons and by plain ray casting."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import pytest
import shapely
from shapely import Polygon

from pinwright.core.frame.group import rotation_group
from pinwright.core.search.caption import text_size, write_words
from pinwright.core.search.light import GROUND, PAPER, linear, smaller, srgb
from pinwright.core.search.picture import best_view, paint
from pinwright.core.search.png import png_bytes
from pinwright.core.search.samples import Cloud, cloud_of, sampled
from pinwright.core.search.shape import view_axes
from tests.found import found_design
from tests.pixels import png_pixels

VIEW = (0.3, -0.8, 0.5)
EYE, FILL = 4.2, 0.965  # of the picture: distance of the eye, share of the half side


@lru_cache(maxsize=1)
def cloud() -> Cloud:
    return cloud_of(found_design())


def test_png_gives_its_pixels_back() -> None:
    pixels = np.random.default_rng(1).integers(0, 256, (7, 11, 3), dtype=np.uint8)
    assert (png_pixels(png_bytes(pixels)) == pixels).all()


def in_picture(points: np.ndarray, size: int) -> np.ndarray:
    """Pinhole camera as a textbook has it: points (n, 3) in radii to pixels (n, 2), y down."""
    right, up, eye = view_axes(VIEW)
    # The ball of radius 1 is seen from EYE under the angle asin(1/EYE): it fills FILL of the half.
    focus = FILL * size / 2 / np.tan(np.arcsin(1 / EYE))
    far = EYE - points @ eye
    return np.column_stack([points @ right / far, -(points @ up) / far]) * focus + size / 2


def plates() -> list[tuple[int, np.ndarray]]:
    """Corners (n, 3) of the middles of all plates, in radii, with their motifs."""
    one = cloud()
    return [
        (m, np.column_stack([corners, np.zeros(len(corners))]) @ turn.T.astype(float) + origin)
        for m, outline in enumerate(one.outlines)
        for corners in [np.asarray(outline.exterior.coords)]
        for turn, origin in zip(one.turns[m], one.origins[m], strict=True)
    ]


def covered(size: int) -> np.ndarray:
    return np.abs(paint(cloud(), VIEW, size).astype(int) - PAPER).max(axis=2) > 0


def test_silhouette_is_the_union_of_the_plates() -> None:
    size = 200
    shapes = [Polygon(in_picture(corners, size)).buffer(0) for _, corners in plates()]
    # Half the sheet's thickness of 3 mm is 0.3 pixels; a pixel is touched up to one beyond that.
    sheet = 0.3 * 200 / 200
    shadow = shapely.union_all(shapes)
    y, x = np.mgrid[0:size, 0:size] + 0.5
    near = shapely.contains_xy(shadow.buffer(sheet + 1.6), x, y)
    inner = shapely.contains_xy(shadow.buffer(-0.8), x, y)
    seen = covered(size)
    assert inner.sum() > 0.1 * size**2
    assert not (seen & ~near).any()
    assert not (inner & ~seen).any()  # no hole between the samples


def first_met(pixels: np.ndarray, size: int) -> tuple[np.ndarray, np.ndarray]:
    """Depths and motifs (n,) of the plates that rays through places (n, 2) meet first; -inf: none.

    Middles of plates: the rays know no thickness.
    """
    right, up, eye = view_axes(VIEW)
    focus = FILL * size / 2 / np.tan(np.arcsin(1 / EYE))
    x, y = (pixels - size / 2).T[:, :, None] / focus
    ways = x * right - y * up - eye
    depth, motif = np.full(len(pixels), -np.inf), np.full(len(pixels), -1)
    for m, outline in enumerate(cloud().outlines):
        for turn, origin in zip(cloud().turns[m], cloud().origins[m], strict=True):
            start, along = turn.T @ (EYE * eye - origin), ways @ turn
            t = -start[2] / along[:, 2]
            place = start[:2] + t[:, None] * along[:, :2]
            here = np.where(shapely.contains_xy(outline, *place.T), EYE - t, -np.inf)
            motif = np.where(here > depth, m, motif)
            depth = np.maximum(depth, here)
    return depth, motif


def test_nearest_plate_is_seen() -> None:
    """At random pixels the colour is that of the motif whose plate a ray meets first."""
    size = 240
    picture = paint(cloud(), VIEW, size).astype(int)
    pixels = np.random.default_rng(5).integers(30, 210, (3000, 2))
    # Where plates change, a pixel sees both; what is far fades into the ground.
    corners = [(-1.0, -1.0), (-1.0, 2.0), (2.0, -1.0), (2.0, 2.0)]
    met = [first_met(pixels + np.array(corner), size) for corner in corners]
    motif = met[0][1]
    clear = np.all([depth > 0.3 for depth, _ in met], axis=0)
    clear &= np.all([other == motif for _, other in met], axis=0)
    red, _, blue = picture[pixels[:, 1], pixels[:, 0]].T
    right = (red > blue) == (motif == 1)  # the first motif is blue, the second copper
    assert clear.sum() > 150
    # A plate seen on its edge is a line that the rays miss.
    assert right[clear].mean() > 0.95


def test_samples_fill_the_outline() -> None:
    step = 0.004
    for outline, sample in zip(cloud().outlines, sampled(cloud(), step), strict=True):
        inner = sample.face[: sample.rim].astype(float)
        assert len(inner) * step**2 == pytest.approx(outline.area, rel=0.01)
        assert shapely.contains_xy(outline.buffer(1e-6), *inner.T).all()
        rim = shapely.points(sample.face[sample.rim :].astype(float))
        assert shapely.distance(outline.exterior, rim).max() < 1e-6
        ways = sample.edge[:, :2].astype(float) + 1e-4 * sample.out
        assert not shapely.contains_xy(outline, *ways.T).any()
        assert np.abs(sample.edge[:, 2]).max() < cloud().thickness / 2


def test_view_stands_near_an_axis_of_the_group() -> None:
    view = best_view(cloud())
    axes = np.array([axis for axis, _ in rotation_group("T").axes()])
    off = np.degrees(np.arccos(np.abs(axes @ view).max()))
    assert off == pytest.approx(5.0, abs=1e-3)
    # Both ends of the three-fold axis and one of the two-fold one: no turn of T carries them over.
    assert len(cloud().axes) == 3


def test_directions_that_the_group_carries_over_look_alike() -> None:
    turned = rotation_group("T").matrices[5] @ np.array(VIEW)
    first, second = (paint(cloud(), view, 96) for view in (VIEW, turned))
    # The other picture is the same one turned in its plane, lit from another side.
    shares = [(picture != PAPER).any(axis=2).mean() for picture in (first, second)]
    assert shares[0] == pytest.approx(shares[1], abs=0.01)
    assert shares[0] > 0.2
    assert (first != second).any()


def test_light_is_averaged_before_the_curve_is_laid_on() -> None:
    # IEC 61966-2-1 gives 0.5 in linear light for the sRGB value 0.7354 (from memory).
    assert float(srgb(np.array(0.5, dtype=np.float32))) == pytest.approx(0.7354, abs=1e-4)
    values = np.linspace(0, 1, 33)
    assert np.abs(srgb(linear(values)) - values).max() < 1e-6
    half = np.zeros((8, 8, 3), dtype=np.float32)
    half[:, 4:] = 1.0
    assert smaller(half)[1, :, 0] == pytest.approx([0, 0.125, 0.875, 1])
    assert smaller(np.full((6, 6, 3), 0.3, dtype=np.float32)) == pytest.approx(0.3)
    assert np.rint(srgb(GROUND) * 255).astype(int).tolist() == list(PAPER)


def test_words_lie_where_they_are_put() -> None:
    image = np.full((40, 200, 3), 255, dtype=np.uint8)
    end = write_words(image, "L.I", 10, 12, 16, (0, 0, 0))
    ink = (255 - image[:, :, 0].astype(int)) > 60
    rows, columns = np.flatnonzero(ink.any(axis=1)), np.flatnonzero(ink.any(axis=0))
    assert abs(rows[0] - 12) <= 1
    assert abs(rows[-1] - 27) <= 1
    assert abs(columns[0] - 10) <= 1
    assert columns[-1] < 10 + text_size("L.I", 16) + 1 < end
    foot = np.flatnonzero(ink[27, :24])
    assert len(foot) >= 8  # the foot of the L
    assert not ink[14:25, 14:24].any()  # nothing above it
    write_words(image, "?", 190, 30, 16, (0, 0, 0))  # no such sign, and over the rim: no error
