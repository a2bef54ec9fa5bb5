# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""What a search has found so far, in one index file: it can be read, stopped and gone on with."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass, field, fields
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from ..design.files import read_text, write_text
from ..design.write import write_design
from ..errors import DesignError, PinwrightError
from .batch import BatchResult
from .finds import Wanted
from .rank import Merits, merits_from, record_of

__all__ = ["DESIGNS", "INDEX", "SCHEMA", "Found", "State", "read_state", "same_search"]

SCHEMA = "pinwright-search/1"
INDEX = "index.json"
DESIGNS = "designs"

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Found:
    """One proved design in the index; its file is designs/NAME.toml."""

    name: str
    kind: str
    normals: str
    merits: Merits
    signature: Floats

    @property
    def file(self) -> str:
        """Path of the design file in the folder of the search."""
        return f"{DESIGNS}/{self.name}.toml"


@dataclass(slots=True)
class State:
    """A search as it stands.

    next_batch : batches before this one are done, none after it
    judged, laid, improved, built : totals; see `BatchResult`
    seconds : of all runs together, on the clock
    """

    wanted: Wanted
    seed: int
    next_batch: int = 0
    judged: int = 0
    laid: int = 0
    improved: int = 0
    built: int = 0
    seconds: float = 0.0
    found: list[Found] = field(default_factory=list)

    @property
    def normals(self) -> int:
        """Number of different sets of plane directions among the finds."""
        return len({one.normals for one in self.found})

    def add(self, result: BatchResult, folder: Path, most: int | None = None) -> None:
        """Take the finds of the next batch over and write their design files."""
        self.next_batch = result.batch + 1
        self.judged += result.judged
        self.laid += result.laid
        self.improved += result.improved
        self.built += result.built
        for proved in result.proved:
            if most is not None and len(self.found) >= most:
                break
            found = Found(proved.name, proved.kind, proved.key, proved.merits, proved.signature)
            write_design(proved.design, folder / found.file)
            self.found.append(found)

    def write(self, folder: Path, extra: Mapping[str, Mapping[str, Any]] | None = None) -> None:
        """Write the index; `extra` : more values for some of the designs, by name."""
        more = extra if extra is not None else {}
        record = {
            "schema": SCHEMA,
            "units": {"length": "mm", "angle": "deg"},
            "wanted": asdict(self.wanted),
            "seed": self.seed,
            "next_batch": self.next_batch,
            "judged": self.judged,
            "laid": self.laid,
            "improved": self.improved,
            "built": self.built,
            "seconds": round(self.seconds, 1),
            "normals": self.normals,
            "designs": [
                {
                    "name": one.name,
                    "file": one.file,
                    "kind": one.kind,
                    "normals": one.normals,
                    **more.get(one.name, {}),
                    "figures": record_of(one.merits),
                    "signature": [round(float(x), 6) for x in one.signature],
                }
                for one in self.found
            ],
        }
        write_text(folder / INDEX, json.dumps(record, indent=1) + "\n")


def read_state(folder: Path) -> State:
    """Read the index of a search. Raises PinwrightError when it is none."""
    path = folder / INDEX
    text = read_text(path)
    try:
        record = json.loads(text)
        if record["schema"] != SCHEMA:
            raise KeyError("schema")
        names = {one.name for one in fields(Wanted)}
        state = State(
            Wanted(**{k: v for k, v in record["wanted"].items() if k in names}),
            int(record["seed"]),
            int(record["next_batch"]),
            int(record["judged"]),
            int(record["laid"]),
            int(record["improved"]),
            int(record["built"]),
            float(record["seconds"]),
        )
        for one in record["designs"]:
            state.found.append(
                Found(
                    str(one["name"]),
                    str(one["kind"]),
                    str(one["normals"]),
                    merits_from(one["figures"]),
                    np.array(one["signature"], dtype=float),
                )
            )
    except (KeyError, TypeError, ValueError) as error:
        raise PinwrightError(
            f"{path} is no index of a search ({SCHEMA}). Take another folder, or start anew."
        ) from error
    return state


def same_search(state: State, wanted: Wanted, seed: int) -> None:
    """Raise DesignError when a search is to be resumed with other wishes than it began with."""
    for name, old, new in [
        *((f.name, getattr(state.wanted, f.name), getattr(wanted, f.name)) for f in fields(Wanted)),
        ("seed", state.seed, seed),
    ]:
        if old != new:
            raise DesignError(
                name, new, f"{old!r}, as the search began", "Resume it as it began, or start anew."
            )
