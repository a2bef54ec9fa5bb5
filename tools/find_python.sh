#!/bin/sh
# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
#
# Print the first Python that really runs and has one of the wanted versions; fail when none does.
#
#     tools/find_python.sh 3.13            -> a Python 3.13
#     tools/find_python.sh 3.11 3.13 3.12  -> the best of these
#
# A name on PATH is not enough: version managers leave stand-ins there that only print an error.
# PYTHON311, PYTHON312 and PYTHON313 name a Python that cannot be found by itself.
set -eu

runs() {  # runs COMMAND VERSION
    command -v "$1" >/dev/null 2>&1 || return 1
    [ "$("$1" -c 'import sys; print("%d.%d" % sys.version_info[:2])' 2>/dev/null)" = "$2" ]
}

for version in "$@"; do
    eval "named=\${PYTHON$(printf %s "$version" | tr -d .):-}"
    if [ -n "$named" ]; then
        if runs "$named" "$version"; then printf '%s\n' "$named"; exit 0; fi
        printf '%s is not a Python %s that runs\n' "$named" "$version" >&2
        exit 1
    fi
    for candidate in \
        "python$version" \
        "${PYENV_ROOT:-${HOME:-/nonexistent}/.pyenv}/versions/$version".*/bin/"python$version" \
        "/usr/bin/python$version" "/usr/local/bin/python$version" "/opt/homebrew/bin/python$version" \
        python3; do
        if runs "$candidate" "$version"; then printf '%s\n' "$candidate"; exit 0; fi
    done
done
exit 1
