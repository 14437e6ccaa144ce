#!/bin/sh
# The program beside a plain Python script that does the five main checks: verdicts on every example,
# and time.
#
# Needs python 3.11 or later with venv, PyPI, and the program in target/release (or JIGWARDEN).
#
#   tests/ci/python.sh [BIG-RUN.svg beside its fixture.toml]
set -eu

root=$(cd "$(dirname "$0")/../.." && pwd)
program=${JIGWARDEN:-$root/target/release/jigwarden}
venv=${VENV:-$root/target/plain-python}
[ -x "$venv/bin/python" ] || python3 -m venv "$venv"
"$venv/bin/pip" install -q svgelements==1.9.6 shapely==2.2.0
cd "$root"
exec "$venv/bin/python" tests/outside/plain_python/compare.py "$program" fixtures-examples "$@"
