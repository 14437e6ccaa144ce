"""The program beside the plain Python script: verdicts on every example, and time.

    compare.py PROGRAM EXAMPLES [BIG-RUN]

Times are of whole processes, the processor's and not the clock's, so that other work on the machine
matters little; the smallest of three.
"""

import json
import resource
import subprocess
import sys
from pathlib import Path

HERE = Path(__file__).parent


def run(command):
    """Output, processor seconds, largest memory in MB so far."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    done = subprocess.run(command, capture_output=True, text=True)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    took = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    if done.returncode > 1:
        sys.exit(f"{' '.join(map(str, command))}: {done.stderr}")
    return done.stdout, took


def timed(command):
    runs = [run(command) for _ in range(3)]
    return runs[0][0], min(took for _, took in runs)


def main():
    program, examples = sys.argv[1], Path(sys.argv[2])
    total = {"program": [0, 0, 0.0], "python": [0, 0, 0.0]}
    held = cleared = 0
    for fixture in sorted(p.parent for p in examples.glob("*/fixture.lock.json")):
        clear = sorted((fixture / "clear").glob("*.svg"))
        hold = sorted(
            f for f in (fixture / "hold").glob("*.svg") if not f.with_suffix(".args").exists()
        )
        held, cleared = held + len(hold), cleared + len(clear)
        files = [str(f) for f in clear + hold]
        out, ours = timed([program, "inspect", "--fixture", str(fixture), "--format", "json", *files])
        verdicts = {r["file"]: r["verdict"] for r in json.loads(out)["runs"]}
        out, theirs = timed([sys.executable, str(HERE / "checks.py"), str(fixture), *files])
        plain = {}
        for line in out.splitlines():
            word, file = line.split(" ")[:2]
            plain[file] = word.lower()
        for name, verdict, took in (("program", verdicts, ours), ("python", plain, theirs)):
            total[name][0] += sum(verdict[str(f)] == "hold" for f in hold)
            total[name][1] += sum(verdict[str(f)] == "hold" for f in clear)
            total[name][2] += took
    print(f"{held} runs that must be held, {cleared} that must not:")
    for name in ("program", "python"):
        found, cried, took = total[name]
        print(f"  {name:8} holds {found:3} of {held}, cries wolf on {cried} of {cleared}, {took:.2f} s")
    print(f"  python takes {total['python'][2] / total['program'][2]:.1f} times as long")
    for big in map(Path, sys.argv[3:]):
        fixture = big.parent
        _, ours = timed([program, "inspect", "-q", "--fixture", str(fixture), str(big)])
        _, theirs = timed([sys.executable, str(HERE / "checks.py"), str(fixture), str(big)])
        size = big.stat().st_size / 1e6
        print(f"{big.name}, {size:.1f} MB: program {ours:.2f} s, python {theirs:.2f} s, {theirs / ours:.1f} times")


if __name__ == "__main__":
    main()
