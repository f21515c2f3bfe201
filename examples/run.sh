#!/bin/sh
# Sets up all and runs the main job on the shipped sample: which units may not leave, which tires are due.
set -eu
cd "$(dirname "$0")/.."
. tests/env.sh
bring no
build ""
sample=data/samples/small_fleet
ask() {
  echo
  set -- "$@" --readings $sample/readings.csv --positions $sample/positions.csv --tires $sample/tires.csv \
    --wheelend-readings $sample/wheelend_readings.csv
  echo "\$ wheelend $*"
  # Exit code 1 means findings, and the sample has some.
  .venv/bin/wheelend "$@" || [ $? -eq 1 ]
}
ask standing
ask judge
ask pressures
ask wear
ask issues
mkdir -p examples/out
ask sheet -o examples/out/sheet.html
echo
echo "The sheet for the clipboard is examples/out/sheet.html: open it in a browser, or print it. As PDF, with"
echo ".venv/bin/pip install weasyprint: .venv/bin/wheelend sheet ... -o sheet.pdf"
echo "Done. Next: .venv/bin/wheelend --help, or the notebooks examples/*.py"
