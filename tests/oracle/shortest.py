"""The shortest way from pose to pose for a machine that only drives forwards and whose turns
have a least circle to either side, where no wall counts.

It is an arc, a straight and an arc, or three arcs (Dubins, American Journal of Mathematics 79
(1957) 497-516, from memory), also where the circles to both sides differ (Bakolas and Tsiotras,
Journal of Optimization Theory and Applications 150 (2011), from memory). `words` finds each from
the centres of its circles; `textbook_m` is the least by the formulas in two angles and a
distance of Shkel and Lumelsky (Robotics and Autonomous Systems 34 (2001) 179-202, from memory),
for equal circles. `check_shortest` holds both against each other, against drawing each word, and
against lengths that are at hand as data.
"""

import math
import random
import tomllib
from pathlib import Path

import numpy as np

TURN = 2 * math.pi
PUBLISHED = Path(__file__).resolve().parents[1] / "published" / "turns.toml"
HAIR_RAD = 1e-9  # a whole turn that only rounding asks for is none


def around(angle):
    """An angle in [0, a whole turn)."""
    angle %= TURN
    return 0.0 if TURN - angle < HAIR_RAD else angle


def words(start, goal, left_m, right_m):
    """All words from pose to pose: lists of (sign, radius, length), the sign 1 to the left, -1 to
    the right, 0 straight on."""
    sides = {1: left_m, -1: right_m}

    def centre(pose, sign):
        x, y, heading = pose
        return np.array([x - sign * sides[sign] * math.sin(heading), y + sign * sides[sign] * math.cos(heading)])

    found = []
    for first in sides:
        for last in sides:
            apart = centre(goal, last) - centre(start, first)
            shift_m = last * sides[last] - first * sides[first]
            straight_m2 = apart @ apart - shift_m**2
            if straight_m2 < 0:
                continue
            straight_m = math.sqrt(straight_m2)
            heading = math.atan2(apart[1], apart[0]) - math.atan2(shift_m, straight_m)
            found.append([_arc(first, sides, heading - start[2]), (0, 0.0, straight_m), _arc(last, sides, goal[2] - heading)])
        found += _three_arcs(first, sides, start, goal, centre(start, first), centre(goal, first))
    return found


def _arc(sign, sides, turned):
    return sign, sides[sign], sides[sign] * around(sign * turned)


def _three_arcs(sign, sides, start, goal, one, other):
    """The words whose middle circle touches the first and the last, which lie to one side."""
    reach_m, apart = sides[1] + sides[-1], other - one
    apart_m = math.hypot(*apart)
    if not 0 < apart_m <= 2 * reach_m:
        return []
    along, aside_m = apart / apart_m, math.sqrt(max(reach_m**2 - (apart_m / 2) ** 2, 0.0))
    found = []
    for side in (1, -1):
        middle = one + along * apart_m / 2 + side * aside_m * np.array([-along[1], along[0]])
        # Where circles touch the heading is across the line through their centres.
        into, out = ((middle - from_) / reach_m * sign for from_ in (one, other))
        into, out = math.atan2(into[0], -into[1]), math.atan2(out[0], -out[1])
        found.append([_arc(sign, sides, into - start[2]), _arc(-sign, sides, out - into), _arc(sign, sides, goal[2] - out)])
    return found


def length_m(word):
    """How long a word is."""
    return sum(abs(piece[2]) for piece in word)


def shortest(start, goal, machine):
    """The shortest words: all that are as short as the shortest."""
    every = words(start, goal, machine.left_m, machine.right_m)
    least_m = min(map(length_m, every))
    return least_m, [word for word in every if length_m(word) <= least_m + 1e-9]


def drawn(start, word, step_m):
    """Poses along a word, at most a step apart, its end the last."""
    poses = [start]
    for sign, radius_m, long_m in word:
        x, y, heading = poses[-1]
        count = max(math.ceil(abs(long_m) / step_m), 1)
        for far_m in np.arange(1, count + 1) * (long_m / count):
            turned = sign * far_m / radius_m if sign else 0.0
            chord_m = far_m * math.sin(turned / 2) / (turned / 2) if abs(turned) > 1e-12 else far_m
            poses.append((x + chord_m * math.cos(heading + turned / 2), y + chord_m * math.sin(heading + turned / 2),
                          heading + turned))
    return np.array(poses)


def textbook_m(start, goal, radius_m):
    """The shortest length by the formulas of the textbooks, for equal circles."""
    dx, dy = goal[0] - start[0], goal[1] - start[1]
    d, line = math.hypot(dx, dy) / radius_m, math.atan2(dy, dx)
    a, b = around(start[2] - line), around(goal[2] - line)
    sa, sb, ca, cb, cab = math.sin(a), math.sin(b), math.cos(a), math.cos(b), math.cos(a - b)
    sums = []

    def add(t, p, q):
        sums.append(around(t) + p + around(q))

    for turn, tmp, p2 in ((1, math.atan2(cb - ca, d + sa - sb), 2 + d * d - 2 * cab + 2 * d * (sa - sb)),
                          (-1, math.atan2(ca - cb, d - sa + sb), 2 + d * d - 2 * cab + 2 * d * (sb - sa))):
        if p2 >= 0:
            add(turn * (tmp - a), math.sqrt(p2), turn * (b - tmp))
    p2 = -2 + d * d + 2 * cab + 2 * d * (sa + sb)
    if p2 >= 0:
        tmp = math.atan2(-ca - cb, d + sa + sb) - math.atan2(-2.0, math.sqrt(p2))
        add(tmp - a, math.sqrt(p2), tmp - b)
    p2 = -2 + d * d + 2 * cab - 2 * d * (sa + sb)
    if p2 >= 0:
        tmp = math.atan2(ca + cb, d - sa - sb) - math.atan2(2.0, math.sqrt(p2))
        add(a - tmp, math.sqrt(p2), b - tmp)
    for turn, tmp in ((-1, (6 - d * d + 2 * cab + 2 * d * (sa - sb)) / 8), (1, (6 - d * d + 2 * cab + 2 * d * (sb - sa)) / 8)):
        if abs(tmp) <= 1:
            p = TURN - math.acos(tmp)
            tip = math.atan2(ca - cb, d - sa + sb) if turn < 0 else math.atan2(cb - ca, d + sa - sb)
            t = turn * (tip - a) + p / 2
            add(t, p, turn * (b - a) - around(t) + p)
    return min(sums) * radius_m


def check_shortest(checks):
    """The words against lengths at hand, against the textbooks' formulas, and drawn."""
    rows = [row for row in tomllib.loads(PUBLISHED.read_text(encoding="utf-8"))["row"] if row["id"].startswith("dubins-")]
    checks.true("shortest way (m)", "rows at hand", len(rows) >= 8, f"{len(rows)} rows")
    for row in rows:
        given = row["input"]
        start, goal = ((given[f"{end}_x_m"], given[f"{end}_y_m"], math.radians(given[f"{end}_deg"])) for end in ("from", "to"))
        radius_m, want_m = given["radius_m"], row["expected"]["length_m"]
        found_m = min(map(length_m, words(start, goal, radius_m, radius_m)))
        checks.near("shortest way (m)", row["id"], found_m, want_m, row["tolerance"])
        checks.near("shortest way by formulas (m)", row["id"], textbook_m(start, goal, radius_m), want_m, row["tolerance"])
    chance = random.Random(7)
    for number in range(400):
        start, goal = ((chance.uniform(-9, 9), chance.uniform(-9, 9), chance.uniform(-7, 7)) for _ in range(2))
        left_m, right_m = chance.uniform(1, 4), chance.uniform(1, 4)
        for word in words(start, goal, left_m, right_m):
            x, y, heading = drawn(start, word, 1.0)[-1]
            off = max(abs(x - goal[0]), abs(y - goal[1]), abs(math.remainder(heading - goal[2], TURN)))
            checks.small("a word drawn ends there (m, rad)", f"{number}", off, 1e-7)
        least_m = min(map(length_m, words(start, goal, left_m, left_m)))
        checks.near("shortest way by formulas (m)", f"{number}", textbook_m(start, goal, left_m), least_m, 1e-6)
        # Whatever is driven first, with the shortest way on from there it is no shorter.
        least_m = min(map(length_m, words(start, goal, left_m, right_m)))
        first = chance.choice([(1, left_m), (-1, right_m), (0, 0.0)])
        piece = (*first, chance.uniform(0.0, 9.0))
        rest_m = min(map(length_m, words(tuple(drawn(start, [piece], 1.0)[-1]), goal, left_m, right_m)))
        checks.true("no way is shorter", f"{number}", piece[2] + rest_m >= least_m - 1e-7, f"{piece[2] + rest_m} < {least_m}")
