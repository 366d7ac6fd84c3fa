#!/bin/sh
# Installs what is needed, builds a release in build/ and marks a demo recording.
set -eu

top=$(cd "$(dirname "$0")/.." && pwd)
. "$top/docs/packages.sh"

# shellcheck disable=SC2086 # a list of names
install_packages $sayline_packages

mkdir -p "$top/build"
log=$top/build/quickstart.log
echo "Building a release (the log is $log) ..."
if ! {
    cmake -S "$top" -B "$top/build" -G Ninja -DSAYLINE_TESTS=OFF -DCMAKE_BUILD_TYPE=Release \
        -DCMAKE_C_FLAGS_RELEASE="-O2 -DNDEBUG" && cmake --build "$top/build"
} >"$log" 2>&1; then
    tail -n 40 "$log" >&2
    echo "The build failed." >&2
    exit 1
fi

sayline=$top/build/src/cli/sayline
recording=$top/audio/demo/clean-t-left-open.flac
echo "$sayline mark --junction t-left-open $recording"
echo
"$sayline" mark --junction t-left-open "$recording"
