#!/bin/sh
# Kills `sayline homework collect` at random moments and begins it anew: the report must be the same as
# without kills, and the bag untouched. Usage: collect_kill.sh SAYLINE SET BAG [KILLS [SEED]].
set -eu
sayline=$1
set=$2
bag=$3
kills=${4:-200}
seed=${5:-1}
TMPDIR=$(mktemp -d "${TMPDIR:-/tmp}/sayline-kill-XXXXXX")
export TMPDIR
trap 'rm -rf "$TMPDIR"' EXIT
before=$(sha256sum "$bag")
"$sayline" homework collect --jobs 1 --json --set "$set" "$bag" >"$TMPDIR/right"
wrong=0
i=0
while [ "$i" -lt "$kills" ]; do
    i=$((i + 1))
    "$sayline" homework collect --jobs 1 --json --set "$set" "$bag" >"$TMPDIR/out" 2>&1 &
    pid=$!
    sleep "$(awk -v s="$seed" -v i="$i" 'BEGIN { srand(s * 100003 + i); printf "%.3f", rand() * 6 }')"
    kill -KILL "$pid" 2>/dev/null || true
    wait "$pid" 2>/dev/null || true
    # What was printed before the kill is all of it or nothing.
    if [ -s "$TMPDIR/out" ] && ! cmp -s "$TMPDIR/out" "$TMPDIR/right"; then
        echo "kill $i: half a report"
        wrong=$((wrong + 1))
    fi
done
"$sayline" homework collect --jobs 1 --json --set "$set" "$bag" >"$TMPDIR/again"
cmp -s "$TMPDIR/again" "$TMPDIR/right" || wrong=$((wrong + 1))
[ "$(sha256sum "$bag")" = "$before" ] || wrong=$((wrong + 1))
echo "$kills kills; reports that differ: $wrong"
[ "$wrong" -eq 0 ]
