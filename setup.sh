#!/bin/sh
# Sets viz3d up in .venv beside this file.   sh setup.sh        to use it
#                                            sh setup.sh test   to test it as well
set -eu
cd "$(dirname "$0")"
want=${1:-}
say() { printf '%s\n' "setup: $*"; }
stop() { printf '%s\n' "setup: $*" >&2; exit 1; }

python=""
for name in "${PYTHON:-python3}" python3.13 python3.12 python3.11 python; do
  if command -v "$name" >/dev/null 2>&1 &&
     "$name" -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null; then
    python=$name
    break
  fi
done
[ -n "$python" ] || stop "Python 3.11 or newer was not found; install it, or name it: PYTHON=/path/to/python3 sh setup.sh"
"$python" -c 'import venv, ensurepip' 2>/dev/null ||
  stop "this Python has no venv; on Debian and Ubuntu run: sudo apt-get install -y python3-venv"

if [ "$(uname -s)" = Linux ] && command -v dpkg-query >/dev/null 2>&1; then
  missing=""
  lists=system-packages.txt
  [ "$want" = test ] && lists="$lists tests/system-packages.txt"
  for package in $(sed 's/#.*//' $lists); do
    dpkg-query -W -f '${Status}' "$package" 2>/dev/null | grep -q 'ok installed' || missing="$missing $package"
  done
  if [ "$want" = test ] && ! command -v npm >/dev/null 2>&1; then missing="$missing nodejs npm"; fi
  if [ -n "$missing" ]; then
    line="apt-get update && apt-get install -y$missing"
    if [ "$(id -u)" = 0 ]; then
      say "installing$missing"
      apt-get update -qq && DEBIAN_FRONTEND=noninteractive apt-get install -y -qq $missing >/dev/null ||
        stop "could not install the system packages; run: $line"
    else
      stop "system packages are missing; run this line, then start again: sudo sh -c '$line'"
    fi
  fi
fi

[ -x .venv/bin/python ] || { say "making .venv"; "$python" -m venv .venv; }
set -- --editable "."
[ "$want" = test ] && set -- --editable ".[test]" --constraint tests/constraints.txt
say "installing viz3d (the first time takes a minute or two)"
.venv/bin/python -m pip install --quiet --disable-pip-version-check "$@"

if [ "$want" = test ]; then
  say "installing the checkers of pages and 3-D files"
  (cd tests/web && npm install --silent --no-audit --no-fund --no-package-lock) ||
    stop "could not install the checkers; they need npm: sudo apt-get install -y nodejs npm"
fi

say "checking off-screen drawing"
.venv/bin/viz3d doctor --quiet || stop "viz3d is installed, but the check above failed; numbers work, pictures may not"
say "ready: .venv/bin/viz3d --help"
