#!/bin/sh
# Drives the board of `watch` in headless chromium: a run that turns from clear to hold shows within a
# second, a watcher that starts again is found again, other Host headers and paths are refused, and what
# is seen in windows of four sizes is measured.
#
# Needs chromium (or CHROMIUM), node 20 or later, curl, and the program in target/release (or
# JIGWARDEN).
#
# With a folder, it also keeps pictures of the board in four windows, to be looked at.
#
#   tests/ci/board.sh [FOLDER]
set -eu

root=$(cd "$(dirname "$0")/../.." && pwd)
program=${JIGWARDEN:-$root/target/release/jigwarden}
chromium=${CHROMIUM:-$(command -v chromium || command -v chromium-browser || command -v google-chrome || true)}
if [ -z "$chromium" ] && [ "$(id -u)" -eq 0 ] && command -v apt-get >/dev/null; then
  apt-get update -qq && apt-get install -y -qq chromium nodejs >/dev/null
  chromium=$(command -v chromium)
fi
[ -n "$chromium" ] || {
  echo "no chromium: name it with CHROMIUM" >&2
  exit 2
}
[ -x "$program" ] || cargo build --release --manifest-path "$root/Cargo.toml"

work=$(mktemp -d)
status=0
node "$root/tests/ci/board.mjs" "$program" "$chromium" "$root/fixtures-examples/hive-tags" "$work" "${1:-}" || status=$?
rm -rf "$work"
exit "$status"
