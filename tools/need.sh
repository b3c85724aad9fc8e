#!/bin/sh
# Make sure that programs outside Python are there: tools/need.sh PROGRAM=DEBIAN-PACKAGE ...
#
# PROGRAM may be a command or an absolute path of a file. Missing packages are installed with apt-get as
# root or through a sudo that asks nothing; otherwise one line says what to install.
set -eu

missing=
for need in "$@"; do
    program=${need%%=*}
    if ! command -v "$program" >/dev/null 2>&1 && [ ! -e "$program" ]; then
        missing="$missing ${need#*=}"
    fi
done
if [ -z "$missing" ]; then exit 0; fi

as_root=
if [ "$(id -u)" != 0 ]; then as_root="sudo -n"; fi
if command -v apt-get >/dev/null 2>&1 && { [ -z "$as_root" ] || $as_root true 2>/dev/null; }; then
    echo "need: installing$missing"
    export DEBIAN_FRONTEND=noninteractive
    # shellcheck disable=SC2086 # several words are meant
    $as_root apt-get update -qq >/dev/null && $as_root apt-get install -qq -y --no-install-recommends $missing >/dev/null </dev/null
    exit 0
fi
echo "need: install this first:  sudo apt-get install$missing" >&2
exit 2
