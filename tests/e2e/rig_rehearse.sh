#!/bin/bash
# A rehearsal on real devices without a sound card: a played learner in the microphone, the speaker
# recorded. Run inside rig.sh.
# usage: rig_rehearse.sh SOURCE SAYLINE ONSETS CASE
#   clean    a clean run scores full; cues sound when the plan says
#   faulty   a late gear is found late
#   driven   a clean run drives a car to the line while its sound leaks into the microphone at -20 dB
#   silent   nobody speaks while every cue leaks into the microphone at -20 dB: nothing is heard
#   killed   the sound server dies in the middle: exit code 4, the recording kept
#   unplugged  the microphone goes and the server puts the speaker's own sound in its place: likewise
set -u
source=$1
sayline=$2
onsets=$3
case=$4
cd "$source" || exit 99
export XDG_DATA_HOME="$RIG/data" XDG_CONFIG_HOME="$RIG/config" SAYLINE_MODELS="$source/models"

# Where the device itself lost sound, times are off: then once more.
fail() {
    echo "rig_rehearse: $case: $*" >&2
    cat "$RIG/out" "$RIG/err" >&2
    if [ -z "${RIG_AGAIN:-}" ] && grep -q "lost a moment of sound" "$RIG/out"; then
        rm -rf "$RIG/data"
        RIG_AGAIN=yes exec "$0" "$source" "$sayline" "$onsets" "$case"
    fi
    exit 1
}

# Waits until the program has printed a line with this text.
await() {
    for _ in $(seq 600); do
        grep -q "$1" "$RIG/out" && return
        kill -0 "$run" 2>/dev/null || fail "it ended before \"$1\""
        sleep 0.05
    done
    fail "\"$1\" never came"
}

leak() {
    pactl load-module module-loopback source=speaker.monitor sink=mic latency_msec=60 \
        adjust_time=0 >"$RIG/module" || exit 98
    input=$(pactl list short sink-inputs | awk 'NR == 1 {print $1}') # there is no other yet
    for _ in $(seq 40); do # until it is in force
        pactl set-sink-input-volume "$input" -20dB || exit 98
        pactl list sink-inputs | grep -q -e '-20\.00 dB' && return
        sleep 0.05
    done
    exit 98
}

prompting=full
learner=
command=rehearse
case $case in
clean) learner=clean-t-left-open ;;
faulty) learner=late-gear ;;
driven)
    learner=clean-t-left-open
    command="drive --seed 2"
    leak
    ;;
silent) leak ;;
killed) prompting=none ;;
unplugged) # a second try finds it unplugged already
    if ! pactl list short sinks | grep -qw mic; then
        pactl load-module module-null-sink rate=48000 channels=1 channel_map=mono format=s16le \
            norewinds=1 sink_name=mic >"$RIG/module" || exit 98
        pactl set-default-source mic.monitor || exit 98
    fi
    ;;
*) exit 99 ;;
esac

parec -d speaker.monitor --rate=16000 --channels=1 --format=s16le --latency-msec=50 \
    --file-format=wav "$RIG/speaker.wav" &
recorder=$!
parec -d mic.monitor --rate=16000 --channels=1 --format=s16le --latency-msec=50 \
    --file-format=wav "$RIG/mic.wav" &
mic_recorder=$!
: >"$RIG/out"
[ "$command" = rehearse ] && command="rehearse --prompting $prompting"
# shellcheck disable=SC2086 # words
"$sayline" $command --plain --cues none t-left-open >"$RIG/out" 2>"$RIG/err" &
run=$!
await "The approach begins"
player=
if [ -n "$learner" ]; then
    flac --totally-silent -d -o "$RIG/learner.wav" "audio/demo/$learner.flac"
    paplay -d mic "$RIG/learner.wav" &
    player=$!
fi
if [ "$case" = killed ]; then
    await "Speed: now"
    kill -KILL "$RIG_SERVER"
fi
if [ "$case" = unplugged ]; then
    kill "$mic_recorder"
    pactl unload-module "$(pactl list short modules | awk '/sink_name=mic/ {print $1}')" ||
        fail "the microphone could not be unplugged"
fi
wait "$run"
code=$?
[ -n "$player" ] && wait "$player"
kill "$recorder" "$mic_recorder" 2>/dev/null
wait "$recorder" "$mic_recorder" 2>/dev/null

recording=$(echo "$RIG"/data/sayline/recordings/*.flac)
flac --totally-silent --test "$recording" || fail "flac does not take the recording"
grep -E "Heard|faults?[.:]|Score|lost sound" "$RIG/out"

case $case in
clean)
    [ $code = 0 ] || fail "exit code $code"
    grep -q "100 of 100" "$RIG/out" || fail "not the full score"
    "$onsets" "$RIG/speaker.wav" t-left-open "$prompting" || fail "cues out of time"
    ;;
faulty)
    [ $code = 0 ] || fail "exit code $code"
    grep -q "1. Gear, late" "$RIG/out" || fail "the late gear was not found"
    grep -q "^1 fault:" "$RIG/out" || fail "not one fault"
    ;;
driven)
    [ $code = 0 ] || fail "exit code $code"
    grep -q "The car brakes" "$RIG/out" || fail "it never braked"
    grep -q "In second gear" "$RIG/out" || fail "it never changed gear"
    grep -q "At the line, at 10 mph" "$RIG/out" || fail "it was not at the line at 10 mph"
    grep -q "brought the car to the line as planned" "$RIG/out" || fail "something came of the words"
    grep -q '"starved_s":0\(\.0[0-9]*\)\?,' "$RIG"/data/sayline/recordings/*.run.json || fail "its sound had gaps"
    "$sayline" drive --quiet --from "$recording" | grep -q "as planned" || fail "not the same drive"
    ;;
silent)
    [ $code = 0 ] || fail "exit code $code"
    grep -q "Heard" "$RIG/out" && fail "a cue was heard live"
    grep -q "Score: *0 of 100" "$RIG/out" || fail "something was heard"
    "$onsets" "$RIG/mic.wav" t-left-open "$prompting" || fail "the cues did not leak in at all"
    ;;
killed | unplugged)
    [ $code = 4 ] || fail "exit code $code"
    grep -q "the $([ "$case" = killed ] && echo device || echo microphone) went away" "$RIG/err" ||
        fail "it was not said"
    grep -q "recorded and are kept" "$RIG/out" || fail "the recording was not named"
    ;;
esac
