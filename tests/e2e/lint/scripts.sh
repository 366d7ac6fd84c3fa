#!/bin/sh
# Every shell script is clean under shellcheck.
set -eu
cd "$1"
find docs tests -name '*.sh' -exec shellcheck -x {} +
shellcheck .ci/run
