#!/bin/sh
# Sets up all and runs every test: C++ (ctest), then Python (pytest). --full adds the slow parts: the sanitizer build of
# both suites, clang, and tests marked slow.
set -eu
cd "$(dirname "$0")/.."
. tests/env.sh
full=no
[ "${1:-}" = "--full" ] && full=yes && shift
bring yes
build dev
PATH="$PWD/.venv/bin:$PATH"
export PATH

# Runs a command and shows its output only when it fails; a pipe to tail would swallow the exit code.
quietly() { mkdir -p build && "$@" >build/last.log 2>&1 || { cat build/last.log; exit 1; }; }

echo "== C++ tests"
quietly cmake --preset tests
quietly cmake --build --preset tests -j "$(nproc)"
quietly ctest --preset tests -j "$(nproc)"
tail -n 4 build/last.log

echo "== Python tests"
if [ "$full" = no ]; then
  python -m pytest -q -m "not slow" "$@"
  exit 0
fi
python -m pytest -q "$@"
sh tests/sanitize.sh
if command -v clang++ >/dev/null 2>&1; then
  quietly cmake --workflow --preset clang
  tail -n 4 build/last.log
else
  echo "clang++ is not installed: the clang build was left out"
fi
