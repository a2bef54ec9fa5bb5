#!/bin/sh
# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
#
# Install packages of the system where that is possible without asking: a Debian-family system,
# as root or with a sudo that wants no password. Elsewhere print the command and fail.
#
#     tools/install_debian.sh "what for" PACKAGE...
set -eu

purpose=$1
shift
if ! command -v apt-get >/dev/null 2>&1; then
    printf '\n%s\n' "$purpose: this system has no apt-get. Install what it calls these packages of Debian:" >&2
    printf '    %s\n\n' "$*" >&2
    exit 1
fi
if [ "$(id -u)" = 0 ]; then
    as_root=
elif sudo -n true 2>/dev/null; then
    as_root=sudo
else
    printf '\n%s. Please run this once, then make again:\n' "$purpose" >&2
    printf '    sudo apt-get update && sudo apt-get install -y --no-install-recommends %s\n\n' "$*" >&2
    exit 1
fi

log=$(mktemp)
trap 'rm -f "$log"' EXIT
printf '%s: installing %s\n' "$purpose" "$*"
quietly() {
    # lists that are a little old are good enough, so a failing update alone stops nothing
    "$@" >"$log" 2>&1 </dev/null || { tail -n 20 "$log" >&2; return 1; }
}
quietly $as_root apt-get -q update || true
quietly $as_root env DEBIAN_FRONTEND=noninteractive \
    apt-get install -q -y --no-install-recommends "$@"
