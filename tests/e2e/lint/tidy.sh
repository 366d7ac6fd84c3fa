#!/bin/sh
# clang-tidy with the checks of .clang-tidy over src, from the build's own compile commands; without
# optimisation, for which glibc's headers turn toupper and others into nested macros.
set -eu
top=$1
build=$2
cd "$top"
find src -name '*.c' -print0 |
    xargs -0 -n 4 -P 2 clang-tidy -p "$build" --quiet --extra-arg=-O0 --warnings-as-errors='*' 2>&1 |
    { grep -v -E '^[0-9]+ warnings? generated|^Suppressed|^Use -header-filter' || true; } >"$build/tidy.log"
if grep -E '(warning|error):' "$build/tidy.log"; then
    cat "$build/tidy.log"
    exit 1
fi
