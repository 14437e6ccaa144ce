"""The built program on the planned runs: does it hold the same pockets as the test that took notes?"""

import json
import os
import subprocess
import sys

from score import LIES

# Files in one call: a command line holds no more than so many names.
AT_ONCE = 200


def main(work, program, fixture):
    # A home without fonts and caches of its own.
    empty = os.path.join(work, "home")
    os.makedirs(empty, exist_ok=True)
    environment = dict(os.environ, HOME=empty, XDG_CACHE_HOME=empty, XDG_DATA_HOME=empty)
    with open(os.path.join(work, "seen.json"), encoding="utf-8") as file:
        noted = {
            os.path.basename(a["run"]): {(rule, p) for rule, p, _ in a["held"] if rule in LIES}
            for a in json.load(file)
            if not a["fonts"]
        }
    files = [os.path.join(work, name) for name in noted]
    told = {}
    for start in range(0, len(files), AT_ONCE):
        done = subprocess.run(
            [program, "inspect", *files[start:start + AT_ONCE], "--fixture", fixture,
             "--format", "json"],
            capture_output=True, env=environment, encoding="utf-8", check=False,
        )
        if done.returncode not in (0, 1):
            raise SystemExit(f"exit {done.returncode}: {done.stderr}")
        for run in json.loads(done.stdout)["runs"]:
            told[os.path.basename(run["file"])] = {
                (f["rule"], f["pocket"])
                for f in run["findings"]
                if f["severity"] == "hold" and f["rule"] in LIES
            }
    differ = [name for name in noted if told.get(name) != noted[name]]
    for name in differ:
        print(f"- {name}: the program holds {told.get(name)}, the test noted {noted[name]}")
    print(f"\nthe built program holds the same in {len(noted) - len(differ)} of {len(noted)} runs")
    return 1 if differ else 0


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
