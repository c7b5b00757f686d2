"""Faults planted in entries of tables of links, each with the checks that must notice it."""

import math

from driving import machine_of
from reversing import changes, least
from shortest import drawn, shortest

STEP_M = 0.2


def _entries(dump):
    """Entries that can be driven from part to part."""
    return [link["entry"] for link in dump["links"] if link["entry"]["legs"] and None not in (link["entry"]["from"], link["entry"]["to"])]


def _longest(dump):
    """The leg with most points, and its entry."""
    return max(((leg, entry) for entry in _entries(dump) for leg in entry["legs"]), key=lambda both: len(both[0]["line"]))


def point_moved(dump, _):
    """A point of a leg lies five centimetres off."""
    line = _longest(dump)[0]["line"]
    line[len(line) // 2][1] += 0.05


def legs_torn(dump, _):
    """An entry's legs begin two millimetres beside the part's end."""
    _longest(dump)[0]["start"][0] += 0.002


def nose_turned(dump, _):
    """A leg ends with its nose turned by a thousandth."""
    _longest(dump)[0]["end"][2] += 0.001


def length_off(dump, _):
    """A leg is a millimetre longer than its points."""
    _longest(dump)[0]["length_m"] += 0.001


def circle_tightened(dump, _):
    """A leg is driven on a circle a hundredth too tight."""
    leg = _longest(dump)[0]
    x0, y0 = leg["line"][0]
    for point in leg["line"]:
        point[0], point[1] = x0 + 0.99 * (point[0] - x0), y0 + 0.99 * (point[1] - y0)


def part_end_elsewhere(dump, _):
    """An entry leads from a place a centimetre before the part's end."""
    pose = _entries(dump)[0]["from"]
    pose[0] -= 0.01 * math.cos(pose[2])
    pose[1] -= 0.01 * math.sin(pose[2])


def cheaper(dump, _):
    """An entry costs a millimetre less than its drive."""
    _entries(dump)[0]["cost"] -= 10


def cheaper_than_any(dump, _):
    """An entry costs less than the shortest way where no wall counts."""
    _entries(dump)[0]["cost"] //= 2


def dearer_than_needed(dump, job):
    """A way that is free is said to cost two millimetres more, and so do its legs."""
    entry = next(one for one in _entries(dump) if _beyond_m(one, job) < 1e-3)
    entry["cost"] += 20


def _beyond_m(entry, job):
    """How much dearer an entry is than the shortest way."""
    return entry["cost"] * 1e-4 - shortest(tuple(entry["from"]), tuple(entry["to"]), machine_of(job, "o"))[0]


def wall_crossed(dump, job):
    """The shortest way is driven, though walls are in it."""
    _drive_forwards(max(_entries(dump), key=lambda one: _beyond_m(one, job)), job)


def _drive_forwards(entry, job):
    """The shortest way forwards is an entry's drive, and its cost."""
    start, goal, machine = tuple(entry["from"]), tuple(entry["to"]), machine_of(job, "o")
    length_m, ways = shortest(start, goal, machine)
    poses = drawn(start, ways[0], STEP_M)
    leg = {"start": list(start), "end": [*goal[:2], poses[-1][2]], "length_m": length_m, "reverse": False,
           "line": [[float(x), float(y)] for x, y, _ in poses]}
    entry["legs"] = [entry["legs"][0] | leg]
    entry["cost"] = entry["before"] = math.floor(length_m * 1e4)


def reversed_unasked(dump, _):
    """A machine that may not reverse does."""
    _longest(dump)[0]["reverse"] = True


def bound_too_high(dump, _):
    """The table held more for an entry than it came to."""
    entry = _entries(dump)[0]
    entry["before"] = entry["cost"] + 1


def legs_forgotten(dump, _):
    """An entry that costs something has no drive."""
    _entries(dump)[0]["legs"] = None


def forbidden_though_driven(dump, _):
    """An entry that can be driven is said to be forbidden."""
    _entries(dump)[0]["cost"] = None


def _at_the_least(dump, job):
    """Entries of a machine that may reverse that cost the least, with a change of direction, and how
    much dearer the shortest way forwards is."""
    machine = machine_of(job, "o")
    for entry in _entries(dump):
        start, goal = tuple(entry["from"]), tuple(entry["to"])
        least_m, ways = least(start, goal, machine)
        if all(changes(way, 1, 1) for way in ways) and abs(entry["cost"] * 1e-4 - least_m) < 1e-3:
            yield shortest(start, goal, machine)[0] - least_m, entry


def below_the_least(dump, job):
    """An entry costs a millimetre less than the least with reversing."""
    next(_at_the_least(dump, job))[1]["cost"] -= 10


def dearer_than_the_least(dump, job):
    """An entry costs two millimetres more than the least with reversing, which is free."""
    next(_at_the_least(dump, job))[1]["cost"] += 20


def change_forgotten(dump, job):
    """A change of direction is left out of an entry's cost."""
    entry = next(_at_the_least(dump, job))[1]
    entry["cost"] = entry["before"] = entry["cost"] - round(machine_of(job, "o").change_m * 1e4)


def forwards_though_dearer(dump, job):
    """A machine that may reverse drives forwards, though it is dearer."""
    _, entry = min((both for both in _at_the_least(dump, job) if both[0] > 0.01), key=lambda both: both[0])
    _drive_forwards(entry, job)


FAULTS = [(point_moved, {"arc too tight by (m)"}), (legs_torn, {"legs join the stated ends (m)"}), (nose_turned, {"last heading (rad)"}),
          (length_off, {"length of a leg (m)"}), (circle_tightened, {"arc too tight by (m)"}),
          (part_end_elsewhere, {"end of a part (m)"}), (cheaper, {"cost (m)"}), (cheaper_than_any, {"not below the shortest way"}),
          (dearer_than_needed, {"free shortest way (m)"}),
          (wall_crossed, {"body off the ground (m2)", "tool off the ground (m2)"}), (reversed_unasked, {"reversing"}),
          (bound_too_high, {"not above what it came to"}), (legs_forgotten, {"driven"}), (forbidden_though_driven, {"forbidden"})]
FAULTS_WITH_REVERSING = [(below_the_least, {"not below the least with reversing"}),
                         (change_forgotten, {"not below the least with reversing"}),
                         (dearer_than_the_least, {"free least with reversing (m)"}),
                         (forwards_though_dearer, {"free least with reversing (m)"})]
