#!/bin/sh
# Installs what is needed, builds with warnings as errors and sanitizers, runs every test.
set -eu

top=$(cd "$(dirname "$0")/.." && pwd)
. "$top/docs/packages.sh"

# Debian's npm does not go with a node from elsewhere, which brings its own.
node=
command -v npm >/dev/null 2>&1 || node="nodejs npm"

# shellcheck disable=SC2086 # lists of names
install_packages $sayline_packages libcmocka-dev sctk pocketsphinx-testdata \
    festival festvox-kallpc16k festvox-kdlpc16k festvox-us-slt-hts asterisk-core-sounds-en-wav \
    clang-tidy clang-format cppcheck gcovr python3 sqlite3 flac unzip shellcheck mandoc \
    pulseaudio pulseaudio-utils libasound2-plugins parallel \
    chromium $node

cmake -S "$top" -B "$top/build-tests" -G Ninja -DSAYLINE_WERROR=ON -DSAYLINE_SANITIZE=ON
cmake --build "$top/build-tests"
ctest --test-dir "$top/build-tests" -j2 --output-on-failure
