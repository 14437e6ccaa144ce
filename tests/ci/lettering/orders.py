"""The built program against an order list: every planted slip is found, and what agrees passes."""

import json
import os
import subprocess
import sys
import unicodedata

import outline
from runs import HIGH, PLACES, WIDE, write

LISTED = (
    "Zoë Bartholomew Margaret José Ida Florian Gwendolyn Renée Kit Thomas Josefina Björn".split()
)

# What is planted, what is then on the tags, what is on the list, and the rules that must hold; the
# pocket must be among those named where one is given.
PLANTED = {
    "agrees": (LISTED, LISTED, set()),
    "agrees, list decomposed": (LISTED, [unicodedata.normalize("NFD", n) for n in LISTED], set()),
    "agrees, in capitals": ([n.upper() for n in LISTED], LISTED, set()),
    "missing": (LISTED[:11], LISTED, {"name-missing"}),
    "extra": (LISTED, LISTED[:11], {"name-extra"}),
    "twice": (LISTED[:11] + ["Thomas"], LISTED, {"name-twice", "name-missing"}),
    "twice, the list complete": (LISTED[:11] + ["Thomas"], LISTED[:11], {"name-twice"}),
    "placeholder": (LISTED[:11] + ["NAME"], LISTED[:11], {"name-placeholder"}),
    "one letter off": (LISTED[:9] + ["Tomas"] + LISTED[10:], LISTED, {"name-missing"}),
    "one letter for another": (["Zoé"] + LISTED[1:], LISTED, {"name-missing"}),
    "two letters swapped": (LISTED[:2] + ["Margraet"] + LISTED[3:], LISTED, {"name-missing"}),
    "accent lost": (LISTED[:11] + ["Bjorn"], LISTED, {"name-missing"}),
}

# What the message must say of a likely slip.
SAYS = {
    "one letter off": ["Tomas", "Thomas"],
    "two letters swapped": ["Margraet", "Margaret"],
    "accent lost": ["Bjorn", "Björn", "accents"],
    "one letter for another": ["Zoé", "Zoë", "accents"],
}


def main(work, program, fixture, faces):
    # A home without fonts and caches of its own.
    empty = os.path.join(work, "home")
    os.makedirs(empty, exist_ok=True)
    environment = dict(os.environ, HOME=empty, XDG_CACHE_HOME=empty, XDG_DATA_HOME=empty)
    bad = 0
    for name in faces:
        fonts = os.path.join(work, "fonts", name)
        face = outline.Face(os.path.join(fonts, name + ".ttf"))
        for what, (tags, listed, rules) in PLANTED.items():
            paths = [
                face.outlined(word, WIDE, HIGH, place, whole=n % 2 == 0)
                for n, (word, place) in enumerate(zip(tags, PLACES))
            ]
            slug = "orders-" + what.replace(" ", "-").replace(",", "")
            run = write(work, slug, paths)
            orders = os.path.join(work, slug + ".csv")
            with open(orders, "w", encoding="utf-8", newline="") as out:
                out.write("Name\r\n" + "".join(f"{n}\r\n" for n in listed))
            done = subprocess.run(
                [program, "inspect", run, "--fixture", fixture, "--fonts", fonts,
                 "--names", orders, "--column", "Name", "--format", "json"],
                capture_output=True, env=environment, encoding="utf-8",
            )
            findings = json.loads(done.stdout)["runs"][0]["findings"]
            held = [f for f in findings if f["severity"] == "hold"]
            messages = " ".join(f["message"] for f in held)
            good = {f["rule"] for f in held} == rules and done.returncode == (1 if rules else 0)
            good &= all(word in messages for word in SAYS.get(what, []))
            bad += not good
            print(f"| {name} | {what} | {'found' if rules else 'clear'} |" if good
                  else f"| {name} | {what} | WRONG: exit {done.returncode}: {messages} {done.stderr} |")
    return 1 if bad else 0


if __name__ == "__main__":
    print("\n## Order list\n\n| face | planted | |\n|---|---|---|")
    sys.exit(main(*sys.argv[1:4], sys.argv[4:]))
