#!/bin/sh
# cppcheck over src and tests, as an error.
set -eu
top=$1
build=$2
cd "$top"
mkdir -p "$build/cppcheck"
# missingIncludeSystem: cppcheck does not need the libraries' headers.
# The X-macros of the X(code, ...) lists are read from their definitions, as the compiler does.
cppcheck --quiet -j 2 --std=c11 --enable=warning,performance,portability --inline-suppr \
    --suppress=missingIncludeSystem --cppcheck-build-dir="$build/cppcheck" --error-exitcode=1 \
    -I src -I tests -D_POSIX_C_SOURCE=200809L src tests
