#!/bin/sh
# Generates recordings of the judging speakers, clean and in noise, and prints how well sayline hears
# and marks them, side by side with PocketSphinx as it comes, and what they make of people who talk
# about something else. A bench, not a test: it takes a while, and its speeds belong to the machine.
#
#   sh tests/bench/quality.sh [--tune] [--count N] [--only CONDITION]... [--sayline-only]
#                             [--json FILE] [--list FILE] [--folder FOLDER] [--build FOLDER]
#
# --tune: the speakers for choosing settings; never choose one by the others. --count: recordings in
# each condition (60). --only: clean, 20-db, 10-db, 5-db, rooms, hesitant, outside, timed or talk.
# --list: a file for every difference. --folder: where the recordings go and stay; they are made
# once. --build: a release build, made when it is not there (build-bench).
# Other people's speech: Debian's pocketsphinx-testdata and asterisk-core-sounds-en-wav, where they
# are installed. The voices of festival: festival, festvox-kallpc16k, festvox-kdlpc16k,
# festvox-us-slt-hts; without them there are fewer speakers, and other recordings.
set -eu

top=$(cd "$(dirname "$0")/../.." && pwd)
build=$top/build-bench
split=judge
count=60
wanted=
folder=
options=

while [ $# -gt 0 ]; do
    case $1 in
    --tune) split=tune ;;
    --sayline-only) options="$options --sayline-only" ;;
    --count) count=$2 && shift ;;
    --only) wanted="$wanted $2" && shift ;;
    --json | --list) options="$options $1 $2" && shift ;;
    --folder) folder=$2 && shift ;;
    --build) build=$2 && shift ;;
    *)
        sed -n '2,/^set/s/^# \{0,1\}//p' "$0" >&2
        exit 2
        ;;
    esac
    shift
done

if [ -z "$folder" ]; then
    folder=$(mktemp -d)
    trap 'rm -rf "$folder"' EXIT
fi
[ -f "$build/build.ninja" ] || cmake -S "$top" -B "$build" -G Ninja -DCMAKE_BUILD_TYPE=Release >&2
ninja -C "$build" corpus bench_quality >&2
SAYLINE_MODELS=$top/models
export SAYLINE_MODELS

is_wanted() { # CONDITION
    [ -z "$wanted" ] && return 0
    case "$wanted " in *" $1 "*) return 0 ;; esac
    return 1
}

speakers=all
if ! command -v festival >/dev/null 2>&1; then
    echo "festival is not installed: libflite's voices only, so these are not the usual recordings" >&2
    speakers=flite
fi

conditions=
make() { # CONDITION COUNT OPTION...: adds a condition
    condition=$1
    runs=$2
    shift 2
    is_wanted "$condition" || return 0
    conditions="$conditions $folder/$split/$condition"
    [ -f "$folder/$split/$condition/runs.tsv" ] && return
    mkdir -p "$folder/$split"
    "$build/tests/corpus/corpus" runs "$folder/$split/$condition.part" --split "$split" \
        --speakers "$speakers" --start 2026 --count "$runs" "$@"
    mv "$folder/$split/$condition.part" "$folder/$split/$condition"
}

some=$(((count + 1) / 2))
make clean "$count"
make 20-db "$count" --noise 20
make 10-db "$count" --noise 10
make 5-db "$count" --noise 5
make rooms "$some" --room any --microphone any
make hesitant "$some" --hesitation 0.4 --restart 0.25
make outside "$some" --outside 1
make timed "$some" --timed

talks=
talk() { # NAME FILE...: adds a folder with links to the files
    name=$1
    shift
    mkdir -p "$folder/$name"
    ln -sf "$@" "$folder/$name"
    talks="$talks --talk $folder/$name"
}

testdata=/usr/share/pocketsphinx/test/data
prompts=/usr/share/asterisk/sounds/en_US_f_Allison
if is_wanted talk && [ -d "$testdata" ]; then
    talk pocketsphinx-testdata "$testdata"/cards/*.wav "$testdata"/librivox/*.wav \
        "$testdata/goforward.raw" "$testdata/numbers.raw" "$testdata/something.raw"
fi
if is_wanted talk && [ -d "$prompts" ]; then
    # Sentences (1.5 s and more at 8 kHz), one in five; single words of other folders are left out.
    # shellcheck disable=SC2046 # a list of names without spaces
    talk asterisk-core-sounds $(find "$prompts" -maxdepth 1 -name '*.wav' -size +23k | sort | awk 'NR % 5 == 0')
fi

start=
for first in $conditions; do
    start="--start $first/run-0000.labels"
    break
done
# shellcheck disable=SC2086 # lists of options and folders
"$build/tests/bench/bench_quality" $options $talks $start $conditions
