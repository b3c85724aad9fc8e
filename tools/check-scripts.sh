#!/bin/sh
# Check the types of the pages' scripts (JSDoc) with the TypeScript compiler, which is fetched into build/.
# The scripts themselves are shipped as they are written: nothing is compiled.
set -eu
cd "$(dirname "$0")/.."

tools/need.sh node=nodejs npm=npm

home=build/scripts
lock=tools/scripts/package-lock.json
if ! cmp -s "$lock" "$home/package-lock.json" || [ ! -x "$home/node_modules/.bin/tsc" ]; then
    mkdir -p "$home"
    cp tools/scripts/package.json "$lock" "$home"
    npm ci --prefix "$home" --no-audit --no-fund --silent
fi
for project in tsconfig.json tsconfig.worker.json; do
    "$home/node_modules/.bin/tsc" --project "tools/scripts/$project"
done
