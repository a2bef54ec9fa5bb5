# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Name the packages: the folder that holds this file is `pinwright`, whatever it is called.

Everything else is in pyproject.toml. Only core/ and addon/ are installed; tests, tools and
examples stay in the repository.
"""

from __future__ import annotations

from setuptools import find_packages, setup

inner = find_packages(include=["core", "core.*", "addon", "addon.*"])
setup(
    script_name="setup.py",  # by this name setuptools leaves the file itself out of the package
    package_dir={"pinwright": "."},
    packages=["pinwright", *(f"pinwright.{name}" for name in inner)],
)
