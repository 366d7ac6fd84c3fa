#!/bin/sh
# Who may include whom. A folder of src includes only the folders and the outside headers below; the
# core includes nothing from outside the C library, and of the C library nothing that reads a file,
# a clock or a device (stdio.h only in str.c, for vsnprintf).
# usage: includes.sh FOLDER-WITH-src
set -eu
cd "$1"

folders_for() {
    case $1 in
    core) echo "core" ;;
    files | speech | sound | store | report) echo "core $1" ;;
    practice) echo "core files speech sound store report practice" ;;
    cli) echo "core files speech sound store report practice cli" ;;
    esac
}

outside_for() {
    case $1 in
    files) echo "libfyaml.h jansson.h archive.h archive_entry.h nettle/" ;;
    speech) echo "pocketsphinx.h sphinxbase/" ;;
    store) echo "sqlite3.h" ;;
    report) echo "libxml/" ;;
    cli) echo "ncurses.h term.h" ;;
    sound) echo "sndfile.h samplerate.h flite/ ebur128.h portaudio.h alsa/asoundlib.h speex/" ;;
    esac
}

# Headers of ISO C that the core may use.
core_system="assert.h ctype.h errno.h float.h limits.h math.h stdarg.h stdbool.h stddef.h stdint.h
stdlib.h string.h"
# Headers of third parties, by a pattern: whatever is no header of ISO C or POSIX.
system_pattern='^(assert|ctype|dirent|errno|fcntl|float|ftw|getopt|inttypes|limits|locale|math|poll|pthread|pwd|signal|stdalign|stdarg|stdatomic|stdbool|stddef|stdint|stdio|stdlib|string|strings|time|unistd|sys/[a-z]+)\.h$'

bad=0
complain() {
    echo "$1"
    bad=1
}

matches() { # HEADER PREFIX...
    header=$1
    shift
    for prefix in "$@"; do
        case $header in "$prefix"*) return 0 ;; esac
    done
    return 1
}

quoted() { # the headers that FILE includes by "..."
    sed -n 's/^[[:space:]]*#[[:space:]]*include[[:space:]]*"\([^"]*\)".*/\1/p' "$1"
}

angled() { # by <...>
    sed -n 's/^[[:space:]]*#[[:space:]]*include[[:space:]]*<\([^>]*\)>.*/\1/p' "$1"
}

check_quoted() { # FILE FOLDER HEADER
    case " $(folders_for "$2") " in
    *" ${3%%/*} "*) ;;
    *) complain "$1: may not include \"$3\"" ;;
    esac
}

check_angled() { # FILE FOLDER HEADER
    if [ "$2" = core ]; then
        # shellcheck disable=SC2086 # a list of headers
        matches "$3" $core_system && return
        [ "$1 $3" = "src/core/str.c stdio.h" ] || complain "$1: the core may not include <$3>"
    elif ! echo "$3" | grep -q -E "$system_pattern"; then
        # shellcheck disable=SC2046 # a list of headers
        matches "$3" $(outside_for "$2") || complain "$1: may not include <$3>"
    fi
}

for file in src/*/*.[ch]; do
    folder=${file#src/}
    folder=${folder%%/*}
    [ -n "$(folders_for "$folder")" ] || complain "$file: src/$folder is no folder of the design"
    for header in $(quoted "$file"); do
        check_quoted "$file" "$folder" "$header"
    done
    for header in $(angled "$file"); do
        check_angled "$file" "$folder" "$header"
    done
done
exit $bad
