# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Run pytest inside Blender, or in a Python that has no libraries of its own.

``blender --background --factory-startup --python tests/addon/run_in_blender.py -- tests/addon -q``

TEST_SITE names a folder with the libraries (and the package itself, by a link named pinwright) that
goes on the path. Ends with os._exit: Blender may hang or crash when it winds up after rendering.
"""

from __future__ import annotations

import os
import sys


def main() -> None:
    site = os.environ.get("TEST_SITE")
    if site:
        sys.path.insert(0, site)  # it must not hold numpy: Blender brings its own
        os.environ["PYTHONPATH"] = site  # for the programs that tests start
    import pytest

    arguments = sys.argv[sys.argv.index("--") + 1 :] if "--" in sys.argv else sys.argv[1:]
    code = 1
    try:
        code = int(pytest.main(arguments))
    finally:
        sys.stdout.flush()
        sys.stderr.flush()
        os._exit(code)


if __name__ == "__main__":
    main()
