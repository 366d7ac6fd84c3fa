#!/bin/sh
# At least 95 % of the lines of src/core are run by the tests of src/core.
set -eu
top=$1
build=$2/coverage
cmake -S "$top" -B "$build" -G Ninja -DSAYLINE_COVERAGE=ON -DCMAKE_BUILD_TYPE=Debug
ninja -j2 -C "$build" tests_core
find "$build" -name '*.gcda' -delete
ctest --test-dir "$build" -L '^core$' -j2 --output-on-failure
cd "$top"
gcovr --root "$top" --object-directory "$build" --filter 'src/core/' --exclude-unreachable-branches \
    --fail-under-line 95 "$build"
