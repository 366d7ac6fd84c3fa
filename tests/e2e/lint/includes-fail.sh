#!/bin/sh
# The check of includes finds what it is there to find.
set -eu
top=$1
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
mkdir -p "$work/src/core" "$work/src/report" "$work/src/sound" "$work/src/store"

refused() { # FILE INCLUDE
    echo "#include $2" >"$work/src/$1"
    if sh "$top/tests/e2e/lint/includes.sh" "$work" >/dev/null; then
        echo "not refused: $1 with $2"
        exit 1
    fi
    rm "$work/src/$1"
}

echo '#include "core/str.h"' >"$work/src/report/right.c"
sh "$top/tests/e2e/lint/includes.sh" "$work"
refused core/a.c '"files/models.h"'
refused core/a.c '<time.h>'
refused core/a.c '<stdio.h>'
refused core/a.c '<jansson.h>'
refused report/a.c '"files/models.h"'
refused sound/a.c '"speech/recogniser.h"'
refused sound/a.c '<jansson.h>'
refused report/a.c '<sqlite3.h>'
refused store/a.c '"files/models.h"'
