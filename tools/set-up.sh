#!/bin/sh
# Make .venv and fill it from a hash lock.
#
#   tools/set-up.sh run    what `fretwright` itself needs
#   tools/set-up.sh dev    that, and what every check of the project needs
#
# Works with a Python that has no `ensurepip` (Debian without python3-venv): the outer pip fills the
# environment from outside. A second run does nothing until a lock or pyproject.toml changes.
set -eu

kind=${1:?run or dev}
venv=.venv
case $kind in
    run) lock=requirements.lock ;;
    dev) lock=requirements-dev.lock ;;
    *) echo "set-up: '$kind' is neither run nor dev" >&2; exit 2 ;;
esac

say() { echo "set-up: $*"; }
refuse() { echo "set-up: $*" >&2; exit 2; }

modern() { "$1" -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null; }

find_python() {
    if [ -n "${PYTHON:-}" ]; then
        modern "$PYTHON" || refuse "PYTHON=$PYTHON is not a Python 3.11 or later"
        echo "$PYTHON"
        return
    fi
    for candidate in python3 python3.11 python3.12 python3.13 python3.14; do
        if modern "$candidate"; then echo "$candidate"; return; fi
    done
    refuse "no Python 3.11 or later found; install one (Debian: apt-get install python3 python3-pip) or name it: make PYTHON=..."
}

# What this environment should hold. The larger environment also serves for the smaller.
want=$(cat "$lock" pyproject.toml | cksum | tr -d ' ')
stamp=$venv/.fretwright-$kind
works() { [ -x "$venv/bin/python" ] && "$venv/bin/python" -c '' 2>/dev/null; }
if works && [ "$(cat "$stamp" 2>/dev/null)" = "$want" ]; then exit 0; fi
if [ "$kind" = run ] && works; then
    want_dev=$(cat requirements-dev.lock pyproject.toml | cksum | tr -d ' ')
    if [ "$(cat "$venv/.fretwright-dev" 2>/dev/null)" = "$want_dev" ]; then exit 0; fi
fi

# A run that was killed while filling the environment may have left half a package: begin again.
if [ -e "$venv/.filling" ] || ! works; then rm -rf "$venv"; fi

python=$(find_python)
"$python" -m pip --version >/dev/null 2>&1 ||
    refuse "$python has no pip (Debian: apt-get install python3-pip)"
if ! works; then
    say "making $venv with $("$python" --version)"
    "$python" -m venv --without-pip "$venv"
fi
touch "$venv/.filling"
rm -f "$stamp"

inside() { "$python" -m pip --python "$venv/bin/python" --disable-pip-version-check "$@"; }
say "installing what $lock pins (a few minutes the first time)"
inside install --quiet --require-hashes --only-binary :all: -r "$lock"
inside install --quiet --no-deps --no-build-isolation --editable .

echo "$want" >"$stamp"
rm -f "$venv/.filling"
say "ready"
