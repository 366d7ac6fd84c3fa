#!/bin/sh
# Every C file is laid out as .clang-format says.
set -eu
cd "$1"
find src tests -name '*.[ch]' -exec clang-format --dry-run -Werror {} +
