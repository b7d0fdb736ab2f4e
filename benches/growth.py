#!/usr/bin/env python3
"""How time and memory grow: Harbour Hall with one thing changed at a time.

Usage: python3 benches/growth.py PROGRAM [REPEATS]

Prints processor time (user and system, the least of the repeats) and peak resident memory of each run, and both relative to the
first column. Uses the standard library alone. Times of a busy machine are too long; their ratios hold within about a tenth.
"""

import json
import os
import sys
import tempfile
from pathlib import Path

SITE = Path(__file__).resolve().parent.parent / "scenarios" / "harbour_hall.json"
YEAR = 365
DRAWS = 200


def measured(program, arguments):
    """Processor seconds, and peak resident megabytes, of one run of the program."""
    pid = os.fork()
    if pid == 0:
        nothing = os.open(os.devnull, os.O_RDWR)
        for stream in (0, 1, 2):
            os.dup2(nothing, stream)
        os.execv(program, [program, *arguments])
    _, status, used = os.wait4(pid, 0)
    # 1: the site fails by its verdict, which is an answer
    if os.waitstatus_to_exitcode(status) not in (0, 1):
        sys.exit(f"{' '.join(arguments)} ended with {status}")
    return used.ru_utime + used.ru_stime, used.ru_maxrss / 1024


def site(folder, name, changes):
    """The site with keys set, as a file."""
    scenario = json.loads(SITE.read_text())
    scenario["settled_year"] = {"most_years": 1}
    changes(scenario)
    path = Path(folder) / f"{name}.json"
    path.write_text(json.dumps(scenario))
    return str(path)


def days(count):
    return lambda s: s.update(days=count)


def beds(count):
    """So many beds that share the area of the worked ones."""

    def change(s):
        group = s["beds"][0]
        group["area"] = group["area"] * group["count"] / count
        group["count"] = count

    return change


def times(factor):
    """Drums, intake, beds by area, worms and room in step."""

    def change(s):
        s["drums"]["count"] = max(1, round(s["drums"]["count"] * factor))
        s["drums"]["room_volume"] *= factor
        s["drums"]["room_air"] *= factor
        for stream in s["streams"]:
            if "amount" in stream:
                stream["amount"] = f"{float(stream['amount'].split()[0]) * factor} kg/day"
            if "generation" in stream:
                stream["generation"]["count"] *= factor
        s["beds"][0]["area"] *= factor
        s["stock"]["mass"] = f"{float(str(s['stock']['mass']).split()[0]) * factor} kg"
        s["grinder"]["rate"] = f"{float(str(s['grinder']['rate']).split()[0]) * factor} kg/h"

    return change


def unchanged(_):
    pass


def rows(folder):
    """Name of each row, its columns, and the arguments of each run."""

    def runs(name, values, change, arguments):
        return [(value, ["run", site(folder, f"{name}{value}", change(value)), *arguments(value)]) for value in values]

    none = lambda _: []
    drawn = lambda count, threads: ["--draws", str(count), "--seed", "1", "--threads", str(threads)]
    same = lambda _: unchanged
    yield "days", runs("days", [YEAR, 2 * YEAR, 5 * YEAR, 10 * YEAR], days, none)
    yield "beds, each with its turn", runs("beds", [11, 22, 88, 352, 1408], beds, none)
    yield "drums and intake in step", runs("times", [1, 10, 100], times, none)
    yield "draws, 1 thread", runs("draws", [DRAWS // 2, DRAWS, 2 * DRAWS], same, lambda n: drawn(n, 1))
    yield f"threads, {DRAWS} draws", runs("threads", [1, 2, 4], same, lambda n: drawn(DRAWS, n))
    yield "days, 100 draws", runs("long", [YEAR, 2 * YEAR, 4 * YEAR], days, lambda _: drawn(100, 1))


def main():
    program = str(Path(sys.argv[1]).resolve())
    repeats = int(sys.argv[2]) if len(sys.argv) > 2 else 3
    with tempfile.TemporaryDirectory() as folder:
        for name, runs in rows(folder):
            found = []
            for value, arguments in runs:
                tried = [measured(program, arguments) for _ in range(repeats)]
                found.append((value, min(t for t, _ in tried), max(m for _, m in tried)))
            _, time, _ = found[0]
            print(f"{name} | " + " | ".join(str(value) for value, *_ in found))
            print("time | " + " | ".join(f"{t / time:.2f} ({t:.2f} s)" for _, t, _ in found))
            print("MB | " + " | ".join(f"{m:.0f}" for *_, m in found), flush=True)


if __name__ == "__main__":
    main()
