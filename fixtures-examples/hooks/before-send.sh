#!/bin/sh
# Inspects a run and hands it on to the sender only if it is clear.
#
#   before-send.sh RUN.svg SENDER [ARGUMENT ...]
#
# The sender is the program that takes the file to the machine; it gets its arguments, then the file.
# What it is handed is a copy of the very bytes that were inspected: a save in between cannot slip
# through.
#
# These say what this batch is, and are left out where they do not apply:
#
#   JIGWARDEN_LOADED    pockets that hold a blank, such as A1-A7,B2
#   JIGWARDEN_NAMES     the order list, and JIGWARDEN_COLUMN the column of it that holds the names
#   JIGWARDEN_FIXTURE   the fixture's folder; else the nearest fixture.toml above the run is taken
#
# Exit status: 1 for a hold, 2 for what could not be inspected, else the sender's.
set -eu

refuse() {
  echo "before-send.sh: $1" >&2
  exit 2
}

[ $# -ge 2 ] || refuse "usage: before-send.sh RUN.svg SENDER [ARGUMENT ...]"
run=$1
shift

# The copy lies elsewhere, so the fixture is named.
fixture=${JIGWARDEN_FIXTURE:-}
if [ -z "$fixture" ]; then
  fixture=$(cd -- "$(dirname -- "$run")" && pwd -P) || refuse "the folder of $run cannot be opened"
  while [ ! -f "$fixture/fixture.toml" ]; do
    [ "$fixture" != / ] || refuse "no fixture.toml lies beside $run or above: name the fixture by JIGWARDEN_FIXTURE"
    fixture=$(dirname -- "$fixture")
  done
fi

work=$(mktemp -d) || refuse "there is no room for a copy of $run"
trap 'rm -rf "$work"' EXIT
copy=$work/$(basename -- "$run")
cp -- "$run" "$copy" || refuse "$run cannot be copied, so it is not sent"

status=0
"${JIGWARDEN:-jigwarden}" inspect --fixture "$fixture" \
  ${JIGWARDEN_LOADED:+--loaded "$JIGWARDEN_LOADED"} \
  ${JIGWARDEN_NAMES:+--names "$JIGWARDEN_NAMES"} \
  ${JIGWARDEN_COLUMN:+--column "$JIGWARDEN_COLUMN"} \
  -- "$copy" || status=$?
# Anything but 0 and 1 is no verdict: the program is missing, or was ended by a signal.
case $status in
  0) ;;
  1) exit 1 ;;
  *) exit 2 ;;
esac
"$@" "$copy"
