#!/bin/bash
# How soon a driven car sounds otherwise on real devices without a sound card, on the wall clock.
# Not a test: prints figures. Run inside rig.sh, on recordings with labels, their sound beside them:
#   tests/e2e/rig.sh tests/bench/rig_drive.sh BUILD LABELS...
# What goes into the microphone and what comes out of the speaker are two channels of one sound
# device here, so that they are recorded on one clock.
set -u
build=$(realpath "$1")
shift
source=$(cd "$(dirname "$0")/../.." && pwd)
sayline=$build/src/cli/sayline
export XDG_DATA_HOME="$RIG/data" XDG_CONFIG_HOME="$RIG/config" SAYLINE_MODELS="$source/models"

load() {
    pactl load-module "$@" >"$RIG/module" || exit 98
}
load module-null-sink rate=48000 channels=2 channel_map=front-left,front-right format=s16le \
    norewinds=1 sink_name=both
load module-remap-sink sink_name=mouth master=both channels=1 channel_map=mono \
    master_channel_map=front-left remix=no
load module-remap-sink sink_name=loud master=both channels=1 channel_map=mono \
    master_channel_map=front-right remix=no
load module-remap-source source_name=ear master=both.monitor channels=1 channel_map=mono \
    master_channel_map=front-left remix=no
pactl set-default-sink loud && pactl set-default-source ear || exit 98

label() { # KEY FILE
    awk -F '\t' -v key="$1" '$1 == key { print $2; exit }' "$2"
}

# Lets one recording drive; its sound begins where its own announcement ended.
drive() {
    recording=$(dirname "$1")/$(label file "$1")
    flac --totally-silent -f -d --skip="$(label from_s "$1" | awk '{ printf "%d", 16000 * $1 }')" \
        -o "$RIG/learner.wav" "$recording" || exit 98
    rm -rf "$RIG/data"
    parec -d both.monitor --rate=16000 --channels=2 --format=s16le --latency-msec=50 --raw \
        >"$RIG/both.raw" &
    recorder=$!
    "$sayline" drive --plain --cues none "$(label junction "$1")" 2>"$RIG/err" |
        while IFS= read -r line; do
            echo "$line"
            case $line in *"The approach begins"*) paplay -d mouth "$RIG/learner.wav" & ;; esac
        done >"$RIG/out"
    kill "$recorder"
    wait "$recorder" 2>/dev/null
    grep -q "lost" "$RIG/out" && echo "$1: the device lost sound" >&2
    "$build/tests/bench/car_changes" "$RIG/both.raw" "$recording" "$1" "$RIG/out" ||
        echo "$1: what was said is not found in what was recorded" >&2
}

uptime >&2
for labels in "$@"; do
    drive "$labels"
done | tee "$RIG/changes"
uptime >&2

spread() {
    sort -n | awk -v what="$1" '{ v[NR] = $1 } END {
        if (NR == 0) { print what ": none"; exit }
        printf "%s: %d, median %d ms, 95 %% %d ms, worst %d ms\n", what, NR, v[int((NR + 1) / 2)],
            v[int(0.95 * NR + 0.999)], v[NR] }'
}
grep '^ *[0-9]' "$RIG/changes" | grep -v '+$' | spread "Changes after the end of a phrase"
grep '^ *[0-9]' "$RIG/changes" | spread "With those while it went on"
echo "Before the end: $(grep -c '^<' "$RIG/changes"), not found: $(grep -c '^-' "$RIG/changes")," \
    "not made out: $(grep -c '^?' "$RIG/changes"), no step to be heard: $(grep -c '^~' "$RIG/changes")"
