#!/bin/sh
# At least 95 % of the lines of src/core are run by the tests of src/core and by the one that makes
# every shipped junction's cues and commentary, which needs the shipped files.
set -eu
top=$1
build=$2/coverage
cmake -S "$top" -B "$build" -G Ninja -DSAYLINE_COVERAGE=ON -DCMAKE_BUILD_TYPE=Debug
ninja -j2 -C "$build" tests_core practice_test_shipped_cues
find "$build" -name '*.gcda' -delete
ctest --test-dir "$build" -R '^core\.|^practice\.shipped_cues$' -j2 --output-on-failure
cd "$top"
gcovr --root "$top" --object-directory "$build" --filter 'src/core/' --exclude-unreachable-branches \
    --fail-under-line 95 "$build"
