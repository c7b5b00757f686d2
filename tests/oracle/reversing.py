"""The least that a turn can cost a machine that may also reverse, where no wall counts.

The shortest way is one of a few families of arcs and straights (Reeds and Shepp, Pacific Journal
of Mathematics 145 (1990) 367-393, the families from memory). Their formulas are not used: each
word is found from the centres of its circles, as numbers of the complex plane in radii, and kept
only if it ends at its goal when drawn; so a slip can lose words, but make none up. That none is
lost `check_reversing` holds against words of every family that are drawn first and must then be
found, against whatever else may be driven first, against mirrored and reversed poses, and against
lengths that are at hand as data.

With changes of direction that cost something the cheapest word need not be the shortest. That the
cheapest of all ways is among the words then too is no theorem known to us; whatever may be driven
first is tried with such costs as well.
"""

import cmath
import math
import random
import tomllib
from itertools import product
from types import SimpleNamespace

from shortest import PUBLISHED, TURN, around, drawn, length_m, shortest

SIDES = GEARS = (1, -1)  # left and right, forwards and backwards
QUARTER = TURN / 4
HAIR = 1e-9  # radii: a root of a little less than nothing is one of nothing
HAIR_M = 1e-9  # a shorter piece is none
THERE_M, THERE_RAD = 1e-6, 1e-6
SAME_M = 1e-9  # words that cost as much
# Families of words: C an arc, S a straight, | a change of direction, u arcs alike, q a quarter.
FAMILIES = ["CCC", "C|C|C", "CC|C", "C|CC", "CSC", "CCu|CuC", "C|CuCu|C", "C|CqSC", "CSCq|C", "C|CqSCq|C"]


def words(start, goal, radius_m):
    """All words from pose to pose: lists of (sign, radius, length), the sign 1 to the left, -1 to
    the right, 0 straight on, a length below 0 driven backwards."""
    found = []
    for sides, gears, headings, straight_m in _candidates(start, goal, radius_m):
        word = []
        for sign, gear, into, out in zip(sides, gears, headings, headings[1:]):
            long_m = radius_m * around(gear * sign * (out - into)) if sign else straight_m
            if long_m > HAIR_M:
                word.append((sign, radius_m if sign else 0.0, gear * long_m))
        x, y, heading = _end(start, word)
        if math.hypot(x - goal[0], y - goal[1]) < THERE_M and abs(math.remainder(heading - goal[2], TURN)) < THERE_RAD:
            found.append(word)
    return found


def _end(start, word):
    """Where a word ends: on an arc the place is turned about the centre."""
    place, heading = complex(*start[:2]), start[2]
    for sign, radius_m, long_m in word:
        if sign:
            centre = place + sign * radius_m * 1j * cmath.rect(1.0, heading)
            turned = sign * long_m / radius_m
            place, heading = centre + (place - centre) * cmath.rect(1.0, turned), heading + turned
        else:
            place += cmath.rect(long_m, heading)
    return place.real, place.imag, heading


def _candidates(start, goal, radius_m):
    """What words may lead from pose to pose: their sides, gears, headings at joints, straight."""

    def centre(pose, sign):
        return complex(*pose[:2]) + sign * radius_m * 1j * cmath.rect(1.0, pose[2])

    for first, last in product(SIDES, SIDES):
        apart = (centre(goal, last) - centre(start, first)) / radius_m
        for sides, gears, headings, straight in _with_straight(first, last, apart, start[2]):
            yield sides, gears, [start[2], *headings, goal[2]], straight * radius_m
        for steps, gears in _three_arcs(apart) if first == last else _four_arcs(apart):
            sides = [first * (-1) ** number for number in range(len(gears))]
            # Where circles touch the heading is across the line through their centres.
            headings = [cmath.phase(1j * sign * step) for sign, step in zip(sides, steps)]
            yield sides, gears, [start[2], *headings, goal[2]], 0.0


def _with_straight(first, last, apart, heading):
    """Words with a straight, which at either end may join a quarter circle after a change of
    direction, whose centre then lies two radii on, along the straight."""
    for gear, before, after in product(GEARS, (0, 1), (0, 1)):
        one, other = first * (-1) ** before, last * (-1) ** after
        # From the first centre to the last it is a straight along and a shift across.
        shift = other - one
        along2 = abs(apart) ** 2 - shift**2
        along = math.sqrt(max(along2, 0.0))
        straight = along - 2 * (before + after)
        if along2 < -HAIR or straight < -HAIR:
            continue
        if along or shift:
            heading = cmath.phase(apart / complex(gear * along, shift))
        sides, gears, headings = [0], [gear], [heading, heading]
        if before:
            sides, gears, headings = [one, *sides], [gear, *gears], [heading - gear * one * QUARTER, *headings]
        if after:
            sides, gears, headings = [*sides, other], [*gears, gear], [*headings, heading + gear * other * QUARTER]
        outer = [-gear if changed else gear for changed in (before, after)]
        yield [first, *sides, last], [outer[0], *gears, outer[1]], headings, max(straight, 0.0)


def _three_arcs(apart):
    """Steps of two radii from centre to centre of three circles, driven in any gears."""
    far = abs(apart)
    if not 0 < far <= 4 + HAIR:
        return
    for side, gears in product(SIDES, product(GEARS, repeat=3)):
        step = apart / 2 + side * math.sqrt(max(4 - far**2 / 4, 0.0)) * 1j * apart / far
        yield (step, apart - step), gears


def _four_arcs(apart):
    """Steps from centre to centre of four circles, whose inner arcs are alike."""
    far = abs(apart) / 2
    # With the change between them both turn the nose one way, by an angle t: each step but the first
    # is the one before turned by t and about face, and all are turned (2 cos t - 1) times the first.
    for sense, side, gear in product(SIDES, SIDES, GEARS):
        cos = (1 + sense * far) / 2
        if far and abs(cos) <= 1 + HAIR:
            turned = cmath.rect(1.0, side * math.acos(max(min(cos, 1.0), -1.0)))
            step = apart / (turned * sense * far)
            yield (step, -turned * step, turned**2 * step), (gear, gear, -gear, -gear)
    # With changes before and after them they turn it to and fro: the last step is along the first.
    cos = (5 - far**2) / 4
    if abs(cos) <= 1 + HAIR:
        for side, gear in product(SIDES, GEARS):
            turned = cmath.rect(1.0, side * math.acos(max(min(cos, 1.0), -1.0)))
            step = apart / (2 - turned)
            yield (step, -turned * step, step), (gear, -gear, -gear, gear)


def changes(word, before, after):
    """The changes of direction of a word between what is driven before and after: 1 forwards, -1
    backwards, 0 nothing."""
    gears = [gear for gear in (before, *(math.copysign(1, piece[2]) for piece in word), after) if gear]
    return sum(one != other for one, other in zip(gears, gears[1:]))


def least(start, goal, machine, before=1, after=1):
    """The least cost, metres of length and of changes of direction, and the words that cost it.
    With unequal circles only what no way can cost less than, and no words: the shortest way with
    the lesser circle to both sides, a change where it joins work, or the shortest way forwards."""
    every = words(start, goal, min(machine.left_m, machine.right_m))
    forwards_m, ways = shortest(start, goal, machine)
    if machine.left_m != machine.right_m:
        joins = abs(before) + abs(after)
        return min(forwards_m, min(map(length_m, every)) + joins * machine.change_m), []
    costs = [(length_m(word) + changes(word, before, after) * machine.change_m, word) for word in every + ways]
    least_m = min(cost_m for cost_m, _ in costs)
    return least_m, [word for cost_m, word in costs if cost_m <= least_m + SAME_M]


def check_reversing(checks):
    """The words against what is at hand, drawn, found again, mirrored, and with detours."""
    _check_rows(checks)
    chance = random.Random(7)
    for number in range(200):
        start, goal = (_pose(chance, chance.choice([1.0, 3.0, 9.0])) for _ in range(2))
        machine = _machine(chance.uniform(1, 4), chance.choice([0.0, chance.uniform(0, 5)]))
        for word in words(start, goal, machine.left_m):
            _check_end(checks, "a word with reversing drawn ends there (m, rad)", f"{number}", start, word, goal)
        _check_alike(checks, f"{number}", start, goal, machine)
        _check_detours(checks, f"{number}", start, goal, machine, chance)
    for family, number in product(FAMILIES, range(24)):
        radius_m = chance.uniform(1, 4)
        start, word = _pose(chance, 9.0), _any_word(family, radius_m, chance)
        goal = tuple(drawn(start, word, 1.0)[-1])
        off = min(_differ(word, found) for found in words(start, goal, radius_m))
        checks.small("a word drawn is found (m)", f"{family} {number}", off, 1e-6)
        _check_detours(checks, f"{family} {number}", start, goal, _machine(radius_m, chance.uniform(0, 2)), chance)


def _pose(chance, half_m):
    return chance.uniform(-half_m, half_m), chance.uniform(-half_m, half_m), chance.uniform(-7, 7)


def _machine(radius_m, change_m):
    return SimpleNamespace(left_m=radius_m, right_m=radius_m, change_m=change_m)


def _check_end(checks, kind, place, start, word, goal):
    end = drawn(start, word, 1.0)[-1]
    off = max(abs(end[0] - goal[0]), abs(end[1] - goal[1]), abs(math.remainder(end[2] - goal[2], TURN)))
    checks.small(kind, place, off, THERE_M)


def _any_word(family, radius_m, chance):
    """A word of a family, drawn at random."""
    sign, gear, alike = chance.choice(SIDES), chance.choice(GEARS), chance.uniform(0.1, 1.5)
    word = []
    for here, letter in enumerate(family):
        if letter == "|":
            gear = -gear
        elif letter == "S":
            word.append((0, 0.0, gear * chance.uniform(0.1, 2.0) * radius_m))
        elif letter == "C":
            if word:
                sign = -word[-1][0] or chance.choice(SIDES)
            turned = {"u": alike, "q": QUARTER}.get(family[here + 1 : here + 2], chance.uniform(0.1, 1.5))
            word.append((sign, radius_m, gear * turned * radius_m))
    return word


def _differ(one, other):
    """How far the pieces of two words differ in length at most."""
    if [piece[0] for piece in one] != [piece[0] for piece in other]:
        return math.inf
    return max(abs(a[2] - b[2]) for a, b in zip(one, other))


def _check_alike(checks, place, start, goal, machine):
    """Poses mirrored, with gears exchanged, or driven back: the least is the same."""
    here_m = least(start, goal, machine)[0]
    mirrored, exchanged = ([(kx * x, ky * y, -heading) for x, y, heading in (start, goal)]
                           for kx, ky in ((1, -1), (-1, 1)))
    others = ("mirrored", mirrored, 1), ("gears exchanged", exchanged, -1), ("driven back", (goal, start), -1)
    for what, poses, gear in others:
        found_m = least(*poses, machine, gear, gear)[0]
        checks.near("least with reversing, alike (m)", f"{place} {what}", found_m, here_m, 1e-6)


def _check_detours(checks, place, start, goal, machine, chance):
    """Whatever is driven first, with the cheapest way on from there it is no cheaper."""
    before = chance.choice((1, -1, 0))
    here_m = least(start, goal, machine, before)[0]
    for sign, gear in chance.sample([*product((1, -1, 0), GEARS)], 3):
        piece = (sign, machine.left_m if sign else 0.0, gear * chance.choice([0.1, 0.5, 2.0]) * machine.left_m)
        first_m = abs(piece[2]) + (before == -gear) * machine.change_m
        rest_m = least(_end(start, [piece]), goal, machine, gear)[0]
        cost_m = first_m + rest_m
        checks.true("no way with reversing is cheaper", place, cost_m >= here_m - 1e-6, f"{cost_m} < {here_m}")


def _check_rows(checks):
    """Rows at hand: capital letters are driven forwards, others backwards."""
    rows = tomllib.loads(PUBLISHED.read_text(encoding="utf-8"))["row"]
    rows = {row["id"]: row for row in rows if row["id"].startswith(("reeds-shepp-", "fishtail-"))}
    checks.true("least with reversing (m)", "rows at hand", len(rows) >= 8, f"{len(rows)} rows")
    for name, row in rows.items():
        given, want, off = row["input"], row["expected"], row["tolerance"]
        start, radius_m = (0.0, 0.0, 0.0), given["radius_m"]
        if "from_x_m" in given:
            start, goal = ((given[f"{end}_x_m"], given[f"{end}_y_m"], math.radians(given[f"{end}_deg"]))
                           for end in ("from", "to"))
        elif "arc_deg" in given:
            goal = want["end_x_m"], want["end_y_m"], math.radians(want["end_deg"])
            arc_m = radius_m * math.radians(given["arc_deg"])
            word = [(1, radius_m, arc_m), (-1, radius_m, -arc_m), (1, radius_m, arc_m)]
            _check_end(checks, "a row's word drawn ends there (m, rad)", name, start, word, goal)
        elif "lines_apart_m" in given:
            _check_fishtail(checks, name, given, want, off)
            continue
        else:
            for radii, key in enumerate(("to_0_radii_m", "to_1_radius_m", "to_2_radii_m")):
                found_m = least(start, (0.0, radii * radius_m, math.pi), _machine(radius_m, 0.0))[0]
                checks.near("least with reversing (m)", f"{name} {key}", found_m, want[key], off)
            continue
        found_m, ways = least(start, goal, _machine(radius_m, 0.0))
        checks.near("least with reversing (m)", name, found_m, want["length_m"], off)
        if "word" in want:
            names = {"".join(("SLR" if long_m > 0 else "slr")[sign] for sign, _, long_m in way) for way in ways}
            checks.true("a row's word", name, want["word"] in names, f"found {names}")
        if "arcs" in want:
            checks.same("a row's arcs", name, {sum(piece[0] != 0 for piece in way) for way in ways}, {want["arcs"]})


def _check_fishtail(checks, name, given, want, off):
    """A quarter circle, straight back and a quarter circle: it leads to the line, and the least is no longer."""
    radius_m, apart_m = given["radius_m"], given["lines_apart_m"]
    quarter = (1, radius_m, QUARTER * radius_m)
    word = [piece for piece in (quarter, (0, 0.0, apart_m - 2 * radius_m), quarter) if piece[2]]
    start, goal = (0.0, 0.0, 0.0), (0.0, apart_m, math.pi)
    _check_end(checks, "a row's word drawn ends there (m, rad)", name, start, word, goal)
    checks.near("a row's length (m)", name, length_m(word), want["length_m"], off)
    checks.same("a row's changes", name, changes(word, 1, 1), want["changes"])
    least_m = least(start, goal, _machine(radius_m, 0.0))[0]
    checks.true("no way with reversing is cheaper", name, least_m <= want["length_m"] + off, f"least {least_m} m")
