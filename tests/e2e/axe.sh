#!/bin/sh
# The pages of the built program in headless Chromium, checked by axe-core (npm, for tests only).
# Skipped, with exit code 77, where Chromium, node or the registry are not there.
# usage: axe.sh TOP SAYLINE TEST-OF-THE-CLASS-PAGE
set -eu
top=$1
sayline=$2
class_test=$3
cd "$top"

skip() {
    echo "skipped: $1" >&2
    exit 77
}

[ -x "$class_test" ] || {
    echo "$class_test is not built: ninja $(basename "$class_test")" >&2
    exit 1
}

chromium=$(command -v chromium || command -v chromium-browser || true)
[ -n "$chromium" ] || skip "no Chromium (Debian: chromium)"
command -v node >/dev/null || skip "no node (Debian: nodejs)"
command -v npm >/dev/null || skip "no npm (Debian: npm)"

work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
npm install --silent --no-audit --no-fund --ignore-scripts --prefix "$work" axe-core@4.10 \
    >"$work/npm.log" 2>&1 || skip "npm cannot install axe-core: $(tail -n 1 "$work/npm.log")"

export XDG_DATA_HOME="$work/data" SAYLINE_MODELS="$top/models"
cp audio/demo/decide-before-gear.flac "$work"
"$sayline" mark --quiet --keep -j t-left-open "$work/decide-before-gear.flac" \
    --html "$work/run.html" >/dev/null
"$sayline" mark --quiet --untimed -j t-left-open audio/demo/missed-signal.flac \
    --html "$work/untimed.html" >/dev/null
# Enough for a page of progress that is long.
for run in wrong-gear mirrors-twice; do
    cp "audio/demo/$run.flac" "$work"
    "$sayline" mark --quiet --keep -j t-left-open "$work/$run.flac" >/dev/null
done
"$sayline" progress --html "$work/progress.html" >/dev/null
for junction in t-left-open t-left-closed example-measured roundabout-right-closed; do
    "$sayline" plan "$junction" --html "$work/plan-$junction.html" >/dev/null
done
# Five consequences.
"$sayline" drive --quiet --from audio/demo/gear-before-speed.flac t-left-open --seed 3 \
    --html "$work/drive.html" >/dev/null
SAYLINE_KEEP_PAGE="$work/class.html" "$class_test" >"$work/class.log" 2>&1 || {
    cat "$work/class.log" >&2
    exit 1
}

node tests/e2e/axe.mjs "$chromium" "$work/node_modules/axe-core/axe.min.js" \
    "$work/run.html" "$work/untimed.html" "$work/progress.html" "$work/class.html" "$work/drive.html" \
    --one-sheet "$work"/plan-*.html "$work/progress.html" "$work/drive.html" --plays "$work/run.html"
