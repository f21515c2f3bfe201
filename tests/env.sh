# Sourced by examples/run.sh and tests/run.sh from the root of the clone: brings what is missing, builds into .venv.
# Debian's packages and the Python package index are the only sources. POSIX sh.

packages="g++ python3 python3-venv python3-dev libboost-dev libeigen3-dev"

# Whether a C++ file with these headers compiles.
compiles() {
  command -v g++ >/dev/null 2>&1 && for header in "$@"; do printf '#include <%s>\n' "$header"; done |
    g++ -std=c++20 -I/usr/include/eigen3 -fsyntax-only -x c++ - >/dev/null 2>&1
}

has_python() {
  command -v python3 >/dev/null 2>&1 && python3 - >/dev/null 2>&1 <<'PY'
import ensurepip, os, sys, sysconfig, venv
assert sys.version_info >= (3, 11) and os.path.exists(os.path.join(sysconfig.get_paths()["include"], "Python.h"))
PY
}

has_system_headers() { compiles boost/units/quantity.hpp boost/multiprecision/cpp_int.hpp boost/math/distributions/normal.hpp Eigen/Dense; }

# What the tests look at pages with: a browser, Poppler's tools, and the libraries that WeasyPrint draws with.
on_paper="chromium poppler-utils libpango-1.0-0 libpangoft2-1.0-0 libharfbuzz-subset0"
prints() {
  for command in chromium pdftotext; do command -v $command >/dev/null 2>&1 || return 1; done
  for library in pango-1.0 pangoft2-1.0 harfbuzz-subset; do
    ls /usr/lib/*/lib$library.so.0 >/dev/null 2>&1 || return 1
  done
}

# bring FOR_TESTS: installs Debian's packages where something is missing and we are root.
bring() {
  [ "$1" = yes ] && packages="$packages libgtest-dev $on_paper"
  if has_python && has_system_headers && { [ "$1" = no ] || { compiles gtest/gtest.h && prints; }; }; then
    return 0
  fi
  if [ "$(id -u)" = 0 ] && command -v apt-get >/dev/null 2>&1; then
    echo "== installing Debian packages: $packages"
    apt-get update -qq && DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends $packages >/dev/null
  else
    echo "== something is missing; as root: apt-get install $packages" >&2
    has_python || { echo "== stopping: Python 3.11 or newer with venv and headers is needed" >&2; exit 1; }
    command -v g++ >/dev/null 2>&1 || { echo "== stopping: a C++20 compiler (g++) is needed" >&2; exit 1; }
    [ "$1" = no ] || prints || echo "== tests of what is printed will fail: they need $on_paper" >&2
    [ "$1" = no ] || compiles gtest/gtest.h || { echo "== stopping: the C++ tests need libgtest-dev" >&2; exit 1; }
  fi
}

# What decides whether the environment must be built anew: everything that is compiled, and how; and the names of the
# modules, for the editable package finds them by a list that is made when it is built.
stamp_of() {
  echo "$1"
  find pyproject.toml CMakeLists.txt cpp python/CMakeLists.txt python/bindings -type f | LC_ALL=C sort | xargs cat | cksum
  find python/wheelend -name '*.py' | LC_ALL=C sort | cksum
}

# build EXTRA: .venv with the package (editable: python/ and data/ are used in place) and an extra of pyproject.toml.
build() {
  if [ -f .venv/stamp ] && [ "$(stamp_of "$1")" = "$(cat .venv/stamp)" ]; then
    return 0
  fi
  [ "$1" = "" ] && [ -f .venv/stamp ] && [ "$(stamp_of dev)" = "$(cat .venv/stamp)" ] && return 0
  echo "== building into .venv (about two minutes)"
  stamp=$(stamp_of "$1") # before: what is edited while it builds was not built
  [ -x .venv/bin/python ] || python3 -m venv .venv
  rm -f .venv/stamp
  if has_system_headers; then
    # The build tools stay in .venv, so that the next build compiles only what changed.
    export WHEELEND_SYSTEM_HEADERS=1
    .venv/bin/python -m pip install -q --disable-pip-version-check "scikit-build-core>=0.11" "pybind11>=2.13.6" "cmake>=3.25" "ninja>=1.11"
    PATH="$PWD/.venv/bin:$PATH" .venv/bin/python -m pip install -q --disable-pip-version-check --no-build-isolation -e ".${1:+[$1]}"
  else
    # Boost and Eigen come as wheels, in an isolated build, since those pin other packages.
    .venv/bin/python -m pip install -q --disable-pip-version-check -e ".${1:+[$1]}"
  fi
  echo "$stamp" >.venv/stamp
}
