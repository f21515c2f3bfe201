#!/bin/sh
# Both suites under address and undefined-behaviour sanitizers. Leaks are looked for in the C++ suite only: Python itself
# does not give all memory back.
set -eu
cd "$(dirname "$0")/.."
PATH="$PWD/.venv/bin:$PATH"
export PATH
cmake --workflow --preset asan
flags="-O1 -g -fsanitize=address,undefined -fno-sanitize-recover=all -fno-omit-frame-pointer"
cmake -S . -B build/asan-module -G Ninja -DWHEELEND_PYTHON=ON -DWHEELEND_TESTS=OFF -DCMAKE_BUILD_TYPE=Debug \
  -DCMAKE_CXX_FLAGS_DEBUG="$flags" -Dpybind11_DIR="$(python -m pybind11 --cmakedir)" -DPython_EXECUTABLE="$(command -v python)" >/dev/null
cmake --build build/asan-module -j 2
# The sanitized module takes the place of the built one for this run only, through its own copy of the package.
stage=build/asan-module/stage
rm -rf "$stage" && mkdir -p "$stage/python" "$stage/tests"
cp -r python/wheelend "$stage/python/"
cp -r tests/python "$stage/tests/"
for name in data examples tests/reference tests/cpp cpp python/bindings pyproject.toml README.md DEVELOPERS.md CHANGELOG.md CITATION.cff CMakeLists.txt; do
  mkdir -p "$stage/$(dirname "$name")" && cp -r "$name" "$stage/$name"
done
cp build/asan-module/python/_core*.so "$stage/python/wheelend/"
cd "$stage"
# Reference data that is never committed lies beside the clone; the copy finds it beside itself.
[ -d ../../../../shared ] && ln -sfn ../../../shared ../shared
# test_many_bad_rows bounds memory, which a sanitizer multiplies.
# -S keeps the editable install's import hook out; the packages of .venv come by path.
site="$(python -c 'import sysconfig; print(sysconfig.get_paths()["purelib"])')"
ASAN_OPTIONS=detect_leaks=0 LD_PRELOAD="$(g++ -print-file-name=libasan.so) $(g++ -print-file-name=libstdc++.so)" \
  WHEELEND_SANITIZED=1 PYTHONPATH="$PWD/python:$site" python -S -m pytest -q -p no:cacheprovider -m "not slow" --ignore=tests/python/test_many_bad_rows.py tests/python
