#!/bin/sh
# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
#
# Make sure that bpy finds the system libraries that it is linked to: try it; where that fails,
# install them if that can be done without asking, or say exactly what to do.
#
#     tools/system_libraries.sh .venv/bin/python
set -eu

python=$1
here=$(dirname "$0")
log=$(mktemp)
trap 'rm -f "$log"' EXIT

if ! "$python" -c 'import importlib.util as u; raise SystemExit(u.find_spec("bpy") is None)'; then
    printf '%s has no bpy (it is built for Python 3.11 and 3.13): no Blender layer there\n' "$python"
    exit 0
fi

works() {
    "$python" "$here/limit.py" 120 "$python" "$here/check_bpy.py" >"$log" 2>&1 </dev/null
}

if works; then tail -n 1 "$log"; exit 0; fi
if [ "$(uname -s)" != Linux ]; then
    tail -n 20 "$log" >&2
    printf '\nbpy does not run here; nothing of the system is known to be missing.\n' >&2
    exit 1
fi
# What bpy 4.5 to 5.2 are linked to, and the software OpenGL that they draw with where there is
# no graphics card (Debian 11 to 13, Ubuntu 22.04 and later).
sh "$here/install_debian.sh" "bpy needs libraries of the system" \
    libx11-6 libxext6 libxfixes3 libxi6 libxrender1 libxkbcommon0 libsm6 libice6 \
    libgl1 libegl1 libegl-mesa0 libgl1-mesa-dri ||
    { printf 'What bpy said:\n' >&2; tail -n 5 "$log" >&2; exit 1; }
if works; then tail -n 1 "$log"; exit 0; fi
tail -n 20 "$log" >&2
printf '\nbpy still does not run; the lines above are what it said.\n' >&2
exit 1
