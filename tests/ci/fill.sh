#!/bin/sh
# Opens filled runs in headless chromium and compares where its lettering lies with where this program
# measured it: every line of live lettering against the outlines of the same line, 0.05 mm allowed.
# Ends with status 1 where they differ, with status 3 where a tool is missing.
#
# Needs chromium (another one: CHROMIUM=...) and Node.js 18 or later.
#
#   tests/ci/fill.sh
set -eu

root=$(cd "$(dirname "$0")/../.." && pwd)
chromium=${CHROMIUM:-chromium}
for tool in "$chromium" node; do
    if ! command -v "$tool" >/dev/null; then
        echo "tests/ci/fill.sh: $tool is not on this machine, so no filled run was opened" >&2
        exit 3
    fi
done
program=${JIGWARDEN:-$root/target/debug/jigwarden}
if [ -z "${JIGWARDEN:-}" ]; then
    cargo build --quiet --manifest-path "$root/Cargo.toml" --bin jigwarden
fi
font=$(cargo metadata --format-version 1 --manifest-path "$root/Cargo.toml" |
    grep -o '"manifest_path":"[^"]*epaint_default_fonts[^"]*"' | head -1 | cut -d'"' -f4 | xargs dirname)/fonts/Ubuntu-Light.ttf
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
printf 'Name\nIsolde\nZoë Müller\nŁukasz Żółć\nAnne-Marie\nSiobhán O’Reilly\nJiří Dvořák\nBo\nThaddäus Applewhite\n' >"$work/orders.csv"
status=0
for fixture in hive-tags brass-fobs round-coasters; do
    for way in live outlines; do
        flag=
        [ "$way" = outlines ] && flag=--outlines
        "$program" fill "$work/orders.csv" --column Name $flag -o "$work/$fixture-$way" \
            --fixture "$root/fixtures-examples/$fixture" >/dev/null
    done
    CHROMIUM=$chromium node "$root/tests/ci/fill.mjs" "$font" "$work/$fixture-live/orders-1.svg" \
        "$work/$fixture-outlines/orders-1.svg" "$work" || status=1
done
exit $status
