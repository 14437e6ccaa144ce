#!/bin/sh
# Checks SARIF output against the published schema: the snapshot of the report's tests, and every
# file named on the command line.
#
# The schema comes from the npm package below, which ships it as published (SARIF 2.1.0, errata
# "rtm.5", JSON Schema draft 4). Needs npm, and Python with `jsonschema`.
#
#   tests/ci/sarif.sh [FILE.sarif ...]
set -eu

package=@microsoft/jest-sarif@1.0.0-beta.0
schema=package/lib/schemas/sarif-2.1.0-rtm.5.json
digest=2d99159ae54a3eea97f81781cff48780548657c35949f4b7f25e99a2ba4de4f8

root=$(cd "$(dirname "$0")/../.." && pwd)
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT

tarball=$(npm pack --silent --pack-destination "$work" "$package" | tail -n 1)
tar -xzf "$work/$tarball" -C "$work" "$schema"
echo "$digest  $work/$schema" | sha256sum --check --quiet

# A snapshot is a head between two lines of dashes, the first line being one of them, then the text.
sed '1,/^---$/d' "$root/tests/report/snapshots/report__sarif__as_published.snap" >"$work/snapshot.sarif"

python3 - "$work/$schema" "$work/snapshot.sarif" "$@" <<'PYTHON'
import json
import sys

import jsonschema

with open(sys.argv[1], encoding="utf-8") as file:
    schema = json.load(file)
checker = jsonschema.Draft4Validator(schema, format_checker=jsonschema.Draft4Validator.FORMAT_CHECKER)

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
sys.exit(1 if bad else 0)
PYTHON
