# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Answers for programs: exactly one JSON object on standard output."""

from __future__ import annotations

import json
import math
from typing import Any

from ..errors import DesignError, PinwrightError

__all__ = ["error_record", "print_json"]


def error_record(error: PinwrightError) -> dict[str, object]:
    """Return an error as a JSON-ready record; those of a design name the field."""
    record: dict[str, object] = {
        "kind": type(error).__name__.lstrip("_"),
        "message": str(error),
    }
    if isinstance(error, DesignError):
        record |= {
            "field": error.field,
            "found": None if error.found is None else repr(error.found),
            "allowed": error.allowed,
            "remedy": error.remedy,
        }
    return record


def print_json(record: dict[str, Any]) -> None:
    """Print one JSON object; a figure that is no finite number becomes null."""
    print(json.dumps(_finite(record), indent=2, allow_nan=False))


def _finite(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _finite(item) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [_finite(item) for item in value]
    return None if isinstance(value, float) and not math.isfinite(value) else value
