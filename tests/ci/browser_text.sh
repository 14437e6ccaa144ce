#!/bin/sh
# Checks how lettering is laid out against a browser engine: documents that vary spacing, anchors,
# baselines, shifts, curves, directions, lines along letters and who paints them. In each, the ink of each
# paint is where the browser has it, or the text is named as not proven.
#
#   tests/ci/browser_text.sh
#
# Needs chromium, node and the faces of DejaVu (Debian: chromium, nodejs, fonts-dejavu-core); fetches
# playwright-core (which only talks to the browser) from npm into target/ci. Prints counts; status 1 where
# something differs.
set -eu
cd "$(dirname "$0")/../.."
work=$PWD/target/ci
made=$work/text
mkdir -p "$made"
[ -d "$work/node_modules/playwright-core" ] ||
    npm install --silent --no-audit --no-fund --prefix "$work" playwright-core@1.49.0
profile=$(mktemp -d)
trap 'rm -rf "$profile"' EXIT
export MODULES="$work" PROFILE="$profile" CHROMIUM="${CHROMIUM:-$(command -v chromium)}"
cargo build --quiet --example browser_text
tool=target/debug/examples/browser_text
rm -f "$made"/*.svg
"$tool" make "$made"
node tests/ci/browser_text.mjs "$work/text.jsonl" "$made"/*.svg
"$tool" compare "$work/text.jsonl"
