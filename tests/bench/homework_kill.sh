#!/bin/sh
# Kills `sayline homework do` at random moments, again and again. After each kill the history must be
# sound, and every run that was told saved must be in it once, with all of its files, whole; when a set
# is nearly done, and at the end, going on must finish it. Usage: homework_kill.sh SAYLINE SOURCE [KILLS
# [SEED]]. Prints what is wrong and exits with 1 when anything was. Runs are in real time. Wants sqlite3.
set -eu
sayline=$1
source=$2
kills=${3:-200}
seed=${4:-1}
work=$(mktemp -d "${TMPDIR:-/tmp}/sayline-kill-XXXXXX")
trap 'rm -rf "$work"' EXIT
export XDG_DATA_HOME="$work/data" XDG_CONFIG_HOME="$work/config" XDG_CACHE_HOME="$work/cache"
cd "$work"
runs=20
[ "$kills" -ge 10 ] || runs=2 # finishing takes its time, too

# A short road, so that many runs come to their end.
cat >close.yaml <<'END'
title: a lane
kind: t
turn: left
view: open
approach: 20 mph
distance: 90 m
END
cat >set.yaml <<END
counts: {least-score: 0}
junctions: [{junction: ./close.yaml, runs: $runs, prompting: none}]
END
"$sayline" homework check ./set.yaml >/dev/null
history=$XDG_DATA_HOME/sayline/history.sqlite

wrong=0
say_wrong() {
    echo "kill $i at ${wait_ms:-0} ms: $1"
    wrong=$((wrong + 1))
}

practise() { # [exec]: in place of the shell, so that what is killed is the program
    ${1:-} "$sayline" homework 'do' --plain --mic "$source/audio/demo/clean-t-left-open.flac" ./set.yaml \
        >out 2>err
}

in_history() { # WHERE: how many runs
    sqlite3 "$history" "SELECT count(*) FROM run WHERE $1"
}

# Each run that was told saved: in the history once, its three files whole.
look() {
    sed -n 's/^Saved, with its mark: //p' out >>told
    [ ! -e "$history" ] || [ "$(sqlite3 "$history" 'PRAGMA integrity_check; PRAGMA foreign_key_check')" = ok ] ||
        say_wrong "the history is damaged"
    while read -r file; do
        whole=$(realpath "$file") || whole=$file
        sum=$(sha256sum "$file" | cut -d ' ' -f 1)
        flac --totally-silent --test "$file" || say_wrong "$file is broken"
        for json in "${file%.flac}.run.json" "${file%.flac}.mark.json"; do
            python3 -m json.tool "$json" >/dev/null || say_wrong "$json is broken"
        done
        [ "$(in_history "sound = '$whole' AND sha256 = '$sum'")" = 1 ] ||
            say_wrong "$file is not once in the history"
    done <told
}

left() {
    "$sayline" homework left --json ./set.yaml >left.json 2>left.err || say_wrong "left: $(cat left.err)"
    while read -r file; do
        tr '{' '\n' <left.json | grep -F "\"$file\"" | grep -q '"counts":true' ||
            say_wrong "$file was told saved and does not count"
    done <told
}

finish() {
    told_in_all=$((told_in_all + $(wc -l <told)))
    practise || say_wrong "the rest cannot be done: $(cat err)"
    look
    left
    grep -q '"left":0' left.json || say_wrong "the set is not finished"
    # Told or not, what counts is in the history once, however often it was marked again.
    counts=$(tr '{' '\n' <left.json | grep -c '"counts":true')
    kept=$(in_history "sound GLOB '$work/set.runs/*'")
    [ "$kept" -eq $((counts + before)) ] || say_wrong "$counts runs count, $kept less $before are in the history"
    before=$kept
    finished=$((finished + 1))
    rm -rf ./set.runs
    : >told
}

: >told
before=0 # runs in the history of sets that were finished
finished=0
told_in_all=0
i=0
while [ "$i" -lt "$kills" ]; do
    i=$((i + 1))
    wait_ms=$(awk -v seed="$seed" -v i="$i" 'BEGIN { srand(seed * 100003 + i); print int(rand() * 45000) }')
    practise exec &
    pid=$!
    sleep "$(awk -v ms="$wait_ms" 'BEGIN { printf "%.3f", ms / 1000 }')"
    kill -KILL "$pid" 2>/dev/null || true
    wait "$pid" 2>/dev/null || true
    look
    left
    # Runs that were killed before they were told count, too, so a set can end without a word.
    to_do=$(grep -o '"left":[0-9]*' left.json | head -n 1 | cut -d : -f 2)
    [ "$to_do" -gt 2 ] || [ "$i" -eq "$kills" ] || finish
done
finish
echo "$kills kills; wrong: $wrong; runs told saved before a kill: $told_in_all; sets finished: $finished"
[ "$wrong" -eq 0 ]
