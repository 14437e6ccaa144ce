#!/bin/sh
# Measures the pictures of six held runs, three with one finding and three with thirteen, and of a clear one
# with a caution, in headless chromium: the board and the proof in windows of four sizes, and the proof in print.
#
# Needs chromium (or CHROMIUM), node 20 or later, and the program in target/release (or JIGWARDEN). With a
# folder, the pictures are kept there to be looked at; the print is turned into pictures by pdftoppm.
#
#   tests/ci/pictures.sh [FOLDER]
set -eu

root=$(cd "$(dirname "$0")/../.." && pwd)
program=${JIGWARDEN:-$root/target/release/jigwarden}
chromium=${CHROMIUM:-$(command -v chromium || true)}
[ -n "$chromium" ] || {
  echo "tests/ci/pictures.sh: no chromium: name it with CHROMIUM" >&2
  exit 3
}
[ -x "$program" ] || cargo build --release --manifest-path "$root/Cargo.toml"

work=$(mktemp -d)
status=0
node "$root/tests/ci/pictures.mjs" "$program" "$chromium" "$root/fixtures-examples" "$work" "${1:-}" || status=$?
rm -rf "$work"
exit "$status"
