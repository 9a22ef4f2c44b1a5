#!/bin/sh
# Set up the companion on a bare Debian 12 machine (other systems: see README.md).
#   sh setup.sh        set up
#   sh setup.sh demo   set up, then walk a small demo plan
#   sh setup.sh test   set up with the test tools, then run every check
set -eu
cd "$(dirname "$0")"

task="${1:-setup}"
case "$task" in
    setup|demo|test) ;;
    *) echo "setup.sh: expected nothing, demo or test, not '$task'." >&2; exit 2 ;;
esac

packages="python3 python3-venv espeak-ng libportaudio2"
if [ "$task" = test ]; then
    packages="$packages strace flite festival festvox-kallpc16k pocketsphinx-testdata sox ffmpeg poppler-utils liblouis-bin pulseaudio libasound2-plugins \
        postgresql chromium libnss3-tools fonts-dejavu-core libatomic1 dbus-daemon libglib2.0-bin"
fi

# Which of the packages are not there yet.
missing_packages() {
    for package in $packages; do
        dpkg-query -W -f='${Status}' "$package" 2>/dev/null | grep -q '^install ok installed' \
            || printf '%s ' "$package"
    done
}

# The browser without its windows drives the pages at half the work; the whole one does as well.
install_light_browser() {
    light=chromium-headless-shell
    dpkg-query -W "$light" >/dev/null 2>&1 \
        || apt-get install -y -qq --no-install-recommends "$light" >/dev/null 2>&1 \
        || echo "There is no $light here, so that the tests take longer."
}

install_packages() {
    command -v apt-get >/dev/null 2>&1 || {
        echo "This system has no apt-get. Please install by its own means: Python 3.11 or newer, espeak-ng, PortAudio."
        return
    }
    missing="$(missing_packages)"
    [ -n "$missing" ] || return 0
    if [ "$(id -u)" -eq 0 ]; then
        echo "Installing system packages: $missing"
        export DEBIAN_FRONTEND=noninteractive
        apt-get update -qq
        # shellcheck disable=SC2086 # a list of words on purpose
        apt-get install -y -qq --no-install-recommends $missing >/dev/null
    else
        echo "These system packages are missing. Please have them installed, then run this again:"
        echo "  sudo apt-get install $missing"
    fi
}

# The first Python of 3.11 or newer that can make a virtual environment.
find_python() {
    for python in python3 python3.11 python3.12 python3.13 /usr/bin/python3; do
        if "$python" -c 'import sys, ensurepip; sys.exit(sys.version_info < (3, 11))' 2>/dev/null; then
            echo "$python"
            return
        fi
    done
}

install_packages
[ "$task" != test ] || [ "$(id -u)" -ne 0 ] || install_light_browser
python="$(find_python)"
if [ -z "$python" ]; then
    echo "setup.sh: expected Python 3.11 or newer with venv, found none. Please install python3 and python3-venv." >&2
    exit 2
fi

lock=requirements.lock
[ "$task" = test ] && lock=.ci/requirements-test.lock
[ -x .venv/bin/python ] || "$python" -m venv .venv
if ! cmp -s "$lock" .venv/installed.lock; then
    echo "Installing Python packages from $lock (hashes checked)."
    # The lock names every package there is to be; .ci/lock says what is left out, and why.
    .venv/bin/python -m pip install --quiet --disable-pip-version-check --no-deps \
        --require-hashes -r "$lock"
    .venv/bin/python -m pip install --quiet --disable-pip-version-check --no-deps \
        --no-build-isolation --editable .
    cp "$lock" .venv/installed.lock
fi
echo "The companion is set up. Its command is .venv/bin/companion"

case "$task" in
    demo)
        if [ -t 0 ]; then
            exec .venv/bin/companion demo
        fi
        echo "No keyboard here, so the demo gives the commands itself."
        printf 'done\ndone\nback\nwhere am i\nstop\n' | .venv/bin/companion demo
        ;;
    test)
        .venv/bin/ruff check .
        .venv/bin/ruff format --check .
        .venv/bin/mypy
        # Many tests wait, so that one worker more than there are cores keeps them all busy.
        .venv/bin/python -m pytest -n "$(($(nproc) + 1))" --dist worksteal
        ;;
esac
