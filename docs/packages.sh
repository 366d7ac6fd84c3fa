# Sourced by docs/quickstart.sh and tests/run.sh: installing Debian packages by name.
# shellcheck shell=sh

# What a build needs.
# shellcheck disable=SC2034 # used by the scripts that source this file
sayline_packages="gcc libc6-dev cmake ninja-build pkg-config libpocketsphinx-dev libsphinxbase-dev
pocketsphinx-en-us libsndfile1-dev libsamplerate0-dev libfyaml-dev libjansson-dev libebur128-dev
flite1-dev portaudio19-dev libspeexdsp-dev libasound2-dev
libarchive-dev nettle-dev libncurses-dev libsqlite3-dev libxml2-dev"

# Prints those of the named packages that are not installed.
missing_packages() {
    for package in "$@"; do
        status=$(dpkg-query -W -f='${db:Status-Status}' "$package" 2>/dev/null || true)
        [ "$status" = installed ] || printf '%s ' "$package"
    done
}

# Installs what is missing: as root, or through sudo where that asks for no password. Otherwise says
# what to install, and fails. Does nothing where everything is there.
install_packages() {
    if ! command -v dpkg-query >/dev/null 2>&1; then
        echo "This is not Debian: install by hand what Debian calls $*" >&2
        return 0
    fi
    missing=$(missing_packages "$@")
    [ -n "$missing" ] || return 0
    if [ "$(id -u)" -eq 0 ]; then
        as_root=
    elif command -v sudo >/dev/null 2>&1 && sudo -n true 2>/dev/null; then
        as_root="sudo -n"
    else
        echo "Packages are missing, and this user may not install them. As root:" >&2
        echo "  apt-get install --no-install-recommends $missing" >&2
        return 1
    fi
    echo "Installing: $missing"
    $as_root apt-get -qq update
    # shellcheck disable=SC2086 # a list of names
    $as_root env DEBIAN_FRONTEND=noninteractive apt-get -qq install -y --no-install-recommends $missing
}
