#!/bin/bash
# One long rehearsal on real devices without a sound card while every processor is busy: no frame may
# be lost. Run inside rig.sh.
# usage: rig_loaded.sh SOURCE SAYLINE SECONDS     SECONDS: 20 to 600
# LOOPS=N: so many busy loops; as many as there are processors if not set.
# Exit 1: the program lost sound. Exit 77: only the sound server did, which here has no priority of
# its own; nothing is proven on a computer as busy as this.
set -u
source=$1
sayline=$2
seconds=$3
export XDG_DATA_HOME="$RIG/data" XDG_CONFIG_HOME="$RIG/config" SAYLINE_MODELS="$source/models"

# An approach so slow that it takes longer than is asked for.
cat >"$RIG/long.yaml" <<END
title: a long way
kind: t
control: give-way
turn: left
view: closed
approach: 7 mph
distance: $((3 * seconds + 100)) m
END

# As sound servers run where they may: PulseAudio's own niceness is -11 (pulse-daemon.conf(5)).
for thread in /proc/"$RIG_SERVER"/task/*; do
    renice -n -11 -p "${thread##*/}" >/dev/null 2>&1
done
loops=
for _ in $(seq "${LOOPS:-$(nproc)}"); do
    (while :; do :; done) &
    loops="$loops $!"
done
cat /proc/loadavg >"$RIG/load" 2>/dev/null
"$sayline" rehearse --plain --prompting full "$RIG/long.yaml" >"$RIG/out" 2>"$RIG/err" &
run=$!
sleep "$seconds"
kill -INT "$run"
wait "$run"
code=$?
for loop in $loops; do
    kill "$loop"
done
run_file=$(echo "$RIG"/data/sayline/recordings/*.json)
echo "load before and after: $(cut -d ' ' -f 1 "$RIG/load") $(cut -d ' ' -f 1 /proc/loadavg)"
grep -E "recorded and are kept|lost a moment" "$RIG/out"
cat "$run_file"

[ $code = 130 ] || { echo "rig_loaded: exit code $code" >&2; cat "$RIG/err" >&2; exit 1; }
for figure in lost_s starved_s; do
    grep -q "\"$figure\": *0[,}]" "$run_file" || { echo "rig_loaded: sound was lost" >&2; exit 1; }
done
grep -q '"xruns": *0[,}]' "$run_file" || { echo "rig_loaded: the device lost sound" >&2; exit 77; }
