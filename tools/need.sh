#!/bin/sh
# Make sure that what lies outside Python is there: tools/need.sh PROGRAM=DEBIAN-PACKAGE ...
#
# PROGRAM is a command, or the absolute path of a file, in which * may stand for a part. Missing packages are installed with apt-get as
# root or through a sudo that asks nothing; otherwise one line says what to install.
set -eu

there() {
    if command -v "$1" >/dev/null 2>&1; then return 0; fi
    for path in $1; do
        if [ -e "$path" ]; then return 0; fi
    done
    return 1
}

missing=
look() {
    missing=
    for need in "$@"; do
        there "${need%%=*}" || missing="$missing ${need#*=}"
    done
}

look "$@"
if [ -z "$missing" ]; then exit 0; fi

as_root=
if [ "$(id -u)" != 0 ]; then as_root="sudo -n"; fi
if command -v apt-get >/dev/null 2>&1 && { [ -z "$as_root" ] || $as_root true 2>/dev/null; }; then
    echo "need: installing$missing"
    log=$(mktemp)
    # shellcheck disable=SC2086 # several words are meant
    if $as_root apt-get update -qq >"$log" 2>&1 &&
        $as_root env DEBIAN_FRONTEND=noninteractive apt-get install -qq -y --no-install-recommends $missing \
            </dev/null >>"$log" 2>&1; then
        look "$@"
    else
        tail -n 20 "$log" >&2
    fi
    rm -f "$log"
    if [ -z "$missing" ]; then exit 0; fi
fi
echo "need: install this first:  sudo apt-get install$missing" >&2
exit 2
