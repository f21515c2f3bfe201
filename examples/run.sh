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
  echo "\$ wheelend $1 --readings $sample/readings.csv --positions $sample/positions.csv --tires $sample/tires.csv"
  # Exit code 1 means findings, and the sample has some.
  .venv/bin/wheelend "$1" --readings $sample/readings.csv --positions $sample/positions.csv --tires $sample/tires.csv ||
    [ $? -eq 1 ]
}
ask standing
ask judge
ask pressures
ask wear
ask issues
echo
echo "Done. Next: .venv/bin/wheelend --help, or examples/*.py"
