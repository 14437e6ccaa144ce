#!/bin/sh
# Inspects a run and hands it on to the sender only if it is clear.
#
#   before-send.sh RUN.svg SENDER [ARGUMENT ...]
#
# The sender is the program that takes the file to the machine; it gets its arguments, then the file.
# What it is handed is a copy of the very bytes that were inspected: a save in between cannot slip
# through. Exit status: that of the inspection (1 hold, 2 could not be inspected), else the sender's.
set -eu

[ $# -ge 2 ] || {
  echo "usage: before-send.sh RUN.svg SENDER [ARGUMENT ...]" >&2
  exit 2
}
run=$1
shift

work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
copy=$work/$(basename -- "$run")
cp -- "$run" "$copy"

# The copy lies elsewhere, so the fixture is named: the nearest fixture.toml above the run, or
# JIGWARDEN_FIXTURE.
fixture=${JIGWARDEN_FIXTURE:-}
if [ -z "$fixture" ]; then
  folder=$(cd -- "$(dirname -- "$run")" && pwd -P)
  while [ ! -f "$folder/fixture.toml" ] && [ "$folder" != / ]; do
    folder=$(dirname -- "$folder")
  done
  fixture=$folder
fi

# With `set -e` anything but 0 ends the script here.
"${JIGWARDEN:-jigwarden}" inspect --fixture "$fixture" "$copy"
"$@" "$copy"
