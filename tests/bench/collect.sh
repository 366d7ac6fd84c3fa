#!/bin/sh
# Collects many bags and prints, in one run, the length of their sound over the time of one core, and the
# peak of memory for a tenth of them and for all. Usage: collect.sh SAYLINE SOURCE [BAGS]. Wants GNU
# time, flac and a build without sanitizers.
set -eu
sayline=$1
source=$2
bags=${3:-500}
work=$(mktemp -d "${TMPDIR:-/tmp}/sayline-bench-XXXXXX")
trap 'rm -rf "$work"' EXIT
# No cache: all bags have the same sound, and each is to be heard.
export XDG_DATA_HOME="$work/data" XDG_CONFIG_HOME="$work/config" XDG_CACHE_HOME=/dev/null TMPDIR="$work"
recording=$source/audio/demo/clean-t-left-open.flac
printf 'junctions: [{junction: t-left-open}]\n' >"$work/s.yaml"
mkdir "$work/s.runs"
cp "$recording" "$work/s.runs/a.flac"
printf '{"format":1,"junction":"t-left-open","routine":"decide-last","car":"small-petrol","prompting":"none","from_s":0,"ended":"done"}' \
    >"$work/s.runs/a.run.json"
"$sayline" homework pack --yes --out "$work/0.zip" "$work/s.yaml" >/dev/null 2>"$work/err" || {
    cat "$work/err" >&2
    exit 1
}
i=1
while [ "$i" -lt "$bags" ]; do
    ln "$work/0.zip" "$work/$i.zip"
    i=$((i + 1))
done
length_s=$(metaflac --show-total-samples --show-sample-rate "$recording" | tr '\n' ' ' | awk '{ print $1 / $2 }')

measure() { # BAGS
    # shellcheck disable=SC2046 # numbers
    set -- "$1" $(seq -f "$work/%.0f.zip" 0 $(($1 - 1)))
    n=$1
    shift
    command time -f '%e %U %S %M' -o "$work/time" \
        "$sayline" homework collect --json --set "$work/s.yaml" "$@" >"$work/out"
    awk -v n="$n" -v l="$length_s" '{ printf "%d bags of %.1f s: %.1f times real time by the wall clock, %.1f a core (user and system), peak %.1f MB\n", n, l, n * l / $1, n * l / ($2 + $3), $4 / 1024 }' "$work/time"
}
measure $((bags / 10))
measure "$bags"
