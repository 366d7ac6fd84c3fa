#!/bin/sh
# Prints how fast the release build marks, how long it takes to start and how much memory it takes.
# A bench, not a test: the figures belong to the machine. Needs sox and GNU time.
# usage: sh tests/bench/speed.sh [SAYLINE]   (build/src/cli/sayline if not given: docs/quickstart.sh)
set -eu

top=$(cd "$(dirname "$0")/../.." && pwd)
sayline=${1:-$top/build/src/cli/sayline}
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT

# measure NAME FILE: seconds of sound, seconds taken, their ratio, peak memory
measure() {
    sound=$(soxi -D "$2")
    /usr/bin/time -f '%e %M' -o "$work/time" "$sayline" mark --junction t-left-open --quiet "$2" >/dev/null
    awk -v name="$1" -v sound="$sound" '{
        printf "%-22s %8.1f s of sound %7.2f s taken %6.1f times real time %6.1f MB peak\n",
            name, sound, $1, sound / $1, $2 / 1024 }' "$work/time"
}

demo=$top/audio/demo/clean-t-left-open.flac
sox -n -r 16000 -c 1 "$work/silence.wav" trim 0 0.1
measure "start (0.1 s silence)" "$work/silence.wav"
measure "one demo recording" "$demo"
i=0
files=
while [ $i -lt 40 ]; do
    files="$files $demo"
    i=$((i + 1))
done
# shellcheck disable=SC2086 # a list of one path
sox $files "$work/long.wav"
measure "40 in one file" "$work/long.wav"
sox "$work/long.wav" "$work/longer.wav" repeat 9
measure "400 in one file" "$work/longer.wav"
