#!/bin/sh
# Opens the proof of every example that is to be held in headless chromium and measures it: see
# tests/ci/proof.mjs. Ends with status 1 on any complaint, with status 3 where a tool is missing.
#
# Needs chromium (another one: CHROMIUM=...), Node.js 18 or later and nothing from npm. With
# SHOTS=FOLDER, pictures and PDFs are left there to be looked at.
#
#   tests/ci/proof.sh [RUN.svg|DRAWING-FOLDER ...]
set -eu

root=$(cd "$(dirname "$0")/../.." && pwd)
chromium=${CHROMIUM:-chromium}
for tool in "$chromium" node; do
    if ! command -v "$tool" >/dev/null; then
        echo "tests/ci/proof.sh: $tool is not on this machine, so no proof was opened" >&2
        exit 3
    fi
done

program=${JIGWARDEN:-$root/target/debug/jigwarden}
if [ -z "${JIGWARDEN:-}" ]; then
    cargo build --quiet --manifest-path "$root/Cargo.toml" --bin jigwarden
fi
if [ $# -eq 0 ]; then
    set -- "$root"/fixtures-examples/*/hold/*.svg "$root"/fixtures-examples/drawings/hold/*/
fi
CHROMIUM=$chromium exec node "$root/tests/ci/proof.mjs" "$program" "$@"
