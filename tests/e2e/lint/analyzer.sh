#!/bin/sh
# A build of src alone, without the tests and their libraries, under gcc's -fanalyzer. Its two checks of
# leaks are off: gcc 12 loses sight of what is stored through a pointer, and calls it leaked;
# LeakSanitizer watches every test instead.
set -eu
top=$1
build=$2/analyzer
cmake -S "$top" -B "$build" -G Ninja -DSAYLINE_TESTS=OFF -DSAYLINE_WERROR=ON \
    -DCMAKE_BUILD_TYPE=Debug -DCMAKE_C_FLAGS="-fanalyzer -Wno-analyzer-malloc-leak -Wno-analyzer-file-leak"
ninja -k 0 -j2 -C "$build"
