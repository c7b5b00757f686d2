"""The tape file: every row found again from the rectangle's corners, by plane geometry.

Where two lines through two points each cross is found by determinants, the pass being the dump's
line, its edge the same line moved aside by half the strip's width. Rows are to the centimetre, so
5 mm is allowed (and what a double loses over a kilometre)."""

import math

import numpy as np

from checks import Checks
from reading import Job
from written import read_csv

CENTIMETRE = 0.005 + 1e-6
EQUALLY_NEAR_M = 1e-5
PARALLEL = 1e-9
COLUMNS = ["operation", "direction", "pass", "part", "end", "line", "flag", "centre_m", "edge_m", "lift_m", "edge_side"]
AROUND = ["north", "east", "south", "west"]


def rectangle(dump):
    """The corners of the fitted rectangle by name, and its lines by name: their two flags."""
    pitch = dump["pitch"]
    x, y = pitch["length_m"] / 2.0, pitch["width_m"] / 2.0
    plus_x, plus_y = AROUND.index(pitch["plus_x"]), AROUND.index(pitch["plus_y"])
    minus_x, minus_y = AROUND[(plus_x + 2) % 4], AROUND[(plus_y + 2) % 4]
    plus_x, plus_y = AROUND[plus_x], AROUND[plus_y]
    corners = {}
    for end, at_x in ((plus_x, x), (minus_x, -x)):
        for side, at_y in ((plus_y, y), (minus_y, -y)):
            first, second = (end, side) if end in ("north", "south") else (side, end)
            corners[first[0] + second[0]] = np.array([at_x, at_y])
    lines = {}
    for point, kind in ((plus_x, "goal"), (minus_x, "goal"), (plus_y, "touch"), (minus_y, "touch")):
        lines[f"{point} {kind} line"] = [name for name in corners if point[0] in name]
    return corners, lines


def cross(a, b):
    """The determinant of two plane vectors."""
    return a[0] * b[1] - a[1] * b[0]


def crossing(from_, to, one, other):
    """Where the line through `from_` and `to` crosses the one through `one` and `other`; None where they run
    beside each other."""
    run, side = to - from_, other - one
    sine = cross(run, side) / (np.hypot(*run) * np.hypot(*side))
    if abs(sine) < PARALLEL:
        return None
    return from_ + run * (cross(one - from_, side) / cross(run, side))


def driven_back(dump_operation):
    """The parts that the drive works against their heading: (direction, pass, part)."""
    back = set()
    directions = dump_operation["directions"]
    for leg in (dump_operation.get("route") or {}).get("legs", []):
        if leg["kind"] != "work":
            continue
        parts = directions[leg["direction"] - 1]["parts"]
        line = next(one["line"] for one in parts if (one["pass"], one["part"]) == (leg["pass"], leg["part"]))
        heading = np.array(line[-1]) - np.array(line[0])
        if np.dot(heading, np.array(leg["line"][-1]) - np.array(leg["line"][0])) < 0.0:
            back.add((leg["direction"], leg["pass"], leg["part"]))
    return back


def flag_side(job_operation, dump, angle_deg):
    """-1 where the flags stand to the right of the heading, 1 to the left."""
    start = job_operation.start
    if not (isinstance(start, dict) and "from" in start):
        return -1
    corners, lines = rectangle(dump)
    middle = np.mean([corners[name] for name in lines[start["from"]]], axis=0)
    along = np.array([math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))])
    return 1 if cross(along, middle) > 0.0 else -1


def compare_tape(checks, job, dump, folder):
    """All rows of the tape file."""
    rows = read_csv(folder / "guidance" / "tape.csv")
    head = (folder / "guidance" / "tape.csv").read_text(encoding="utf-8").splitlines()[0]
    checks.same("tape.csv", "columns", head.split(","), COLUMNS)
    corners, lines = rectangle(dump)
    want = []
    for operation, asked in zip(dump["operations"], job.operations):
        back = driven_back(operation)
        for number, direction in enumerate(operation["directions"], start=1):
            if direction["angle_deg"] is None:
                continue
            side = flag_side(asked, dump, direction["angle_deg"])
            for part in direction["parts"]:
                line = [np.array(part["line"][0]), np.array(part["line"][-1])]
                is_back = (number, part["pass"], part["part"]) in back
                for end in ("start", "stop"):
                    want.append((operation["id"], number, part, line, end, is_back, side))
    named = [(one[0], str(one[1]), str(one[2]["pass"]), str(one[2]["part"]), one[4]) for one in want]
    got = [(row["operation"], row["direction"], row["pass"], row["part"], row["end"]) for row in rows]
    if not checks.same("tape.csv", "rows", got, named):
        return
    flags = {}
    for row, (identity, number, part, line, end, is_back, side) in zip(rows, want):
        place = f"{identity} direction {number} pass {part['pass']} part {part['part']} {end}"
        _compare_row(checks, place, row, (corners, lines), part, line, (end, is_back, side))
        flags.setdefault((identity, number, row["line"]), set()).add(row["flag"])
    for (identity, number, name), found in flags.items():
        checks.same("tape: one flag a line", f"{identity} direction {number} {name}", len(found), 1)


def compare_driven(name, job_folder, dump, folder):
    """The tape of a job that is driven, as the drive in its dump goes."""
    checks = Checks(name)
    compare_tape(checks, Job(job_folder), dump, folder)
    return checks


def _compare_row(checks, place, row, ground, part, line, way):
    (corners, lines), (end, is_back, side) = ground, way
    at = line[1] if (end == "stop") != is_back else line[0]
    reached = {}
    for name, (one, other) in lines.items():
        found = crossing(line[0], line[1], corners[one], corners[other])
        if found is not None:
            reached[name] = (np.hypot(*(found - at)), found)
    if not checks.true("tape: line", place, row["line"] in reached and row["flag"] in lines.get(row["line"], []),
                       f"{row['line']} from {row['flag']}"):
        return
    distance, found = reached[row["line"]]
    checks.small("tape: nearest line (m)", place, max(0.0, distance - min(one for one, _ in reached.values())), EQUALLY_NEAR_M)
    flag = corners[row["flag"]]
    other = corners[next(name for name in lines[row["line"]] if name != row["flag"])]
    inwards = (other - flag) / np.hypot(*(other - flag))
    heading = (line[1] - line[0]) / np.hypot(*(line[1] - line[0]))
    left = np.array([-heading[1], heading[0]])
    # The flag lies to the stated side of the line's other corner.
    checks.true("tape: flag", place, np.dot(flag - other, left) * side > 0.0, f"{row['flag']} is on the other side")
    edge_is_left = (row["edge_side"] == "left") != is_back
    checks.same("tape: edge towards the flag", place, edge_is_left, side > 0)
    aside = left * part["width_m"] / 2.0 * (1.0 if edge_is_left else -1.0)
    edge = crossing(line[0] + aside, line[1] + aside, flag, other)
    # A long way along a line nearly beside the pass, figures are as good as their digits.
    slack = CENTIMETRE + 1e-9 * max(abs(float(row["centre_m"])), abs(float(row["edge_m"])))
    checks.near("tape: centre (m)", place, float(row["centre_m"]), float(np.dot(found - flag, inwards)), slack)
    checks.near("tape: edge (m)", place, float(row["edge_m"]), float(np.dot(edge - flag, inwards)), slack)
    # Out of the rectangle is away from its centre, which is the origin.
    outwards = np.array([inwards[1], -inwards[0]])
    outwards = outwards if np.dot(outwards, flag) > 0.0 else -outwards
    checks.near("tape: beyond (m)", place, float(row["lift_m"]), float(np.dot(at - flag, outwards)), CENTIMETRE)
    decimals = [row[name].partition(".")[2] for name in ("centre_m", "edge_m", "lift_m")]
    checks.true("tape: to the centimetre", place, all(len(one) == 2 for one in decimals), repr(decimals))
