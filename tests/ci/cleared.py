#!/usr/bin/env python3
"""The cleared folder under a watch that is killed again and again.

    tests/ci/cleared.py [--kills 300] [--seed 1] [--jigwarden target/release/jigwarden]

Files are saved in 25 ways while the watch is killed (SIGKILL): at random, and at each system call that
changes the folder (through strace, which must be installed). Another process reads the cleared folder
without a pause all the while. It ends with status 1 if any artwork there was ever anything but the whole
of a clear run, or if the folder is not exactly right once the last watch has come to rest.
"""

import argparse
import gzip
import mmap
import multiprocessing
import os
import pathlib
import random
import re
import shutil
import signal
import subprocess
import sys
import tempfile
import time

HERE = pathlib.Path(__file__).resolve().parents[2]
DEMO = HERE / "fixtures-examples/hive-tags"
CLEAR = (DEMO / "clear/live-lettering.svg").read_text()
HOLD = (DEMO / "hold/past-zone--long-name.svg").read_text()
NUMBER = re.compile(r"<!-- save \d{6} -->\n")

# Each group holds the names that one change has on different systems.
CHANGES = [
    "rename,renameat,renameat2",
    "unlink,unlinkat",
    "mkdir,mkdirat",
    "rmdir",
    "link,linkat",
    "fsync,fdatasync",
    "write",
    "openat",
]
# Calls of these are many and mostly concern other files: a few hundred places among them.
MANY = {"write": 7, "openat": 13}


def numbered(base, number):
    # Equal lengths: a change of the contents alone must be noticed.
    return f"{base}<!-- save {number:06d} -->\n"


def is_clear(data):
    if data[:2] == b"\x1f\x8b":
        try:
            data = gzip.decompress(data)
        except (OSError, EOFError):
            return False
    text = data.decode("utf-8", "replace")
    return text.startswith(CLEAR) and NUMBER.fullmatch(text[len(CLEAR):]) is not None


def artwork(folder):
    for place, folders, files in os.walk(folder):
        folders[:] = [f for f in folders if not f.startswith(".")]
        for name in files:
            if name.lower().endswith((".svg", ".svgz")) and not name.startswith("."):
                yield pathlib.Path(place) / name


def poll(folder, end, counts, wrong):
    while not end.is_set():
        for path in artwork(folder):
            try:
                data = path.read_bytes()
            except OSError:
                continue
            counts[0] += 1
            if not is_clear(data):
                wrong.append((str(path), len(data), data[-60:]))
        counts[1] += 1
        time.sleep(0.0005)


class Shop:
    """Saves of all kinds. `wanted` is what each run holds, where that matters at the end."""

    NAMES = ["a.svg", "b.svg", "monday/a.svg", "monday/c.svg", "d.SVG", "e.svgz"]

    def __init__(self, place, dice):
        self.place, self.dice, self.number = place, dice, 0
        self.runs, self.cleared = place / "runs", place / "cleared"
        self.outside = place / "outside"
        for folder in (self.runs / "monday", self.outside):
            folder.mkdir(parents=True)
        for file in ("fixture.toml", "fixture.svg", "fixture.lock.json"):
            shutil.copy(DEMO / file, place / file)
        self.kinds = sorted(k for k in dir(self) if k.startswith("save_"))

    def bytes(self, name, clear):
        self.number += 1
        data = numbered(CLEAR if clear else HOLD, self.number).encode()
        return gzip.compress(data) if name.endswith("z") else data

    def any(self):
        path = self.runs / self.dice.choice(self.NAMES)
        path.parent.mkdir(exist_ok=True)
        if path.is_dir() and not path.is_symlink():
            shutil.rmtree(path)
        return path, self.bytes(path.name, self.dice.random() < 0.6)

    def present(self):
        path, data = self.any()
        if not path.exists():
            path.unlink(missing_ok=True)
            path.write_bytes(data)
        return path, self.bytes(path.name, self.dice.random() < 0.6)

    def save(self):
        kind = self.dice.choice(self.kinds)
        getattr(self, kind)()
        return kind

    def save_01_in_place(self):
        path, data = self.any()
        path.write_bytes(data)

    def save_02_in_pieces(self):
        path, data = self.any()
        with open(path, "wb") as file:
            for start in range(0, len(data), len(data) // 4 + 1):
                file.write(data[start:start + len(data) // 4 + 1])
                file.flush()
                time.sleep(0.015)

    def save_03_beside_and_renamed(self):
        path, data = self.any()
        beside = path.with_name(path.name + ".tmp")
        beside.write_bytes(data)
        os.replace(beside, path)

    def save_04_old_one_kept_as_backup(self):
        path, data = self.present()
        os.replace(path, str(path) + "~")
        path.write_bytes(data)

    def save_05_cut_to_nothing_first(self):
        path, data = self.present()
        os.truncate(path, 0)
        time.sleep(0.01)
        path.write_bytes(data)

    def save_06_more_added_at_the_end(self):
        path, _ = self.present()
        with open(path, "ab") as file:
            file.write(b"<g/>")

    def save_07_old_date_set_back(self):
        path, data = self.present()
        about = path.stat()
        path.write_bytes(data)
        os.utime(path, ns=(about.st_atime_ns, about.st_mtime_ns))

    def save_08_copied_with_its_old_date(self):
        path, data = self.any()
        other = self.outside / "old"
        other.write_bytes(data)
        os.utime(other, (1e9, 1e9))
        shutil.copy2(other, path)

    def save_09_moved_in_with_its_old_date(self):
        path, data = self.any()
        other = self.outside / "moved"
        other.write_bytes(data)
        os.utime(other, (1e9, 1e9))
        os.replace(other, path)

    def save_10_through_a_link(self):
        path, data = self.any()
        real = self.outside / ("real-" + path.name)
        real.write_bytes(data)
        path.unlink(missing_ok=True)
        path.symlink_to(real)
        time.sleep(0.1)
        real.write_bytes(self.bytes(path.name, self.dice.random() < 0.5))

    def save_11_through_another_name(self):
        path, data = self.present()
        other = self.outside / "hard"
        other.unlink(missing_ok=True)
        os.link(path.resolve(), other)
        other.write_bytes(data)

    def save_12_mapped(self):
        path, data = self.present()
        about = path.stat()
        if about.st_size:
            with open(path, "r+b") as file, mmap.mmap(file.fileno(), 0) as memory:
                size = min(len(data), about.st_size)
                memory[:size] = data[:size]

    def save_13_deleted(self):
        path, _ = self.present()
        path.unlink()

    def save_14_deleted_and_made_anew(self):
        path, data = self.present()
        path.unlink()
        path.write_bytes(data)

    def save_15_renamed_away_and_back(self):
        path, _ = self.present()
        away = path.with_name(path.name + ".away")
        os.replace(path, away)
        time.sleep(0.03)
        os.replace(away, path)

    def save_16_two_swapped(self):
        first, second = self.runs / "a.svg", self.runs / "b.svg"
        if first.is_file() and second.is_file():
            spare = self.runs / "spare"
            os.replace(first, spare)
            os.replace(second, first)
            os.replace(spare, second)

    def save_17_another_run_over_it(self):
        first, second = self.runs / "a.svg", self.runs / "b.svg"
        if first.is_file():
            os.replace(first, second)

    def save_18_folder_moved_out_and_back(self):
        monday, away = self.runs / "monday", self.outside / "monday"
        if monday.is_dir():
            os.rename(monday, away)
            time.sleep(0.05)
            os.rename(away, monday)

    def save_19_new_folder(self):
        shutil.rmtree(self.runs / "tuesday", ignore_errors=True)
        (self.runs / "tuesday").mkdir()
        (self.runs / "tuesday/t.svg").write_bytes(self.bytes("t.svg", self.dice.random() < 0.6))

    def save_20_touched(self):
        path, _ = self.present()
        path.touch()

    def save_21_rights_changed(self):
        path, _ = self.present()
        path.chmod(self.dice.choice([0o600, 0o644]))

    def save_22_nothing_in_it(self):
        path, _ = self.any()
        path.write_bytes(b"")

    def save_23_half_of_it(self):
        path, data = self.any()
        path.write_bytes(data[:len(data) // 2])

    def save_24_a_folder_in_its_place(self):
        path, data = self.any()
        path.unlink(missing_ok=True)
        path.mkdir()
        time.sleep(0.02)
        path.rmdir()
        path.write_bytes(data)

    def save_25_the_fixture_changed_and_put_back(self):
        toml = self.place / "fixture.toml"
        text = toml.read_text()
        toml.write_text(text.replace('margin = "2 mm"', 'margin = "14 mm"'))
        time.sleep(0.1)
        toml.write_text(text)


class Harness:
    def __init__(self, args, place):
        self.args, self.dice = args, random.Random(args.seed)
        self.shop = Shop(place, self.dice)
        self.kills, self.saves, self.kinds = {"random": 0}, 0, set()
        self.next = {change: 1 for change in CHANGES}
        self.said = open(place / "said", "wb")

    def command(self, polls):
        more = ["--poll", "0.2"] if polls else []
        return [self.args.jigwarden, "watch", "runs", "--cleared", "cleared", *more]

    def start(self, change=None):
        command = self.command(self.dice.random() < 0.3)
        if change:
            when = self.next[change]
            self.next[change] += MANY.get(change, 1)
            known = ",".join("?" + name for name in change.split(","))
            # Without --seccomp-bpf: strace 6.1 injects nothing with it.
            command = [
                "strace", "-f", "-qq", "-o", "/dev/null", "-e", "trace=" + known,
                "-e", f"inject={known}:signal=KILL:when={when}", *command,
            ]
        return subprocess.Popen(command, cwd=self.shop.place, stdout=self.said, stderr=self.said)

    def life(self):
        """One watch from its start to its end; what killed it, if anything did."""
        change = self.dice.choice([None] * len(CHANGES) + CHANGES)
        watch = self.start(change)
        end = time.monotonic() + self.dice.uniform(0.2, 1.2)
        while watch.poll() is None and (change or time.monotonic() < end):
            self.kinds.add(self.shop.save())
            self.saves += 1
            time.sleep(self.dice.uniform(0.0, 0.12))
            if change and time.monotonic() > end + 1.0:
                break
        if watch.poll() is None:
            if change:
                # It did not come that far: the count begins anew.
                self.next[change] = 1
                stop_all(watch)
                return None
            watch.kill()
        watch.wait()
        return change or "random"

    def run(self):
        while sum(self.kills.values()) < self.args.kills:
            killed = self.life()
            if killed:
                self.kills[killed] = self.kills.get(killed, 0) + 1
                done = sum(self.kills.values())
                if done % 20 == 0:
                    print(f"{done} kills, {self.saves} saves", flush=True)

    def rest(self):
        """Whether the folder comes to hold exactly the clear runs."""
        watch = self.start()
        try:
            right, end = 0, time.monotonic() + 60
            while time.monotonic() < end and right < 5:
                time.sleep(0.5)
                want = {
                    p.relative_to(self.shop.runs): p.read_bytes()
                    for p in artwork(self.shop.runs)
                    if p.is_file() and is_clear(p.read_bytes())
                }
                have = {p.relative_to(self.shop.cleared): p.read_bytes() for p in artwork(self.shop.cleared)}
                right = right + 1 if want == have else 0
            return right >= 5, sorted(map(str, want)), sorted(map(str, have))
        finally:
            watch.send_signal(signal.SIGTERM)
            watch.wait()


def stop_all(tracer):
    """Ends a traced watch: its tracer ends with it."""
    children = subprocess.run(["ps", "-o", "pid=", "--ppid", str(tracer.pid)], capture_output=True, text=True)
    for child in children.stdout.split():
        try:
            os.kill(int(child), signal.SIGKILL)
        except ProcessLookupError:
            pass
    tracer.wait()


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--kills", type=int, default=300)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--jigwarden", default=str(HERE / "target/release/jigwarden"))
    args = parser.parse_args()
    args.jigwarden = str(pathlib.Path(args.jigwarden).resolve())
    if not shutil.which("strace"):
        sys.exit("strace is not installed")
    with tempfile.TemporaryDirectory() as place, multiprocessing.Manager() as manager:
        harness = Harness(args, pathlib.Path(place))
        end, wrong = multiprocessing.Event(), manager.list()
        counts = multiprocessing.Array("q", 2)
        poller = multiprocessing.Process(target=poll, args=(harness.shop.cleared, end, counts, wrong))
        poller.start()
        try:
            harness.run()
        finally:
            end.set()
            poller.join()
        right, want, have = harness.rest()
        for what, count in sorted(harness.kills.items()):
            print(f"  {count:4} killed at {what}")
        print(f"{sum(harness.kills.values())} kills, {harness.saves} saves of {len(harness.kinds)} kinds; "
              f"{counts[0]} copies read in {counts[1]} looks, {len(wrong)} wrong")
        for one in wrong[:10]:
            print("  wrong:", one)
        if right:
            print(f"at rest: exactly the {len(want)} clear runs")
        else:
            print(f"at rest: wanted {want}, found {have}")
        sys.exit(0 if right and not wrong else 1)


if __name__ == "__main__":
    main()
