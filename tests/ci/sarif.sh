#!/bin/sh
# Checks SARIF output against the published schema: what `inspect --format sarif` says of every example,
# and every file named on the command line. Ends with status 1 where something is not valid, with
# status 3 where a tool is missing.
#
# The schema is the OASIS one of SARIF 2.1.0. It comes from the crate below, which ships it beside its
# own code. Needs cargo, and Python with `jsonschema` (taken from PyPI into a scratch environment where
# it is not at hand). The program is target/debug/jigwarden, or JIGWARDEN.
#
#   tests/ci/sarif.sh [FILE.sarif ...]
set -eu

crate=serde-sarif version=0.8.0
digest=af47e7b67f24efe74076621fd3a5fbe7398add9e84fe820c971219a385895cea

root=$(cd "$(dirname "$0")/../.." && pwd)
for tool in cargo python3; do
    if ! command -v "$tool" >/dev/null; then
        echo "tests/ci/sarif.sh: $tool is not on this machine, so nothing was checked" >&2
        exit 3
    fi
done
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT

python=python3
if ! "$python" -c 'import jsonschema' 2>/dev/null; then
    python3 -m venv "$work/venv"
    python=$work/venv/bin/python
    "$python" -m pip --quiet --disable-pip-version-check install 'jsonschema==4.23.0'
fi

program=${JIGWARDEN:-$root/target/debug/jigwarden}
if [ -z "${JIGWARDEN:-}" ]; then
    cargo build --quiet --manifest-path "$root/Cargo.toml" --bin jigwarden
fi

schema=$work/vendor/$crate/src/schema.json
cargo init --quiet --vcs none --name schema "$work/schema"
(cd "$work/schema" && cargo add --quiet "$crate@=$version" && cargo vendor --quiet "$work/vendor" >/dev/null)
echo "$digest  $schema" | sha256sum --check --quiet

# Every example by itself, since some come with options of their own; and all of one folder in one log.
mkdir "$work/logs"
said() { # log, expected statuses, arguments
    log=$1 expected=$2
    shift 2
    status=0
    "$program" inspect --format sarif "$@" >"$log" || status=$?
    case " $expected " in
    *" $status "*) ;;
    *)
        echo "inspect $* ended with $status" >&2
        exit 1
        ;;
    esac
}
for run in "$root"/fixtures-examples/*/clear/*.svg "$root"/fixtures-examples/*/hold/*.svg \
    "$root"/fixtures-examples/*/look/*.svg; do
    cd "$(dirname "$run")"
    name=$(basename "$run" .svg)
    fixture=$(basename "$(dirname "$(dirname "$run")")")
    expected=0
    [ "$(basename "$(dirname "$run")")" = hold ] && expected=1
    # Words of the file of arguments, each a word: none of them holds a space.
    args=
    [ -f "$name.args" ] && args=$(cat "$name.args")
    # shellcheck disable=SC2086
    said "$work/logs/$fixture--$name.sarif" "$expected" $args "$name.svg"
done
cd "$root"
said "$work/logs/all--hive-tags.sarif" 1 fixtures-examples/hive-tags

status=0
"$python" - "$schema" "$work"/logs/*.sarif "$@" <<'PYTHON' || status=$?
import json
import sys

import jsonschema

with open(sys.argv[1], encoding="utf-8") as file:
    schema = json.load(file)
checker = jsonschema.Draft7Validator(schema, format_checker=jsonschema.Draft7Validator.FORMAT_CHECKER)

# A check that lets anything pass is none.
broken = {"version": "2.1.0", "runs": [{"tool": {"driver": {}}}]}
if checker.is_valid(broken):
    sys.exit("the schema accepts a tool without a name: it was not applied")

bad = 0
for name in sys.argv[2:]:
    with open(name, encoding="utf-8") as file:
        log = json.load(file)
    for error in checker.iter_errors(log):
        bad += 1
        print(f"{name}: {'/'.join(map(str, error.absolute_path))}: {error.message[:300]}")
    # What the schema cannot say: indices point at what they name.
    for run in log["runs"]:
        for result in run["results"]:
            index = result.get("ruleIndex")
            if index is not None and run["tool"]["driver"]["rules"][index]["id"] != result["ruleId"]:
                bad += 1
                print(f"{name}: ruleIndex {index} is not {result['ruleId']}")
            for place in result["locations"]:
                location = place["physicalLocation"]["artifactLocation"]
                if run["artifacts"][location["index"]]["location"]["uri"] != location["uri"]:
                    bad += 1
                    print(f"{name}: artifact {location['index']} is not {location['uri']}")
    print(f"{name.rsplit('/', 1)[-1]}: {sum(len(run['results']) for run in log['runs'])} results")
print(f"{len(sys.argv) - 2} logs: {'valid' if not bad else f'{bad} complaints'}")
sys.exit(1 if bad else 0)
PYTHON
exit "$status"
