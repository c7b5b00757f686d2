"""Drives, driven again: every leg of the drives of random jobs, rebuilt from its points.

    python tests/oracle/drives.py --binary PATH --dump PATH [--jobs 12] [--seed N]

Makes jobs in a temporary folder, has the program drive them (`dump --routes`), and checks with
plain arithmetic and shapely (GEOS): each part is worked once, moved on by the reach, in one leg
or cut by refills; legs join;
every chord of a turn is that of an arc no tighter than the machine can drive, and the headings
so found end at the pose that the program states; body and tool, as polygons every few
centimetres, stay on allowed ground; metres on the pitch, changes of direction and the cost come
out as stated; the bound is not above the cost. Half of the jobs carry material: what each strip
puts down is found again from the job's rates and the markings' sizes, no load is more than the
hopper holds, and every load but the last is followed by a haul that stands at the stockpile. Of
the first few jobs the tape file, as driven, is found again too.
Each job is also planned as the change of another, and improved a few steps (`dump --after`): the
same checks hold of each such answer.
Exits with 1 where anything failed, and where nothing was checked.
"""

import argparse
import copy
import math
import random
import sys
import tempfile
from pathlib import Path

import numpy as np
import shapely
from carried import check_loads, planted_loads, stockpile
from driven_jobs import before_a_change, make_job, write_job
from driving import JOIN_M, JOIN_RAD, OVERHANG_M, SLACK_M, body_ground, driven_again, folded, machine_of, metres_within, off_ground, polygons
from program import dump as dumped
from program import plan as planned
from reading import Job
from tape import compare_driven

TAPES = 4  # so many jobs are planned once more for their tape file


def check(job, dump, fail, *, is_change=False):
    """All checks of one dump, planned at once or after another job; returns how many were made."""
    count = 0

    def holds(what, ok):
        nonlocal count
        count += 1
        if not ok:
            fail(what)

    operation = dump["operations"][0]
    route = operation["route"]
    if route is None:
        fail("no drive")
        return 1
    read = Job(job["folder"])
    machine = machine_of(read, "o")
    ground = body_ground(read, dump)
    hauled = polygons(dump["grass"])
    if job["carry"]["pile"]:
        # Hauls may run over the stockpile, and the body hang over the edge near it.
        hauled = hauled.union(ground).union(shapely.Point(stockpile(job)).buffer(OVERHANG_M, quad_segs=64))
    hauled = hauled.buffer(SLACK_M, join_style="mitre")
    grass = polygons(dump["grass"]).buffer(SLACK_M, join_style="mitre")
    pitch = shapely.Polygon(dump["outline"][0])
    parts = {
        (number, p["pass"], p["part"]): p
        for number, direction in enumerate(operation["directions"], 1)
        for p in direction["parts"]
    }
    worked = [(leg["direction"], leg["pass"], leg["part"]) for leg in route["legs"] if leg["kind"] == "work"]
    holds("directions come in the job's order", [w[0] for w in worked] == sorted(w[0] for w in worked))
    # The legs of a part that refills cut follow each other.
    once = [leg for leg, before in zip(worked, [None, *worked]) if leg != before]
    holds("each part is worked once", sorted(once) == sorted(parts))
    count += check_loads(job, dump, fail)
    on_pitch_m, turned_m, changes, last_reverse = np.zeros(2), 0.0, 0, None
    at_part, begun, left = None, None, {}
    for before, after in zip(route["legs"], route["legs"][1:]):
        (x0, y0, t0), (x1, y1, t1) = before["end"], after["start"]
        holds("legs join", math.hypot(x1 - x0, y1 - y0) < JOIN_M and abs(folded(t1 - t0)) < JOIN_RAD)
    for leg in route["legs"]:
        at_pile = leg["kind"] == "haul" and job["carry"]["pile"] and math.dist(leg["start"][:2], stockpile(job)) < JOIN_M
        # To be filled the machine stands still: no change of direction is counted there.
        if last_reverse is not None and leg["reverse"] != last_reverse and not at_pile:
            changes += 1
        last_reverse = leg["reverse"]
        if leg["kind"] == "work":
            part = (leg["direction"], leg["pass"], leg["part"])
            (ax, ay), (bx, by) = parts[part]["line"]
            heading = leg["start"][2]
            ux, uy = math.cos(heading), math.sin(heading)
            if (bx - ax) * ux + (by - ay) * uy < 0:
                (ax, ay), (bx, by) = (bx, by), (ax, ay)
            if part != at_part:
                begun, at_part = (ax, ay), part
            tool = [(x - job["reach_m"] * ux, y - job["reach_m"] * uy) for x, y, _ in (leg["start"], leg["end"])]
            holds("work goes on where it ended, moved on by the reach", math.dist(tool[0], begun) < 1e-6)
            off_m = abs((tool[1][0] - ax) * uy - (tool[1][1] - ay) * ux)
            holds("work is on its part", off_m < 1e-6 and math.dist(*tool) > 0.01)
            begun = tool[1]
            left[part] = math.dist(tool[1], (bx, by))
            poses = np.array([leg["start"], leg["end"]])
        else:
            poses, heading, length_m, tightest = driven_again(leg, machine)
            holds(f"no arc is too tight (by {tightest} m)", tightest <= 1e-6)
            end = leg["end"]
            holds("headings end where stated", abs(folded(heading - end[2])) < 1e-6)
            holds("lengths agree", abs(length_m - leg["length_m"]) < 1e-6)
            turned_m += length_m
            # The cost counts arcs; so do the fine chords here, to 1e-6 of their length.
            on_pitch_m += metres_within(poses, pitch)
        where = hauled if leg["kind"] == "haul" else ground
        if leg["kind"] == "haul":
            holds("the axle keeps to the grass in hauls", shapely.covers(grass, shapely.points(poses[:, :2])).all())
        for what, worst in off_ground(machine, poses, where).items():
            holds(f"{what} on allowed ground ({leg['kind']}, {worst} m2 off)", worst < 1e-6)
    holds("every part is worked to its end", max(left.values(), default=1.0) < 1e-6)
    costs_s = sorted((turned_m + (machine.on_pitch - 1.0) * on_pitch_m) / machine.turn_m_s + changes * machine.change_s)
    off_s = max(costs_s[0] - route["cost_s"], route["cost_s"] - costs_s[1])
    holds(f"cost {costs_s} is {route['cost_s']}", off_s < 1e-3 * costs_s[0] + 0.02)
    bound_s = route["lower_bound_s"]
    has_hauls = any(leg["kind"] == "haul" for leg in route["legs"])
    if not is_change:
        holds("a bound at normal effort, without hauls", (bound_s is None) == (job["effort"] == "quick" or has_hauls))
    holds("the bound is not above the cost", bound_s is None or bound_s <= route["cost_s"] + 1e-9)
    return count


def planted(dump):
    """The dump with one fault each, by name."""

    def with_fault(change):
        other = copy.deepcopy(dump)
        change(other, other["operations"][0]["route"])
        return other

    def turn(route):
        return max((leg for leg in route["legs"] if leg["kind"] == "turn"), key=lambda leg: len(leg["line"]))

    def lose_work(_, route):
        route["legs"].remove(next(leg for leg in route["legs"] if leg["kind"] == "work"))

    def tear(_, route):
        turn(route)["end"][0] += 0.005

    def bend(_, route):
        line = turn(route)["line"]
        line[len(line) // 2][1] += 0.05

    def turn_nose(_, route):
        turn(route)["end"][2] += 0.001

    def cheapen(_, route):
        route["cost_s"] *= 0.97

    def prove_too_much(_, route):
        route["lower_bound_s"] = route["cost_s"] + 1.0

    def narrow(other, _):
        ground = shapely.Polygon(other["allowed"][0][0]).buffer(-2.0, join_style="mitre")
        other["allowed"] = [[list(map(list, ground.exterior.coords))]]

    faults = [lose_work, tear, bend, turn_nose, cheapen, prove_too_much, narrow]
    return {fault.__name__: with_fault(fault) for fault in faults}


def check_tape(binary, path, dump, fail):
    """The tape file of a driven job; how many checks were made."""
    out = path.with_name(path.name + "-out")
    planned(binary, path, out, "--only", "guidance")
    checks = compare_driven(path.name, path, dump, out)
    for _, kind, place, words in checks.failures:
        fail(f"{kind}: {place}: {words}")
    return checks.total()


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--binary", required=True)
    parser.add_argument("--dump", required=True)
    parser.add_argument("--jobs", type=int, default=12)
    parser.add_argument("--seed", type=int, default=1)
    arguments = parser.parse_args()
    failures, checks, afters, tapes, legs, hauls, drive_alarms, load_alarms = [], 0, 0, 0, 0, 0, 0, 0
    with tempfile.TemporaryDirectory() as folder:
        for number in range(1, arguments.jobs + 1):
            job = make_job(random.Random(arguments.seed * 1000 + number))
            path = job["folder"] = write_job(job, Path(folder) / f"job-{number}")
            said = []
            dump = dumped(arguments.dump, path, "--routes")
            checks += check(job, dump, said.append)
            if number <= TAPES:
                tapes += check_tape(arguments.binary, path, dump, said.append)
            chance = random.Random(arguments.seed * 1000 + number + 500)
            earlier = write_job(before_a_change(job, chance), Path(folder) / f"job-{number}-before")
            for steps in (0, chance.choice([1, 2, 4])):
                again = dumped(arguments.dump, path, "--routes", "--after", earlier, "--steps", steps)
                afters += check(job, again, lambda what, steps=steps: said.append(f"after another, {steps} steps: {what}"), is_change=True)
            driven = (dump["operations"][0]["route"] or {"legs": []})["legs"]
            legs += len(driven)
            n_hauls = sum(leg["kind"] == "haul" for leg in driven)
            hauls += n_hauls
            # Checks that cannot fail judge nothing: each planted fault must be seen.
            faults = {}
            if not said and drive_alarms == 0 and n_hauls == 0:
                faults |= planted(dump)
            if not said and load_alarms == 0 and n_hauls > 0:
                faults |= planted_loads(dump)
            for name, faulty in faults.items():
                seen = []
                check(job, faulty, seen.append)
                if n_hauls > 0:
                    load_alarms += bool(seen)
                else:
                    drive_alarms += bool(seen)
                if not seen:
                    said.append(f"the planted fault `{name}` was not seen")
            for what in sorted(set(said)):
                failures.append(f"job {number} ({job}): {what} ({said.count(what)} times)")
    if checks == 0 or afters == 0 or tapes == 0:
        failures.append("nothing was checked")
    if drive_alarms == 0:
        failures.append("no fault was planted in a drive: no job without hauls passed")
    if load_alarms == 0:
        failures.append("no fault was planted in a load: no job with hauls passed")
    for failure in failures:
        print(failure)
    print(
        f"drives: {arguments.jobs} jobs, {legs} legs ({hauls} of hauls), {checks} checks, {afters} of plans after others, {tapes} of tapes, {len(failures)} failed; "
        f"{drive_alarms + load_alarms} planted faults seen"
    )
    sys.exit(1 if failures else 0)


if __name__ == "__main__":
    main()
