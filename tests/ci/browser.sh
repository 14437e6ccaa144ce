#!/bin/sh
# Checks the reader against a real browser engine: boxes of outlines and of clones through the
# screen's transform, the ink of each shape in the browser's own drawing, and the ink of documents that
# each vary one feature (caps and lines without length, clips, markers, keywords, numbers).
#
#   tests/ci/browser.sh [FOLDER OF CLIP ART]
#
# Needs chromium and node; fetches playwright-core (which only talks to the browser) from npm into
# target/ci. Prints counts; status 1 where something differs.
set -eu
cd "$(dirname "$0")/../.."
art=${1:-/usr/share/openclipart/svg}
work=$PWD/target/ci
made=$work/made
mkdir -p "$made"
[ -d "$work/node_modules/playwright-core" ] ||
    npm install --silent --no-audit --no-fund --prefix "$work" playwright-core@1.49.0
profile=$(mktemp -d)
trap 'rm -rf "$profile"' EXIT
export MODULES="$work" PROFILE="$profile" CHROMIUM="${CHROMIUM:-$(command -v chromium)}"
cargo build --quiet --example browser --example features
tool=target/debug/examples/browser
status=0

rm -f "$made"/made-*.svg
"$tool" make "$made" "${MADE:-200}"
echo "== drawings made by chance"
node tests/ci/browser.mjs --ink "$work/made.jsonl" "$made"/made-*.svg
"$tool" compare "$work/made.jsonl" || status=1

echo "== one feature at a time"
features=target/debug/examples/features
"$features" make "$work/features.jsonl" "$work/face.ttf"
node tests/ci/features.mjs "$work/features.jsonl" "$work/inked.jsonl" "$work/face.ttf"
"$features" compare "$work/features.jsonl" "$work/inked.jsonl" || status=1

if [ -d "$art" ]; then
    echo "== a sample of $art"
    # Every so many files, in the order of their names; none beyond half a megabyte.
    find "$art" -name '*.svg' -size -500k | LC_ALL=C sort | awk -v n="${EVERY:-40}" 'NR % n == 1' >"$work/sample"
    tr '\n' '\0' <"$work/sample" | xargs -0 node tests/ci/browser.mjs "$work/art.jsonl"
    "$tool" compare "$work/art.jsonl" || status=1
fi
exit $status
