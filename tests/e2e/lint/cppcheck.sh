#!/bin/sh
# cppcheck over src and tests, as an error.
set -eu
top=$1
build=$2
cd "$top"
mkdir -p "$build/cppcheck"
# missingIncludeSystem: cppcheck does not need the libraries' headers.
# uninitvar in tests, ctuuninitvar: takes an out-parameter that is passed on for a value that is read;
# the compiler's own check and the sanitizers watch this.
cppcheck --quiet -j 2 --std=c11 --enable=warning,performance,portability --inline-suppr \
    --suppress=missingIncludeSystem --suppress='uninitvar:tests/*' --suppress=ctuuninitvar \
    --cppcheck-build-dir="$build/cppcheck" --error-exitcode=1 \
    -I src -I tests -D_POSIX_C_SOURCE=200809L src tests
