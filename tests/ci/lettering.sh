#!/bin/sh
# Outlined names in faces of general-purpose packages, outlined by other people's tools: what share is
# read, which way up, by face, with the face at hand and without; and every slip against an order list.
#
# Needs Debian's packages fonts-dejavu-core, fonts-dejavu-extra and fonts-liberation (fetched and
# unpacked here where they are not installed: apt-get, dpkg-deb), npm, and Python with venv.
# Prints Markdown. Exit 1 where a target is missed.
#
#   tests/ci/lettering.sh [FOLDER]        FOLDER keeps what was fetched and made; else it is thrown away
set -eu

root=$(cd "$(dirname "$0")/../.." && pwd)
own=$root/tests/ci/lettering
if [ $# -gt 0 ]; then
    mkdir -p "$1"
    work=$(cd "$1" && pwd)
else
    work=$(mktemp -d)
    trap 'rm -rf "$work"' EXIT
fi

[ -x "$work/venv/bin/python" ] || python3 -m venv "$work/venv"
"$work/venv/bin/pip" install --quiet --requirement "$own/requirements.txt"
# Word splitting is meant: one package an argument.
# shellcheck disable=SC2046
npm install --silent --prefix "$work/npm" --ignore-scripts --no-audit --no-fund \
    $(awk '$3 ~ /^@/ { print $3 }' "$own/faces.txt") >"$work/npm.log"

debian=/usr/share/fonts/truetype
if [ ! -f "$debian/dejavu/DejaVuSerif-Bold.ttf" ] ||
    [ ! -f "$debian/liberation/LiberationSerif-Italic.ttf" ]; then
    mkdir -p "$work/deb"
    (cd "$work/deb" && apt-get download fonts-dejavu-core fonts-dejavu-extra fonts-liberation)
    for package in "$work"/deb/*.deb; do
        dpkg-deb -x "$package" "$work/deb/unpacked"
    done
    debian=$work/deb/unpacked/usr/share/fonts/truetype
fi

python=$work/venv/bin/python
mkdir -p "$work/runs"
"$python" "$own/runs.py" "$work/runs" "$debian" "$work/npm"
cargo build --release --quiet --manifest-path "$root/Cargo.toml"
LETTERING=$work/runs cargo test --release --quiet --manifest-path "$root/Cargo.toml" \
    --test lettering -- --ignored >&2
bad=0
"$python" "$own/score.py" "$work/runs" || bad=1
# The built program itself, on faces of each kind.
"$python" "$own/orders.py" "$work/runs" "$root/target/release/jigwarden" \
    "$root/fixtures-examples/hive-tags" dejavu-sans liberation-serif-italic source-sans-3 \
    courier-prime || bad=1
exit $bad
