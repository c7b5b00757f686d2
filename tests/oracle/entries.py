"""Entries of the tables that orders are sought on, each driven again.

    python tests/oracle/entries.py --dump PATH [--jobs 10] [--picks 22] [--samples DIR] [--seed N]

Makes jobs in a temporary folder, has the program print entries of their tables drawn at random
(`dump --links`), and checks each by plain arithmetic and shapely (GEOS): it leads from where a
part's tool is lifted to where another's is lowered; legs join; no arc is tighter than the machine
can drive; body and tool, as polygons every few centimetres, stay on allowed ground; metres, metres
on the pitch and changes of direction come to the cost in the table. No entry is below the shortest
way where no wall counts, or below the cheapest of a machine that may reverse, both found here anew
(`shortest.py`, `reversing.py`); where a metre on the pitch counts once and that way is free for body
and tool, the entry costs just as much. What stood in the table before the
entry was worked out was not above it. With `--samples` the operations of the samples too.
Exits with 1 where anything failed, and where a kind of entry that must occur did not.
"""

import argparse
import math
import random
import sys
import tempfile
from pathlib import Path

import numpy as np
import shapely

from carried import NOTHING
from checks import Checks
from driven_jobs import make_job, with_things, write_job
from driving import (JOIN_M, JOIN_RAD, STEPS, body_ground, driven_again, entrances, folded, machine_of, metres_within, off_ground,
                     polygons, shapes_at)
from program import dump as dumped
from reading import Job
from reversing import changes, least
from shortest import drawn, shortest

TENTH_M = 1e-4  # the table's unit
SAME_M = 1e-6
FINE = 4  # so many times finer than bodies are looked at, metres on the pitch are measured
ON_PITCH_SHARE, ON_PITCH_M = 1e-4, 0.005  # what the measuring of metres on the pitch may be off
CLEAR_M = 0.002  # so far from walls the shortest way is free beyond doubt
STEP_M = 0.05
WAYS = 24  # smaller numbers than this name ways in and out
FROM_SAMPLES = 6  # entries drawn of each direction of a sample
LONGEST_S = 1800  # on a busy machine, all orders of a large sample
# Kinds of entries that must occur, and how often at least.
LEAST = {"driven again": 200, "from part to part": 150, "way in or out": 5, "free, so just as long": 40,
         "dearer for walls": 40, "with reversing": 10, "unequal circles": 20, "not known before": 5,
         "beside the least with reversing": 60, "free, so the least with reversing": 30,
         "free, and the least changes direction": 10, "dearer than the least with reversing": 5}
# What an entry beside the least is checked for and counted as, by what its machine can do.
FORWARDS = "not below the shortest way", "free shortest way (m)", "free, so just as long", "dearer for walls"
WITH_REVERSING = ("not below the least with reversing", "free least with reversing (m)",
                  "free, so the least with reversing", "dearer than the least with reversing")


class Table:
    """What the entries of one dump are judged by."""

    def __init__(self, job, dump):
        self.job, self.dump = job, dump
        self.ground = body_ground(job, dump)
        self.free = polygons(dump["allowed"]).buffer(-CLEAR_M, join_style="mitre")
        self.axle = polygons(dump["allowed"]).buffer(SAME_M, join_style="mitre")
        self.pitch = shapely.Polygon(dump["outline"][0])
        self.entrances = entrances(job, dump)
        for shape in (self.ground, self.free, self.axle, self.pitch):
            shapely.prepare(shape)

    def directions(self, link):
        """The directions of an entry's operation."""
        return next(one["directions"] for one in self.dump["operations"] if one["id"] == link["operation"])

    def parts(self, link, before=0):
        """The lines of an entry's direction as laid, or of one so many before."""
        return [np.array(part["line"]) for part in self.directions(link)[link["direction"] - 1 - before]["parts"]]


    def may_be_free(self, link):
        """Whether a route may begin, or end, anywhere here: the first and the last direction
        are joined to the entrance, and a direction to the end of the one before."""
        if link["entry"]["from"] is None:
            return link["direction"] == 1 and not self.entrances
        return link["direction"] < len(self.directions(link)) or not self.entrances


def check_entries(checks, job, dump):
    """All checks of the entries in a dump."""
    table = Table(job, dump)
    for number, link in enumerate(dump["links"]):
        machine = machine_of(job, link["operation"])
        place = f"{link['operation']} {link['direction']} entry {number}"
        check_entry(checks, table, machine, link, place)


def check_entry(checks, table, machine, link, place):
    """All checks of one entry."""
    entry = link["entry"]
    check_ends(checks, table, machine, link, place)
    if entry["cost"] is None:
        checks.same("forbidden", place, entry["legs"], None)
        checks.note("cannot be driven")
        return
    legs = entry["legs"] or []
    if not legs and None in (entry["from"], entry["to"]):
        # A route that may begin or end anywhere.
        checks.same("free way costs nothing", place, entry["cost"], 0)
        checks.true("free way", place, table.may_be_free(link), "it leads from or to an entrance or another direction")
        checks.note("free ways")
        return
    if not checks.true("driven", place, bool(legs), "no legs"):
        return
    cost_m = entry["cost"] * TENTH_M
    changed, on_pitch_m, whole_m = drive_again(checks, table, machine, link, place)
    least_m, most_m = sorted(whole_m + (machine.on_pitch - 1.0) * on_pitch_m + changed * machine.change_m)
    off_m = 0.0 if machine.on_pitch == 1.0 else abs(machine.on_pitch - 1.0) * (ON_PITCH_M + ON_PITCH_SHARE * on_pitch_m[1])
    # Costs are rounded down.
    deviation_m = max(least_m - TENTH_M - cost_m, cost_m - most_m, 0.0)
    checks.small("cost (m)", place, deviation_m, SAME_M + off_m, f"{cost_m} m in the table, {least_m} to {most_m} m driven")
    check_shortest_way(checks, table, machine, link, place)
    before, known = entry["before"], entry["was_known"]
    checks.true("not above what it came to", place, before is not None and before <= entry["cost"] or known is None,
                f"{before} before, {entry['cost']} now")
    if known:
        checks.same("what was known stays", place, entry["cost"], before)
    checks.note("driven again")
    checks.note("from part to part" if None not in (entry["from"], entry["to"]) else "way in or out")
    for what, so in (("with reversing", changed > 0), ("unequal circles", machine.left_m != machine.right_m),
                     ("not known before", known is False)):
        if so:
            checks.note(what)


def check_ends(checks, table, machine, link, place):
    """Stated ends are those of parts, shortened by what is stated; the legs begin and end there."""
    entry, legs = link["entry"], link["entry"]["legs"]
    lines = table.parts(link)
    for end, sense in (("from", 1.0), ("to", -1.0)):
        pose = entry[end]
        if pose is not None:
            off_m = min(off_end(line, pose, sense, machine.reach_m, entry[f"{end}_shortened_m"]) for line in lines)
            checks.small("end of a part (m)", f"{place} {end}", off_m, SAME_M)
        if not legs:
            continue
        at = legs[0]["start"] if end == "from" else legs[-1]["end"]
        if pose is None and link["direction"] > 1 and end == "from":
            before = table.parts(link, before=1)
            off_m = min(off_line(line, at, machine.reach_m) for line in before)
            checks.small("comes from the direction before (m)", place, off_m, SAME_M)
        elif pose is None:
            off_m = min((shapely.Point(at[:2]).distance(one) for one in table.entrances), default=math.inf)
            checks.small("entrance (m)", place, off_m, JOIN_M)
        else:
            same_pose(checks, "legs join the stated ends (m)", f"{place} {end}", pose, at)


def off_end(line, pose, sense, reach_m, shortened_m):
    """How far the tool at a pose is from an end of a line, moved out by what it is shortened."""
    x, y, heading = pose
    ahead_m = sense * shortened_m - reach_m
    tool = np.array([x + ahead_m * math.cos(heading), y + ahead_m * math.sin(heading)])
    if len(line) > 2 and shortened_m > 0:
        return off_line(line, pose, reach_m)  # rounds bend: what is left of one ends somewhere on it
    found = math.inf
    for end, inner in ((line[0], line[1]), (line[-1], line[-2])):
        out = (end - inner) / math.hypot(*(end - inner)) * sense
        if out @ (math.cos(heading), math.sin(heading)) > 1 - 1e-9:
            found = min(found, math.hypot(*(tool - end)))
    return found


def off_line(line, pose, reach_m):
    """How far the tool at a pose is from a line."""
    x, y, heading = pose
    return shapely.Point(x - reach_m * math.cos(heading), y - reach_m * math.sin(heading)).distance(shapely.LineString(line))


def same_pose(checks, kind, place, one, other):
    """Two poses are one, within a millimetre and 0.01 degrees."""
    checks.small(kind, place, math.dist(one[:2], other[:2]), JOIN_M)
    checks.small(kind.replace("(m)", "(rad)"), place, abs(folded(one[2] - other[2])), JOIN_RAD)


def drive_again(checks, table, machine, link, place):
    """The legs of an entry, driven: changes of direction, metres on the pitch, metres."""
    entry, legs = link["entry"], link["entry"]["legs"]
    on_pitch_m, whole_m = np.zeros(2), 0.0
    for before, after in zip(legs, legs[1:]):
        same_pose(checks, "legs join (m)", place, before["end"], after["start"])
    for leg in legs:
        checks.true("reversing", place, machine.can_reverse or not leg["reverse"], "it may not reverse")
        checks.small("points join the pose (m)", place, max(math.dist(leg["line"][0], leg["start"][:2]),
                                                            math.dist(leg["line"][-1], leg["end"][:2])), SAME_M)
        poses, heading, length_m, tightest_m = driven_again(leg, machine, STEPS * FINE)
        checks.small("arc too tight by (m)", place, tightest_m, SAME_M)
        checks.small("last heading (rad)", place, abs(folded(heading - leg["end"][2])), 1e-6)
        checks.near("length of a leg (m)", place, length_m, leg["length_m"], SAME_M)
        whole_m += length_m
        on_pitch_m += metres_within(poses, table.pitch)
        for what, off_m2 in off_ground(machine, poses[::FINE], table.ground).items():
            checks.small(f"{what} off the ground (m2)", place, off_m2, SAME_M)
        off = ~shapely.covers(table.axle, shapely.points(poses[::FINE, :2]))
        checks.true("axle on the ground", place, not off.any(), f"off it at {int(off.sum())} places")
    # Work is driven forwards: a way that joins it in reverse changes direction there.
    before, after = of_work(link)
    senses = [False] * before + [leg["reverse"] for leg in legs] + [False] * after
    return sum(one != other for one, other in zip(senses, senses[1:])), on_pitch_m, whole_m


def of_work(link):
    """Whether work, driven forwards, joins an entry's beginning and its end."""
    entry = link["entry"]
    return entry["from"] is not None or link["direction"] > 1, entry["to"] is not None


def check_shortest_way(checks, table, machine, link, place):
    """The entry beside the shortest way where no wall counts, or the cheapest with reversing."""
    entry = link["entry"]
    cost_m = entry["cost"] * TENTH_M
    start, goal = tuple(entry["legs"][0]["start"]), tuple(entry["legs"][-1]["end"])
    forwards_m, forwards = shortest(start, goal, machine)
    least_m, ways = forwards_m, forwards
    if machine.can_reverse:
        least_m, ways = least(start, goal, machine, *map(int, of_work(link)))
        checks.note("beside the least with reversing")
    below, off_free, is_least, dearer = WITH_REVERSING if machine.can_reverse else FORWARDS
    once = min(machine.on_pitch, 1.0)
    checks.true(below, place, cost_m + TENTH_M + SAME_M >= once * least_m, f"{cost_m} m, {least_m} m")
    if machine.on_pitch != 1.0 or None in (entry["from"], entry["to"]):
        return
    if machine.can_reverse and any(is_free(table, machine, start, way) for way in forwards):
        words = f"{cost_m} m, {forwards_m} m forwards"
        checks.true("not above a free shortest way", place, cost_m - forwards_m <= SAME_M, words)
    free = [way for way in ways if is_free(table, machine, start, way)]
    if free:
        checks.near(off_free, place, cost_m + TENTH_M / 2, least_m, TENTH_M / 2 + SAME_M)
        checks.note(is_least)
        if all(changes(way, 1, 1) for way in free):
            checks.note("free, and the least changes direction")
    elif ways and cost_m - least_m > 0.01:
        checks.note(dearer)


def is_free(table, machine, start, way):
    """Whether body and tool are well within allowed ground all along a way."""
    poses = drawn(start, way, STEP_M)
    return all(shapely.covers(table.free, shapes).all() for shapes in shapes_at(machine, poses).values())


# What the random jobs are in turn; the rest of a job is drawn.
CASTS = [
    {"run_off_m": 40.0, "on_pitch": 1.0, "can_reverse": False, "entrance": False},
    {"run_off_m": 4.0, "on_pitch": 1.0, "can_reverse": False, "entrance": False, "directions": ["diagonal_left"],
     "length_m": 45.5, "width_m": 27.5},
    {"run_off_m": 3.0, "on_pitch": 3.0, "can_reverse": True, "entrance": False, "directions": ["along"],
     "tool_m": 2.4, "width_m": 15.5},
    {"run_off_m": 6.0, "on_pitch": 1.0, "radius_m": 1.9, "radius_right_m": 2.7, "entrance": False,
     "directions": ["along", "diagonal_left"]},
    {"run_off_m": 4.0, "can_reverse": False, "entrance": True, "directions": ["along", "across"]},
    {"run_off_m": 40.0, "on_pitch": 1.0, "radius_m": 2.9, "radius_right_m": 2.9, "can_reverse": True, "change_s": 2.0,
     "tool_m": 1.5, "entrance": False, "directions": ["along", "diagonal_left"]},
    {"run_off_m": 4.0, "on_pitch": 1.0, "radius_m": 2.9, "radius_right_m": 2.9, "can_reverse": True, "change_s": 2.0,
     "entrance": False, "directions": ["along", "diagonal_left"]},
]
SMALL = {"length_m": 32.0, "width_m": 20.0}  # the whole order is sought before the entries are printed
WITH_THINGS = {1, 3, 4}


def random_job(seed, number):
    """A job of one of the kinds, in turn."""
    chance, kind = random.Random(seed * 1000 + number), number % len(CASTS)
    job = make_job(chance, **(SMALL | CASTS[kind]), carry=NOTHING, order="shortest")
    return with_things(job, chance) if kind in WITH_THINGS else job


def printed(dump_binary, folder, numbers):
    """The program's dump of a job with the entries that these numbers name."""
    return dumped(dump_binary, folder, "--links", ",".join(map(str, numbers)), longest_s=LONGEST_S)


def main():
    """Draws the jobs and their entries and counts what failed."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--dump", required=True)
    parser.add_argument("--jobs", type=int, default=10)
    parser.add_argument("--picks", type=int, default=22, help="entries drawn of each direction's table")
    parser.add_argument("--samples", type=Path)
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    total, chance, jobs = Checks(), random.Random(options.seed), 0
    with tempfile.TemporaryDirectory() as folder:
        folders = [write_job(random_job(options.seed, number), Path(folder) / f"job-{number}") for number in range(options.jobs)]
        samples = sorted(file.parent for file in options.samples.glob("*/job.toml")) if options.samples else []
        if options.samples and not samples:
            sys.exit(f"entries: no sample job in {options.samples}")
        for one in [*folders, *samples]:
            checks = Checks(one.name)
            picks = options.picks if one in folders else FROM_SAMPLES
            numbers = [chance.randrange(WAYS if pick % 6 == 0 else 2**31) for pick in range(picks)]
            check_entries(checks, Job(one), printed(options.dump, one, numbers))
            total.merge(checks)
            jobs += 1
            for _, kind, place, words in checks.failures[:8]:
                print(f"FAILED {one.name}: {kind}: {place}: {words}")
            if checks.failures:
                print((one / "job.toml").read_text(encoding="utf-8"))
    print("\n".join(total.report()))
    lacking = [f"{what}: {total.notes.get(what, 0)} of {least}" for what, least in LEAST.items() if total.notes.get(what, 0) < least]
    for line in lacking:
        print(f"FAILED too few entries: {line}")
    print(f"entries: {jobs} jobs, {total.notes.get('driven again', 0)} entries driven again, {total.total()} checks, "
          f"{len(total.failures) + len(lacking)} failed (seed {options.seed})")
    sys.exit(1 if total.failures or lacking or not total.total() else 0)


if __name__ == "__main__":
    main()
