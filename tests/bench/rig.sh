#!/bin/bash
# Figures of rehearsals on real devices without a sound card, on the wall clock: when cues sound
# against the plan, and how soon phrases are shown. Not a test: prints figures. Run inside rig.sh:
#   tests/e2e/rig.sh tests/bench/rig.sh BUILD
set -u
build=$1
source=$(cd "$(dirname "$0")/../.." && pwd)
sayline=$build/src/cli/sayline
onsets=$build/tests/e2e/cue_onsets
cd "$source" || exit 99
export XDG_DATA_HOME="$RIG/data" XDG_CONFIG_HOME="$RIG/config" SAYLINE_MODELS="$source/models"

# Prints count, median, 95 % and worst of the size of the numbers that come in.
spread() {
    sed 's/^[-+]//' | sort -n | awk -v what="$1" '{ v[NR] = $1 } END {
        if (NR == 0) { print what ": none"; exit }
        h = int((NR + 1) / 2); q = int(0.95 * NR + 0.999)
        printf "%s: %d, median %.1f ms, 95 %% %.1f ms, worst %.1f ms\n", what, NR, v[h], v[q], v[NR]
    }'
}

# One approach: junction, level of prompting, demo recording of the learner.
approach() {
    parec -d speaker.monitor --rate=16000 --channels=1 --format=s16le --latency-msec=50 \
        --file-format=wav "$RIG/speaker.wav" &
    recorder=$!
    flac --totally-silent -f -d -o "$RIG/learner.wav" "audio/demo/$3.flac"
    rm -rf "$RIG/data"
    : >"$RIG/stamped"
    "$sayline" rehearse --plain --cues none --prompting "$2" "$1" 2>"$RIG/err" |
        while IFS= read -r line; do
            echo "$EPOCHREALTIME $line" >>"$RIG/stamped"
            case $line in *"The approach begins"*) paplay -d mic "$RIG/learner.wav" & ;; esac
        done
    kill "$recorder"
    wait "$recorder" 2>/dev/null
    "$onsets" "$RIG/speaker.wav" "$1" "$2" >"$RIG/onsets"
    tail -n 1 "$RIG/onsets"
    sed -n '2,$s/.* \([-+][0-9.]*\) ms$/\1/p' "$RIG/onsets" >>"$RIG/errors"
    grep -E "approach begins|Heard" "$RIG/stamped" | cut -c1-100
    delays "$3" >>"$RIG/delays"
}

# Wall time at which each phrase was shown, less that at which it ended: time 0 is when the approach
# was said to begin, and where the learner is on the plan's clock tells the first phrase of the mark.
# The device's own way in (some 0.1 s) is in neither.
delays() {
    "$sayline" mark --json "$RIG"/data/sayline/recordings/*.flac >"$RIG/mark.json"
    from=$(grep -o '"from_s":[0-9.]*' "$RIG/mark.json" | cut -d: -f2)
    first=$(grep -o '"phase":"[a-z]*"[^{]*"start_s":[0-9.]*' "$RIG/mark.json" |
        grep -v '"phase":"filler"' | head -n 1 |
        sed 's/"phase":"\([a-z]*\)".*:/\1 /')
    awk -F '\t' -v from="$from" -v first="$first" -v stamped="$RIG/stamped" '
        BEGIN { n = 0 }
        $3 ~ /^[0-9.]+$/ && NF == 5 { phase[n] = $1; start[n] = $2; end[n++] = $3 }
        END {
            split(first, seen, " ")
            for (i = n - 1; i >= 0; i--) if (phase[i] == seen[1]) shift = seen[2] - from - start[i]
            while ((getline line < stamped) > 0) {
                stamp = line + 0
                if (line ~ /The approach begins/) zero = stamp
                if (line !~ /Heard.*said at/) continue
                last = -1
                for (i = 0; i < n; i++)
                    if (tolower(line) ~ "\", " phase[i] && end[i] + shift < stamp - zero + 0.05) last = i
                if (last >= 0) printf "%.0f\n", 1000 * (stamp - zero - end[last] - shift)
            }
        }' "audio/demo/$1.labels"
}

: >"$RIG/errors"
: >"$RIG/delays"
approach t-left-open full clean-t-left-open
approach t-right-closed full clean-t-right-closed
approach t-left-closed full missed-signal
approach major-right-open full early-signal
approach t-right-open full gear-before-speed
approach roundabout-left-open partial decide-before-gear
spread "Cues against the plan" <"$RIG/errors"
spread "Phrases shown after their end" <"$RIG/delays"
