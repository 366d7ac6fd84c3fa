#!/bin/sh
# Kills `sayline homework collect` at random moments and begins it anew. What is printed must be the same
# as without kills; a recording that was marked before a kill must not be marked again; nothing may be
# left in the folder for temporary files once it has run; bags stay as they are. Usage: collect_kill.sh
# SAYLINE SOURCE [KILLS [SEED]]. Its recordings are of SOURCE/audio/demo. Exits with 1 when anything was
# wrong.
set -eu
sayline=$1
source=$2
kills=${3:-200}
seed=${4:-1}
work=$(mktemp -d "${TMPDIR:-/tmp}/sayline-kill-XXXXXX")
trap 'rm -rf "$work"' EXIT
export XDG_DATA_HOME="$work/data" XDG_CONFIG_HOME="$work/config" XDG_CACHE_HOME="$work/cache" TMPDIR="$work/tmp"
mkdir "$TMPDIR"
marks=$XDG_CACHE_HOME/sayline/marks

# Two learners with recordings of their own.
printf 'junctions: [{junction: t-left-open, runs: 3}]\n' >"$work/s.yaml"
recordings="clean-t-left-open missed-signal unclear-signal late-gear"
[ "$kills" -ge 10 ] || recordings="clean-t-left-open missed-signal"
total=0
for recording in $recordings; do
    learner=Ada$((total % 2))
    total=$((total + 1))
    runs=$work/$learner.runs
    mkdir -p "$runs"
    cp "$work/s.yaml" "$work/$learner.yaml"
    cp "$source/audio/demo/$recording.flac" "$runs/$recording.flac"
    printf '{"format":1,"junction":"t-left-open","routine":"decide-last","car":"small-petrol","prompting":"none","from_s":0,"ended":"done"}' \
        >"$runs/$recording.run.json"
done
for learner in Ada0 Ada1; do
    "$sayline" homework pack --yes --learner "$learner" --out "$work/$learner.zip" "$work/$learner.yaml" \
        >/dev/null 2>"$work/err" || {
        cat "$work/err" >&2
        exit 1
    }
done
collect() { # [exec]: in place of the shell, so that what is killed is the program
    ${1:-} "$sayline" homework collect --jobs 1 --json --set "$work/s.yaml" "$work/Ada0.zip" "$work/Ada1.zip"
}
before=$(sha256sum "$work"/*.zip)

begun=$(date +%s.%N)
collect >"$work/right" 2>"$work/err"
whole_s=$(echo "$begun $(date +%s.%N)" | awk '{ printf "%.3f", $2 - $1 }')
[ "$(find "$marks" -name '*.json' | wc -l)" -eq "$total" ] # else there is nothing to go on with
rm -r "$marks"

wrong=0
say_wrong() {
    echo "kill $i: $1"
    wrong=$((wrong + 1))
}

# A mark that is made again is another file under the same name.
made() {
    mkdir -p "$marks"
    find "$marks" -name '*.json' -printf '%i %f\n' | sort
}

finish() {
    collect >"$work/again" 2>"$work/err" || say_wrong "it ended with $?: $(cat "$work/err")"
    cmp -s "$work/again" "$work/right" || say_wrong "the report differs"
    made >"$work/after"
    [ -z "$(comm -23 "$work/made" "$work/after")" ] || say_wrong "a recording was marked again"
    [ -z "$(ls -A "$TMPDIR")" ] || say_wrong "left behind: $(ls -A "$TMPDIR")"
    finished=$((finished + 1))
    rm -r "$marks"
    : >"$work/made"
}

: >"$work/made"
finished=0
went_on=0 # begun with some of the marks made, and not all
i=0
while [ "$i" -lt "$kills" ]; do
    i=$((i + 1))
    collect exec >"$work/out" 2>"$work/err" &
    pid=$!
    sleep "$(awk -v s="$seed" -v i="$i" -v most="$whole_s" 'BEGIN { srand(s * 100003 + i); printf "%.3f", rand() * most }')"
    kill -KILL "$pid" 2>/dev/null || true
    wait "$pid" 2>/dev/null || true
    # What was printed before the kill is all of it or nothing.
    if [ -s "$work/out" ] && ! cmp -s "$work/out" "$work/right"; then say_wrong "half a report"; fi
    made >"$work/after"
    [ -z "$(comm -23 "$work/made" "$work/after")" ] || say_wrong "a recording was marked again"
    mv "$work/after" "$work/made"
    [ "$(find "$TMPDIR" -mindepth 1 -maxdepth 1 | wc -l)" -le 1 ] || say_wrong "more than the last folder is left"
    n=$(wc -l <"$work/made")
    if [ "$n" -eq "$total" ]; then
        finish
    elif [ "$n" -gt 0 ]; then
        went_on=$((went_on + 1))
    fi
done
finish
[ "$(sha256sum "$work"/*.zip)" = "$before" ] || say_wrong "a bag was changed"
echo "$kills kills; wrong: $wrong; went on with some recordings marked: $went_on; finished: $finished"
[ "$wrong" -eq 0 ]
