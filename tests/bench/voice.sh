#!/bin/sh
# What getting to know a voice is worth: every voice reads the phrases of models/reading.txt, and
# its runs are heard without and with what was learnt. Prints a line a voice and condition: steps
# said, errors (steps lost, steps with wrong settings, false phrases) before and after, and what
# was found while learning. Takes a while; the speakers of festival are needed.
#
#   sh tests/bench/voice.sh BUILD tune|judge [RUNS]
set -eu
build=$1
split=$2
runs=${3:-20}
SAYLINE_MODELS=$(cd "$(dirname "$0")/../../models" && pwd)
export SAYLINE_MODELS
work=$(mktemp -d)
trap 'rm -r "$work"' EXIT

# base,pitch,pace,tract: voices as they are, then as another speaker
case $split in
tune) voices="kal16,1,1,1 slt,1,1,1 kal16,0.88,0.95,0.9 slt,1.1,1.1,1.1" ;;
judge) voices="awb,1,1,1 rms,1,1,1 festival-ked,1,1,1
    awb,1.1,1.1,1.1 rms,0.9,0.9,0.9 festival-ked,1.1,1.1,1.1" ;;
*) echo "voice.sh: tune or judge" >&2 && exit 2 ;;
esac

errors() { # of the recordings in $1, with the further options
    folder=$1
    shift
    "$build/tests/bench/bench" --json "$@" "$folder" 2>"$work/learnt" |
        sed 's/.*"said": \([0-9]*\).*"errors": \([0-9]*\).*/\1 \2/'
}

printf '%-24s %-6s %6s %7s %7s  %s\n' voice noise said before after learnt
for noise in 20 clean; do
    start=1
    for voice in $voices; do
        "$build/tests/corpus/corpus" reading "$work/reading.flac" --speakers all --voice "$voice"
        "$build/tests/corpus/corpus" runs "$work/runs" --speakers all --split "$split" \
            --voice "$voice" --noise "$noise" --count "$runs" --start "$start"
        before=$(errors "$work/runs")
        after=$(errors "$work/runs" --reading "$work/reading.flac")
        printf '%-24s %-6s %6s %7s %7s  %s\n' "$voice" "$noise" "${before% *}" "${before#* }" \
            "${after#* }" "$(cat "$work/learnt")"
        rm -r "$work/runs"
        start=$((start + 1))
    done
done
