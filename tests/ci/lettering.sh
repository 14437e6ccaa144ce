#!/bin/sh
# Outlined names in faces of general-purpose packages, outlined by other people's tools: what share is
# read, which way up, by face, with the face at hand and without; and every slip against an order list.
#
#   tests/ci/lettering.sh [FOLDER]
#       twelve faces, each at hand and away; then the order lists
#   tests/ci/lettering.sh unseen [FOLDER [SPLIT [TIMES]]]
#       the faces of SPLIT (test; validation or train) that @fontsource packages hold, all away: ten
#       batches of twelve names a face, TIMES (1) over, five with one name half turned and five mirrored
#
#   tests/ci/lettering.sh table [FOLDER [TIMES [WHAT [SPLIT]]]]
#       the table of what is found, named, passed over and wrongly held: styles of lettering by cases, names
#       that read in two ways, other scripts, art that is no lettering, such art among names; TIMES (90) runs a
#       style, script, or kind of art; WHAT is styles, again, scripts, art or among, else all of them; SPLIT
#       (test, or validation) is that of the styles' faces
#
# FOLDER keeps what was fetched and made; else it is thrown away. Needs npm, Python with venv, and, for
# the first, Debian's packages fonts-dejavu-core, fonts-dejavu-extra and fonts-liberation (fetched and
# unpacked here where they are not installed: apt-get, dpkg-deb).
# Prints Markdown. Exit 1 where a target is missed.
set -eu

root=$(cd "$(dirname "$0")/../.." && pwd)
own=$root/tests/ci/lettering
program=${CARGO_TARGET_DIR:-$root/target}/release/jigwarden
what=both
times=1
if [ "${1-}" = unseen ]; then
    what=${3-test}
    times=${4-1}
    shift
fi
if [ "${1-}" = table ]; then
    what=table
    times=${3-90}
    part=${4-all}
    split=${5-test}
    shift
fi
if [ $# -gt 0 ]; then
    mkdir -p "$1"
    work=$(cd "$1" && pwd)
else
    work=$(mktemp -d)
    trap 'rm -rf "$work"' EXIT
fi

[ -x "$work/venv/bin/python" ] || python3 -m venv "$work/venv"
"$work/venv/bin/pip" install --quiet --requirement "$own/requirements.txt"
if [ "$what" = both ]; then
    packages=$(awk '$3 ~ /^@/ { print $3 }' "$own/faces.txt")
elif [ "$what" = table ]; then
    packages=$(awk -F '\t' -v split_="$split" '/^@/ && $4 == split_ { print $1 }' \
        "$root/tests/training/faces.txt")
    packages="$packages @fontsource/manufacturing-consent@5.3.0"
else
    packages=$(awk -F '\t' -v split_="$what" '/^@/ && $4 == split_ { print $1 }' \
        "$root/tests/training/faces.txt")
fi
# Word splitting is meant: one package an argument.
# shellcheck disable=SC2086
npm install --silent --prefix "$work/npm" --ignore-scripts --no-audit --no-fund \
    $packages >"$work/npm.log"

debian=/usr/share/fonts/truetype
if [ "$what" = both ] && { [ ! -f "$debian/dejavu/DejaVuSerif-Bold.ttf" ] ||
    [ ! -f "$debian/liberation/LiberationSerif-Italic.ttf" ]; }; then
    mkdir -p "$work/deb"
    (cd "$work/deb" && apt-get download fonts-dejavu-core fonts-dejavu-extra fonts-liberation)
    for package in "$work"/deb/*.deb; do
        dpkg-deb -x "$package" "$work/deb/unpacked"
    done
    debian=$work/deb/unpacked/usr/share/fonts/truetype
fi

python=$work/venv/bin/python
mkdir -p "$work/runs"
if [ "$what" = table ]; then
    if [ ! -d "$work/deb/noto" ]; then
        mkdir -p "$work/deb"
        (cd "$work/deb" && apt-get download fonts-noto-core && dpkg-deb -x fonts-noto-core_*.deb noto)
    fi
    cargo build --release --quiet --manifest-path "$root/Cargo.toml"
    "$python" "$own/cases.py" "$work/runs" "$work/deb/noto" "$work/npm" "$times" "$part" "$split"
    "$python" "$own/table.py" "$work/runs" "$program" \
        "$root/fixtures-examples/hive-tags"
    exit
fi
"$python" "$own/runs.py" "$what" "$work/runs" "$debian" "$work/npm" "$times"
cargo build --release --quiet --manifest-path "$root/Cargo.toml"
LETTERING=$work/runs cargo test --release --quiet --manifest-path "$root/Cargo.toml" \
    --test all lettering -- --ignored >&2
bad=0
if [ "$what" = both ]; then
    "$python" "$own/score.py" "$work/runs" || bad=1
    # The built program itself, on faces of each kind.
    "$python" "$own/orders.py" "$work/runs" "$program" \
        "$root/fixtures-examples/hive-tags" dejavu-sans liberation-serif-italic source-sans-3 \
        courier-prime || bad=1
else
    "$python" "$own/unseen.py" "$work/runs" || bad=1
    "$python" "$own/program.py" "$work/runs" "$program" \
        "$root/fixtures-examples/hive-tags" || bad=1
fi
exit $bad
