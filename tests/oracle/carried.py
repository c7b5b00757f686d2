"""What a machine carries, found again: rates by place, loads and hauls of the jobs of drives.py.

The ground of a rate is drawn here from the markings' sizes (goal 7.32 m and 2 m beside each post,
5.5 m deep; goal area 18.32 x 5.5 m; a disc of 3 m about the centre spot), never taken from the
program; amounts are areas of rectangles about the work legs, by shapely.
"""

import copy
import math

import shapely
from shapes import disc

T_PER_HA, G_PER_M2, T = 0.1, 1e-3, 1e-3  # kilograms a square metre, tonnes of a kilogram
SAME_T = 1e-6
JOIN_M = 1e-3
NOTHING = {"places": [], "implement": "", "operation": "", "pile": None, "rows": [], "hopper_t": None}  # carries none


def make_load(chance, job):
    """Whether and what a random job carries: lines for its text, rates for the check."""
    carry = dict(NOTHING)
    if chance.random() < 0.4:
        return carry
    base = chance.choice([20.0, 30.0, 60.0])
    all_t = base * job["length_m"] * job["width_m"] / 1e4
    carry["hopper_t"] = round(all_t / chance.uniform(1.3, 7.0), 3)
    carry["implement"] = f"hopper_t = {carry['hopper_t']}\nload_min = 4.0"
    kind = chance.choice(["one", "each", "depth", "rows"])
    if kind == "one":
        carry["operation"] = f"rate_t_per_ha = {base}"
        carry["rows"] = [(None, None, base * T_PER_HA, True)]
    elif kind == "each":
        carry["operation"] = f'rate_g_per_m2 = {base * 100.0}\nrate_per = "direction"'
        carry["rows"] = [(None, None, base * 100.0 * G_PER_M2, False)]
    elif kind == "depth":
        # Sand of 1.5 t/m3 in the middle of its range: a millimetre is 1.5 kg a square metre.
        carry["operation"] = f'material = "sand"\ndressing_mm = {base / 15.0}\n[material.sand]\nkind = "sand"\ndensity_t_per_m3 = [1.4, 1.6]'
        carry["rows"] = [(None, None, base / 15.0 * 1.5, True)]
    else:
        first = job["directions"][0]
        carry["operation"] = f"""rates = [
  {{ zones = ["goalmouth"], rate_t_per_ha = {2.0 * base} }},
  {{ zones = ["goal-area-south"], rate_t_per_ha = 0.0 }},
  {{ wear = [4, 5], zones = ["centre_spot", "goalmouth"], directions = ["{first}"], rate_g_per_m2 = 5000.0 }},
  {{ rate_t_per_ha = {base} }},
]"""
        carry["rows"] = [
            ("goalmouth", None, 2.0 * base * T_PER_HA, True),
            ("goal-area-south", None, 0.0, True),
            ("centre_spot", 1, 5000.0 * G_PER_M2, False),
            (None, None, base * T_PER_HA, True),
        ]
    if chance.random() < 0.8:
        along_m, out_m = chance.choice([3.0, 6.5, 9.0]), chance.choice([1.0, 1.7, 2.5])
        carry["pile"] = (along_m, out_m)
        carry["places"] = [f'stockpile = {{ at = "nw", along_m = {along_m}, out_m = {out_m} }}']
    return carry


def stockpile(job):
    """Where the stockpile lies: +x is north, +y west."""
    along_m, out_m = job["carry"]["pile"]
    return job["length_m"] / 2 + out_m, job["width_m"] / 2 - along_m


def ground_of(word, job):
    half_m = job["length_m"] / 2
    if word == "goalmouth":
        wide_m = 7.32 / 2 + 2.0
        ends = [(-half_m, -half_m + 5.5), (half_m - 5.5, half_m)]
        return shapely.union_all([shapely.box(x0, -wide_m, x1, wide_m) for x0, x1 in ends])
    if word == "goal-area-south":
        return shapely.box(-half_m, -18.32 / 2, -half_m + 5.5, 18.32 / 2)
    return disc((0.0, 0.0), 3.0)


def put_down_kg(strip, direction, job):
    """What a strip of a direction (from 1) puts down: the first row that fits a place."""
    pitch = shapely.box(-job["length_m"] / 2, -job["width_m"] / 2, job["length_m"] / 2, job["width_m"] / 2)
    left, kg, last = strip.intersection(pitch), 0.0, 0.0
    for word, only, rate, shared in job["carry"]["rows"]:
        if only not in (None, direction):
            continue
        last = rate / len(job["directions"]) if shared else rate
        here = left if word is None else left.intersection(ground_of(word, job))
        left = left.difference(here)
        kg += last * here.area
    return kg + last * strip.difference(pitch).area


def strip_of(leg, job, to_m=None):
    """The rectangle that a work leg works, or its first metres."""
    x, y, heading = leg["start"]
    ux, uy = math.cos(heading), math.sin(heading)
    length_m = math.dist(leg["start"][:2], leg["end"][:2]) if to_m is None else to_m
    half_m = job["tool_m"] / 2
    x, y = x - job["reach_m"] * ux, y - job["reach_m"] * uy
    ends = [(0.0, half_m), (0.0, -half_m), (length_m, -half_m), (length_m, half_m)]
    return shapely.Polygon([(x + a * ux - b * uy, y + a * uy + b * ux) for a, b in ends])


def check_loads(job, dump, fail):
    """Loads and hauls of a dump; returns how many checks were made."""
    count = 0

    def holds(what, ok):
        nonlocal count
        count += 1
        if not ok:
            fail(what)

    route = dump["operations"][0]["route"]
    refills = route["refills"]
    legs = route["legs"]
    has_hauls = any(leg["kind"] == "haul" for leg in legs)
    if job["carry"]["hopper_t"] is None:
        holds("no loads without a hopper", refills is None and not has_hauls)
        return count
    hopper_t, loads = job["carry"]["hopper_t"], refills["loads"]
    holds("the hopper is the job's", refills["hopper_t"] == hopper_t)
    holds("hauls only with a stockpile", job["carry"]["pile"] is not None or not has_hauls)
    holds("hauls where it says so", has_hauls == (refills["hauled"] and len(loads) > 1))
    by_leg = [put_down_kg(strip_of(leg, job), leg["direction"], job) if leg["kind"] == "work" else 0.0 for leg in legs]
    all_t = sum(by_leg) * T
    holds(f"all that is put down ({all_t} {refills['put_down_t']})", abs(all_t - refills["put_down_t"]) < SAME_T * 10)
    holds("loads come to all of it", abs(sum(load["put_down_t"] for load in loads) - all_t) < SAME_T * 10)
    for load in loads:
        holds("no load is more than the hopper", load["put_down_t"] <= hopper_t + SAME_T)
    # What is on board, leg by leg: hauls fill it; without them the stated ends do.
    used, driven, at_pile = 0.0, [], False
    for leg, kg in zip(legs, by_leg):
        if leg["kind"] == "haul":
            if math.dist(leg["end"][:2], stockpile(job)) < JOIN_M and not at_pile:
                driven.append(used)
                used, at_pile = 0.0, True
        elif leg["kind"] == "work":
            at_pile = False
        used += kg * T
        holds(f"the hopper never runs empty ({used} of {hopper_t})", not has_hauls or used <= hopper_t + SAME_T)
    if has_hauls:
        driven.append(used)
        holds("as many loads as stated", len(driven) == len(loads))
        holds("loads as stated", all(abs(a - b["put_down_t"]) < SAME_T * 10 for a, b in zip(driven, loads)))
    else:
        ends, done = [], 0.0
        for leg, kg in zip(legs, by_leg):
            if leg["kind"] != "work":
                continue
            key = (leg["direction"], leg["pass"], leg["part"])
            for load in loads:
                if (load["direction"], load["pass"], load["part"]) == key:
                    at = [(leg["start"][i] - job["reach_m"] * (math.cos, math.sin)[i](leg["start"][2])) for i in (0, 1)]
                    length_m = math.dist(leg["start"][:2], leg["end"][:2])
                    into_m = math.dist(at, load["at"])
                    ahead = (load["at"][0] - at[0]) * math.cos(leg["start"][2]) + (load["at"][1] - at[1]) * math.sin(leg["start"][2])
                    # A load that ends where this leg begins was counted with the leg before.
                    if 1e-6 < ahead <= length_m + 1e-6:
                        ends.append(done + put_down_kg(strip_of(leg, job, into_m), leg["direction"], job))
            done += kg
        amounts = [b - a for a, b in zip([0.0, *ends], ends)]
        holds("as many ends as loads", len(amounts) == len(loads))
        holds("loads end where stated", all(abs(a * T - b["put_down_t"]) < SAME_T * 10 for a, b in zip(amounts, loads)))
    speed_m_s = 6.0 / 3.6
    haul_m = sum(leg["length_m"] for leg in legs if leg["kind"] == "haul")
    holds("hauls are as long as stated", abs(haul_m - route["haul_m"]) < 1e-6 * (1.0 + haul_m))
    holds("hauls take their time", route["haul_s"] >= haul_m / speed_m_s - 1e-6)
    return count


def planted_loads(dump):
    """The dump with one fault each in its loads, by name."""

    def with_fault(change):
        other = copy.deepcopy(dump)
        change(other["operations"][0]["route"])
        return other

    def lose_a_haul(route):
        first = next(i for i, leg in enumerate(route["legs"]) if leg["kind"] == "haul")
        while route["legs"][first]["kind"] == "haul":
            route["legs"].pop(first)

    def overload(route):
        route["refills"]["loads"][0]["put_down_t"] += 0.002
        route["refills"]["loads"][1]["put_down_t"] -= 0.002

    def carry_more(route):
        route["refills"]["hopper_t"] *= 1.1

    def put_down_less(route):
        route["refills"]["put_down_t"] *= 0.999

    def pass_by_the_pile(route):
        for leg in route["legs"]:
            if leg["kind"] == "haul":
                for end in ("start", "end"):
                    leg[end][0] += 0.01

    def prove_with_hauls(route):
        route["lower_bound_s"] = 0.5 * route["cost_s"]

    faults = [lose_a_haul, overload, carry_more, put_down_less, pass_by_the_pile, prove_with_hauls]
    return {fault.__name__: with_fault(fault) for fault in faults}
