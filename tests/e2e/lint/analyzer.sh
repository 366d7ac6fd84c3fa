#!/bin/sh
# A build of src alone, without the tests and their libraries, under gcc's -fanalyzer.
set -eu
top=$1
build=$2/analyzer
cmake -S "$top" -B "$build" -G Ninja -DSAYLINE_TESTS=OFF -DSAYLINE_WERROR=ON \
    -DCMAKE_BUILD_TYPE=Debug -DCMAKE_C_FLAGS=-fanalyzer
ninja -j2 -C "$build"
