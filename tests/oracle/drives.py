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
Exits with 1 where anything failed, and where nothing was checked.
"""

import argparse
import copy
import json
import math
import random
import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np
import shapely
from carried import check_loads, make_load, planted_loads, stockpile
from tape import compare_driven

SPEED_M_S = 6.0 / 3.6
STEPS = 4  # places looked at within a chord
TAPES = 4  # so many jobs are planned once more for their tape file
JOIN_M, JOIN_RAD = 1e-3, math.radians(0.01)
SLACK_M = 1e-6
TRIM_M = 0.001  # a strip runs along what is kept clear with this much over


def make_job(chance):
    """A random job: its settings and its text."""
    job = {
        "length_m": chance.choice([32.0, 45.5, 60.0]),
        "width_m": chance.choice([20.0, 27.5, 34.0]),
        "run_off_m": chance.choice([2.5, 3.0, 4.0, 6.0, 12.0]),
        "radius_m": chance.choice([1.8, 2.4, 2.9]),
        "body": (chance.choice([1.2, 1.5]), chance.choice([1.6, 2.4]), chance.choice([0.6, 0.9])),
        "tool_m": chance.choice([1.5, 1.8, 2.4]),
        "reach_m": chance.choice([0.0, 1.0, 1.6]),
        "can_reverse": chance.random() < 0.4,
        "directions": chance.sample(["along", "across", "diagonal_left", "corner_right"], chance.choice([1, 1, 2])),
        "order": chance.choice(["shortest", "shortest", "neighbour", "lands"]),
        "on_pitch": chance.choice([1.0, 3.0]),
        "change_s": chance.choice([2.0, 4.0]),
        "effort": chance.choice(["quick", "normal"]),
        "entrance": chance.random() < 0.4,
    }
    job["carry"] = make_load(chance, job)
    places = []
    if job["entrance"]:
        places.append('entrance = { at = "se", along_m = 4.0, out_m = 2.0 }')
    places += job["carry"]["places"]
    places = "[places]\n" + "\n".join(places) + "\n" if places else ""
    width, ahead, behind = job["body"]
    text = f"""name = "driven again"
[pitch]
length_m = {job["length_m"]}
width_m = {job["width_m"]}
run_off_m = {{ touch = {job["run_off_m"]}, goal = {job["run_off_m"]} }}
{places}[tractor.t]
turn_radius_m = {job["radius_m"]}
body = {{ width_m = {width}, ahead_m = {ahead}, behind_m = {behind} }}
change_s = {job["change_s"]}
[implement.i]
tractor = "t"
working_width_m = {job["tool_m"]}
speed_km_h = 6.0
reach_m = {job["reach_m"]}
can_reverse = {str(job["can_reverse"]).lower()}
{job["carry"]["implement"]}
[plan]
effort = "{job["effort"]}"
[[operation]]
id = "o"
task = "brush"
implement = "i"
directions = {json.dumps(job["directions"])}
order = "{job["order"]}"
turn_on_pitch_cost = {job["on_pitch"]}
{job["carry"]["operation"]}
"""
    return job, text


def polygons(shape):
    return shapely.union_all([shapely.Polygon(rings[0], rings[1:]) for rings in shape])


def folded(angle):
    """An angle in (-pi, pi]."""
    return math.pi - (math.pi - angle) % (2 * math.pi)


def rectangles(poses, back_m, front_m, half_m):
    """Rectangles about poses (x, y, heading), as polygons."""
    corners = np.array([(back_m, -half_m), (front_m, -half_m), (front_m, half_m), (back_m, half_m)])
    cos, sin = np.cos(poses[:, 2]), np.sin(poses[:, 2])
    x = poses[:, 0, None] + cos[:, None] * corners[:, 0] - sin[:, None] * corners[:, 1]
    y = poses[:, 1, None] + sin[:, None] * corners[:, 0] + cos[:, None] * corners[:, 1]
    return shapely.polygons(np.stack([x, y], axis=2))


def driven_again(leg, radius_m):
    """Places along a leg with the nose's heading, from its points and its first heading alone.

    A chord from heading t in direction c belongs to an arc that turns by 2 (c - t): so the
    headings follow one after another, and none is stated but the first. Returns the poses, the
    last heading, the arcs' lengths and by how much a chord is too short for its turn, metres.
    """
    sense = math.pi if leg["reverse"] else 0.0
    x, y, heading = leg["start"]
    way = heading + sense  # the direction of travel
    poses, lengths, tightest = [(x, y, heading)], [], 0.0
    points = leg["line"]
    for (x0, y0), (x1, y1) in zip(points, points[1:]):
        chord_m = math.hypot(x1 - x0, y1 - y0)
        half = folded(math.atan2(y1 - y0, x1 - x0) - way)
        # An arc of the least radius that turns as much has this chord: none may be shorter.
        tightest = max(tightest, 2 * radius_m * abs(math.sin(half)) - chord_m)
        length_m = chord_m if abs(half) < 1e-9 else chord_m * half / math.sin(half)
        for step in range(1, STEPS + 1):
            turned = 2 * half * step / STEPS
            far_m = length_m * step / STEPS
            part_m = far_m if abs(turned) < 1e-9 else far_m * math.sin(turned / 2) / (turned / 2)
            towards = way + turned / 2
            poses.append((x0 + part_m * math.cos(towards), y0 + part_m * math.sin(towards), way + turned - sense))
        way += 2 * half
        lengths.append(length_m)
    return np.array(poses), way - sense, sum(lengths), tightest


def check(job, dump, fail):
    """All checks of one dump; returns how many were made."""
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
    allowed = polygons(dump["allowed"])
    ground = allowed
    if job["entrance"]:
        at = shapely.Point(job_entrance(job, dump))
        ground = allowed.union(at.buffer(6.0, quad_segs=64))
    hauled = polygons(dump["grass"])
    if job["carry"]["pile"]:
        # Hauls may run over the stockpile, and the body hang over the edge near it.
        hauled = hauled.union(ground).union(shapely.Point(stockpile(job)).buffer(6.0, quad_segs=64))
    ground = ground.buffer(SLACK_M, join_style="mitre")
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
    width, ahead, behind = job["body"]
    on_pitch_m, turned_m, changes, last_reverse = 0.0, 0.0, 0, None
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
            poses, heading, length_m, tightest = driven_again(leg, job["radius_m"])
            holds(f"no arc is too tight (by {tightest} m)", tightest <= 1e-6)
            end = leg["end"]
            holds("headings end where stated", abs(folded(heading - end[2])) < 1e-6)
            holds("lengths agree", abs(length_m - leg["length_m"]) < 1e-6)
            turned_m += length_m
            # The cost counts arcs; so do the fine chords here, to 1e-6 of their length.
            on_pitch_m += shapely.LineString(poses[:, :2]).intersection(pitch).length
        body = rectangles(poses, -behind, ahead, width / 2)
        tool = rectangles(poses, -job["reach_m"] - 1e-9, -job["reach_m"], job["tool_m"] / 2 - TRIM_M)
        where = hauled if leg["kind"] == "haul" else ground
        if leg["kind"] == "haul":
            holds("the axle keeps to the grass in hauls", shapely.covers(grass, shapely.points(poses[:, :2])).all())
        for what, shapes in (("body", body), ("tool", tool)):
            off = ~shapely.covers(where, shapes)
            worst = max((shapely.difference(shape, where).area for shape in shapes[off]), default=0.0)
            holds(f"{what} on allowed ground ({leg['kind']}, {worst} m2 off)", worst < 1e-6)
    holds("every part is worked to its end", max(left.values(), default=1.0) < 1e-6)
    cost_s = (turned_m + (job["on_pitch"] - 1.0) * on_pitch_m) / SPEED_M_S + changes * job["change_s"]
    holds(f"cost {cost_s} is {route['cost_s']}", abs(cost_s - route["cost_s"]) < 1e-3 * cost_s + 0.02)
    bound_s = route["lower_bound_s"]
    has_hauls = any(leg["kind"] == "haul" for leg in route["legs"])
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


def job_entrance(job, dump):
    """Where the entrance lies: 4 m along the goal line from the flag, 2 m out."""
    signs = {"north": (1, 0), "south": (-1, 0), "west": (0, 1), "east": (0, -1)}
    if dump["pitch"]["plus_x"] != "north":
        raise RuntimeError("the jobs here lie to the north")
    x = signs["south"][0] * (job["length_m"] / 2 + 2.0)
    y = signs["east"][1] * (job["width_m"] / 2 - 4.0)
    return x, y


def check_tape(binary, path, dump, fail):
    """The tape file of a driven job; how many checks were made."""
    out = path.with_name(path.name + "-out")
    words = [binary, "plan", str(path), "--only", "guidance", "--out", str(out), "--quiet"]
    done = subprocess.run(words, capture_output=True, text=True, timeout=300)
    if done.returncode != 0:
        fail(f"exit code {done.returncode}: {done.stderr[:300]}")
        return 0
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
    failures, checks, tapes, legs, hauls, drive_alarms, load_alarms = [], 0, 0, 0, 0, 0, 0
    with tempfile.TemporaryDirectory() as folder:
        for number in range(1, arguments.jobs + 1):
            job, text = make_job(random.Random(arguments.seed * 1000 + number))
            path = Path(folder) / f"job-{number}"
            path.mkdir()
            (path / "job.toml").write_text(text, encoding="utf-8")
            done = subprocess.run(
                [arguments.dump, "--routes", str(path)], capture_output=True, text=True, timeout=300
            )
            said = []
            if done.returncode != 0:
                said.append(f"exit code {done.returncode}: {done.stderr[:300]}")
            else:
                dump = json.loads(done.stdout)
                checks += check(job, dump, said.append)
                if number <= TAPES:
                    tapes += check_tape(arguments.binary, path, dump, said.append)
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
    if checks == 0 or tapes == 0:
        failures.append("nothing was checked")
    if drive_alarms == 0:
        failures.append("no fault was planted in a drive: no job without hauls passed")
    if load_alarms == 0:
        failures.append("no fault was planted in a load: no job with hauls passed")
    for failure in failures:
        print(failure)
    print(
        f"drives: {arguments.jobs} jobs, {legs} legs ({hauls} of hauls), {checks} checks, {tapes} of tapes, {len(failures)} failed; "
        f"{drive_alarms + load_alarms} planted faults seen"
    )
    sys.exit(1 if failures else 0)


if __name__ == "__main__":
    main()
