#!/bin/sh
# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
#
# Make a virtual environment and install into it: pip stays quiet, its errors do not.
#
#     tools/make_venv.sh FOLDER PYTHON PIP-REQUIREMENT...
set -eu

folder=$1
python=$2
shift 2
here=$(dirname "$0")
version=$("$python" -c 'import sys; print("%d.%d" % sys.version_info[:2])')

# Debian keeps the half of venv that brings pip in a package of its own.
if ! "$python" -c 'import ensurepip, venv' 2>/dev/null; then
    sh "$here/install_debian.sh" "Python $version lacks venv" "python$version-venv"
fi
# An environment of another Python, or one whose Python is gone, is made anew.
if [ "$("$folder/bin/python" -c 'import sys; print("%d.%d" % sys.version_info[:2])' 2>/dev/null || true)" != "$version" ]; then
    rm -rf "$folder"
    "$python" -m venv "$folder"
fi
printf 'Installing into %s (Python %s): %s\n' "$folder" "$version" "$*"
printf '    the first time this fetches several hundred megabytes and takes some minutes\n'
# Older pips take minutes to see which releases agree with the one numpy that Blender wants.
"$folder/bin/python" -m pip install -qq --disable-pip-version-check --upgrade 'pip>=25.1'
"$folder/bin/python" -m pip install -qq --disable-pip-version-check "$@"
