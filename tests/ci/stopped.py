#!/usr/bin/env python3
"""How soon a hold leaves the cleared folder while nobody takes in what the watch writes.

    tests/ci/stopped.py [--jigwarden target/release/jigwarden]

Four cases: a pipe that nobody reads, a terminal that nobody reads, a terminal stopped by Ctrl-S, and a
terminal that stops programs in the background (`stty tostop`, SIGTTOU). Each is to take less than half a
second on a machine at rest; it ends with status 1 if one does not.
"""

import argparse
import os
import pathlib
import pty
import shutil
import signal
import subprocess
import sys
import tempfile
import termios
import time

HERE = pathlib.Path(__file__).resolve().parents[2]
DEMO = HERE / "fixtures-examples/hive-tags"
CLEAR = (DEMO / "clear/live-lettering.svg").read_text()
HOLD = (DEMO / "hold/past-zone--long-name.svg").read_text()
MOST = 0.5


def wait(what, done):
    """Seconds until `done`."""
    begun = time.monotonic()
    while not done():
        if time.monotonic() - begun > 60:
            raise TimeoutError(what)
        time.sleep(0.002)
    return time.monotonic() - begun


def in_background(command, place, terminal):
    """Runs a command with a terminal of its own, in the background of it."""
    def be_in_background():
        os.setsid()
        import fcntl
        fcntl.ioctl(0, termios.TIOCSCTTY, 0)
        flags = termios.tcgetattr(0)
        flags[3] |= termios.TOSTOP
        termios.tcsetattr(0, termios.TCSANOW, flags)
        # The session's leader stays in the foreground; the watch goes into a group of its own.
        if os.fork():
            # Whoever started it waits for this one to let go of its files.
            os.closerange(3, 256)
            while True:
                time.sleep(3600)
        os.setpgid(0, 0)
    return subprocess.Popen(command, cwd=place, stdin=terminal, stdout=terminal,
                            stderr=subprocess.DEVNULL, preexec_fn=be_in_background)


def measured(case, jigwarden):
    with tempfile.TemporaryDirectory() as name:
        place = pathlib.Path(name)
        for file in ("fixture.toml", "fixture.svg", "fixture.lock.json"):
            shutil.copy(DEMO / file, place / file)
        runs, cleared = place / "runs", place / "cleared"
        runs.mkdir()
        (runs / "a.svg").write_text(CLEAR)
        # Enough to say to fill a pipe (64 KiB) or a terminal.
        for n in range(300):
            (runs / f"{n:03}{'x' * 200}.svg").write_text("<svg")
        command = [jigwarden, "watch", "runs", "--cleared", "cleared"]
        ends = []
        if case == "pipe":
            ends = list(os.pipe())
            watch = subprocess.Popen(command, cwd=place, stdout=ends[1])
        else:
            ends = list(pty.openpty())
            if case == "background":
                watch = in_background(command, place, ends[1])
            else:
                watch = subprocess.Popen(command, cwd=place, stdin=subprocess.DEVNULL, stdout=ends[1])
            if case == "ctrl-s":
                termios.tcflow(ends[1], termios.TCOOFF)
        try:
            copy = cleared / "a.svg"
            wait("there was never a copy", copy.exists)
            # All are told by now, as far as anybody listens.
            time.sleep(8)
            times = []
            for n in range(5):
                (runs / "a.svg").write_text(HOLD + f"<!-- {n} -->")
                times.append(wait("it never left", lambda: not copy.exists()))
                (runs / "a.svg").write_text(CLEAR + f"<!-- {n} -->")
                wait("it never came back", copy.exists)
            return max(times)
        finally:
            if case == "background":
                children = subprocess.run(["ps", "-o", "pid=", "--ppid", str(watch.pid)],
                                          capture_output=True, text=True).stdout.split()
                for child in children:
                    os.kill(int(child), signal.SIGKILL)
            watch.kill()
            watch.wait()
            for end in ends:
                os.close(end)


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--jigwarden", default=str(HERE / "target/release/jigwarden"))
    args = parser.parse_args()
    jigwarden = str(pathlib.Path(args.jigwarden).resolve())
    good = True
    for case, words in [
        ("pipe", "a pipe that nobody reads"),
        ("terminal", "a terminal that nobody reads"),
        ("ctrl-s", "a terminal stopped by Ctrl-S"),
        ("background", "a terminal that stops the background"),
    ]:
        try:
            took = measured(case, jigwarden)
            good &= took < MOST
            print(f"{words}: the slowest of 5 left after {took:.3f} s", flush=True)
        except TimeoutError as why:
            good = False
            print(f"{words}: {why}", flush=True)
    sys.exit(0 if good else 1)


if __name__ == "__main__":
    main()
