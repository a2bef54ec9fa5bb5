# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Records that are handed from program to program: all is there, and nothing else is let in."""

from __future__ import annotations

import os
import pickle
from pathlib import Path

import numpy as np
import pytest

from pinwright.core.beside.handing import hand, taken
from pinwright.core.errors import OutputError
from pinwright.core.export.build_json import build_json
from pinwright.core.pipeline import build
from tests.builders import small_design


def test_a_build_comes_through_whole(tmp_path: Path) -> None:
    made = build(small_design())
    hand((made, None), tmp_path / "build")
    back, nothing = taken(tmp_path / "build")
    assert nothing is None
    assert back.design == made.design
    assert build_json(back) == build_json(made)
    for one, other in zip(back.plates, made.plates, strict=True):
        np.testing.assert_array_equal(one.world_from_part, other.world_from_part)


def test_the_other_program_may_call_the_package_otherwise(tmp_path: Path) -> None:
    design = small_design()
    file = tmp_path / "design"
    hand(design, file)
    text = file.read_bytes()
    assert b"pinwright.core.design" in text
    # Names of equal length, so that the lengths written before them stay true.
    file.write_bytes(text.replace(b"pinwright.core", b"elsewhere.core"))
    assert taken(file) == design


class _Command:
    def __reduce__(self):
        return os.system, ("exit 0",)


def test_what_is_no_record_is_refused(tmp_path: Path) -> None:
    for wrong in (pickle.dumps(_Command()), pickle.dumps(eval), b"", b"no pickle at all"):
        (tmp_path / "wrong").write_bytes(wrong)
        with pytest.raises(OutputError, match="not what was to be handed over"):
            taken(tmp_path / "wrong")
    with pytest.raises(OutputError, match="cannot be read"):
        taken(tmp_path / "missing")
    with pytest.raises(OutputError, match="cannot be written"):
        hand(1, tmp_path / "no folder" / "file")
