#!/bin/sh
# Kills `sayline homework do` at random moments, again and again, and looks after each time whether
# every run that was told saved is there, whole and counted. Usage: homework_kill.sh SAYLINE SOURCE
# [KILLS [SEED]]. Prints what was lost and exits with 1 when anything was. Runs are in real time.
set -eu
sayline=$1
source=$2
kills=${3:-200}
seed=${4:-1}
work=$(mktemp -d "${TMPDIR:-/tmp}/sayline-kill-XXXXXX")
trap 'rm -rf "$work"' EXIT
export XDG_DATA_HOME="$work/data" XDG_CONFIG_HOME="$work/config"
cd "$work"

# A short road, so that many runs come to their end.
cat >close.yaml <<'END'
title: a lane
kind: t
turn: left
view: open
approach: 20 mph
distance: 90 m
END
cat >set.yaml <<'END'
counts: {least-score: 0}
junctions: [{junction: ./close.yaml, runs: 20, prompting: none}]
END
"$sayline" homework check ./set.yaml >/dev/null

lost=0
saved=0
i=0
while [ "$i" -lt "$kills" ]; do
    i=$((i + 1))
    wait_ms=$(awk -v seed="$seed" -v i="$i" 'BEGIN { srand(seed * 100003 + i); print int(rand() * 60000) }')
    "$sayline" homework 'do' --plain --mic "$source/audio/demo/clean-t-left-open.flac" ./set.yaml \
        >"out" 2>"err" &
    pid=$!
    sleep "$(awk -v ms="$wait_ms" 'BEGIN { printf "%.3f", ms / 1000 }')"
    kill -KILL "$pid" 2>/dev/null || true
    wait "$pid" 2>/dev/null || true
    sed -n 's/^Saved, with its mark: //p' out >>told
    saved=$(sort -u told | wc -l)
    if ! "$sayline" homework left --json ./set.yaml >left.json 2>left.err; then
        echo "kill $i at $wait_ms ms: left cannot be told: $(cat left.err)"
        lost=$((lost + 1))
        continue
    fi
    while read -r file; do
        if ! flac --totally-silent --test "$file" || ! tr '{' '\n' <left.json | grep -F "\"$file\"" |
            grep -q '"counts":true'; then
            echo "kill $i at $wait_ms ms: $file was told saved and is lost"
            lost=$((lost + 1))
        fi
    done <told
    if [ "$saved" -ge 18 ]; then # begin anew before the set is done
        rm -rf ./set.runs
        : >told
    fi
done
echo "$kills kills; told saved and lost: $lost; saved in the last set: $saved"
[ "$lost" -eq 0 ]
