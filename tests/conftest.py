# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Settings of all tests: random examples are not timed, and the same ones on a build server."""

from __future__ import annotations

import importlib.util
import os

# Blender's own Python, in which the Blender layer's tests can run too, has no hypothesis.
if importlib.util.find_spec("hypothesis") is not None:
    from hypothesis import HealthCheck, settings

    settings.register_profile(
        "pinwright",
        deadline=None,
        derandomize="CI" in os.environ,
        suppress_health_check=[HealthCheck.too_slow],
    )
    settings.load_profile("pinwright")
