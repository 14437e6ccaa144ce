#!/bin/sh
# Fetches the packages that hold the faces of faces.txt, and that of the other scripts, and unpacks each into
# FOLDER/package@version. Wants npm, pip, apt-get and dpkg-deb; Debian versions are those of Debian 12.
#     sh fetch.sh FOLDER
set -eu
faces=$(cd "$(dirname "$0")" && pwd)/faces.txt
mkdir -p "$1/.fetched" && cd "$1"
{ grep -v '^#' "$faces" | cut -f 1; echo fonts-noto-core@20201225-1; } | sort -u > .fetched/packages
list=.fetched/packages
npm install --prefix .fetched --ignore-scripts --no-audit --no-fund $(grep '^@' "$list")
for package in $(grep '^@' "$list"); do
    name=${package%@*}
    cp -r ".fetched/node_modules/$name" "$(echo "$package" | tr / +)"
done
for package in $(grep -E '^(trdg|deckr-fonts)@' "$list"); do
    pip download --no-deps -d .fetched "${package%@*}==${package#*@}"
    python3 -m zipfile -e .fetched/"$(echo "${package%@*}" | tr - _)"-*.whl "$package"
done
for package in $(grep -E '^(fonts-|texlive-)' "$list"); do
    (cd .fetched && apt-get download "${package%@*}=${package#*@}")
    dpkg-deb -x .fetched/"${package%@*}"_*.deb "$package"
done
