#!/bin/sh
# Prints how fast the release build marks, how long it takes to start and how much memory it takes.
# A bench, not a test: the figures belong to the machine. Needs sox and GNU time.
# LONG=yes adds a file of two hours.
# usage: sh tests/bench/speed.sh [SAYLINE]   (build/src/cli/sayline if not given: docs/quickstart.sh)
set -eu

top=$(cd "$(dirname "$0")/../.." && pwd)
sayline=${1:-$top/build/src/cli/sayline}
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT

# measure NAME FILE: seconds of sound, seconds on the clock and of processor time, how many times real
# time by processor time (a machine that is busy otherwise falsifies the clock), peak memory
measure() {
    sound=$(soxi -D "$2")
    /usr/bin/time -f '%e %U %S %M' -o "$work/time" "$sayline" mark --junction t-left-open --quiet \
        "$2" >/dev/null
    awk -v name="$1" -v sound="$sound" '{
        printf "%-24s %7.1f s sound %6.2f s clock %6.2f s processor %6.1f x real time %5.1f MB\n",
            name, sound, $1, $2 + $3, sound / ($2 + $3), $4 / 1024 }' "$work/time"
}

demo=$top/audio/demo/clean-t-left-open.flac
sox -n -r 16000 -c 1 "$work/silence.wav" trim 0 0.1
measure "start (0.1 s silence)" "$work/silence.wav"
measure "one demo recording" "$demo"
sox "$demo" "$work/long.wav" repeat 9
measure "ten in one file" "$work/long.wav"
if [ "${LONG:-no}" = yes ]; then
    sox "$demo" "$work/longer.wav" repeat 319
    measure "two hours" "$work/longer.wav"
fi
