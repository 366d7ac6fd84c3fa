#!/bin/sh
# The manual page is right mdoc.
set -eu
mandoc -Tlint -Wwarning "$1/docs/sayline.1"
