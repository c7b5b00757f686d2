#!/usr/bin/env python3
"""Passes and coverage of three directions by GEOS (through shapely), timed.

usage: geos.py --dump PATH --jobs FOLDER --estimates FOLDER

The work is that of `tests/bench/coverage.rs`: from the target, the kept-clear places and the
allowed ground come the lines of each direction, their strips, and the areas covered,
overlapped, missed and outside, and what no direction worked. Only the time inside GEOS is
counted, its calls vectorised; what Python itself does between them is left out, which favours
GEOS. The areas are compared with the dump's, so that the same work is timed.
"""

import argparse
import json
import math
import pathlib
import subprocess
import sys
import time

import numpy
import shapely

ROUNDS = 15  # the least time of so many is taken
TRIM_M = 0.001  # a strip this much narrower must be clear
SLACK_M2 = 1e-6
BENCHES = {"clear": "three directions, clear", "dozen": "three directions, a dozen obstacles"}


class Clock:
    """Adds up the time spent in GEOS."""

    def __init__(self):
        self.s = 0.0

    def __call__(self, function, *arguments, **options):
        began = time.perf_counter()
        result = function(*arguments, **options)
        self.s += time.perf_counter() - began
        return result


def multi(shape):
    return shapely.MultiPolygon([(polygon[0], polygon[1:]) for polygon in shape])


def turned(geometry, angle_deg):
    """The geometry in the frame of a direction: x along it, y to its left."""
    a = math.radians(angle_deg)
    matrix = numpy.array([[math.cos(a), -math.sin(a)], [math.sin(a), math.cos(a)]])
    return shapely.transform(geometry, lambda xy: xy @ matrix)


def spans_where(clock, function, strips, other):
    """For each strip, the spans along it of the pieces that `function` gives."""
    pieces, index = shapely.get_parts(clock(function, strips, other), return_index=True)
    bounds = shapely.bounds(pieces)
    spans = [[] for _ in strips]
    for strip, piece in zip(index, bounds):
        if not math.isnan(piece[0]):
            spans[strip].append((piece[0], piece[2]))
    return spans


def left_over(span, cuts):
    parts, start = [], span[0]
    for low, high in sorted(cuts):
        if low > start:
            parts.append((start, min(low, span[1])))
        start = max(start, high)
    if start < span[1]:
        parts.append((start, span[1]))
    return [part for part in parts if part[1] - part[0] >= 0.05]


def directions(clock, job):
    """Figures of each direction, and the area that none worked."""
    operation = job["operations"][0]
    width_m = operation["working_width_m"]
    pieces = [(multi(p["zones"]), multi(p["target"])) for p in operation["pieces"]]
    if len(pieces) != 1:
        sys.exit("the benches have one piece")
    missed_everywhere, figures = None, []
    for direction in operation["directions"]:
        angle_deg = direction["angle_deg"]
        zones, target = (turned(shape, angle_deg) for shape in pieces[0])
        outline = turned(shapely.Polygon(job["outline"][0]), angle_deg)
        allowed = turned(multi(job["allowed"]), angle_deg)
        blocked = [turned(multi(shape), angle_deg) for shape in operation["blocked"]]
        low_x, low_y, high_x, high_y = shapely.bounds(zones)
        extent_m = high_y - low_y
        count = max(1, math.ceil(extent_m / width_m - 1e-9))
        spacing_m = (extent_m - width_m) / (count - 1)
        offsets = low_y + width_m / 2 + spacing_m * numpy.arange(count)
        lows, highs = offsets - width_m / 2, offsets + width_m / 2
        bands = shapely.box(low_x - 5, lows, high_x + 5, highs)
        narrow = shapely.box(low_x - 5, lows + TRIM_M, high_x + 5, highs - TRIM_M)
        shapely.prepare(bands)
        met = spans_where(clock, shapely.intersection, bands, target)
        out = spans_where(clock, shapely.difference, narrow, allowed)
        for thing in blocked:
            for cuts, more in zip(out, spans_where(clock, shapely.intersection, narrow, thing)):
                cuts.extend(more)
        parts = [
            (start, low, stop, high)
            for spans, cuts, low, high in zip(met, out, lows, highs)
            for start, stop in left_over((min(s[0] for s in spans), max(s[1] for s in spans)), cuts)
        ]
        strips = shapely.box(*numpy.array(parts).T)
        each = clock(shapely.area, clock(shapely.intersection, strips, target)).sum()
        union = clock(shapely.union_all, strips, grid_size=1e-9)
        covered = clock(shapely.area, clock(shapely.intersection, union, target))
        missed = clock(shapely.difference, target, union)
        outside = clock(shapely.area, clock(shapely.difference, union, target))
        clock(shapely.area, clock(shapely.difference, union, outline))
        figures.append({
            "strip_area_m2": each, "covered_m2": covered, "overlap_m2": each - covered,
            "missed_m2": shapely.area(missed), "outside_m2": outside,
        })
        missed = turned(missed, -angle_deg)
        missed_everywhere = (
            missed if missed_everywhere is None
            else clock(shapely.intersection, missed_everywhere, missed)
        )
    return figures, shapely.area(missed_everywhere)


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--dump", required=True)
    parser.add_argument("--jobs", required=True, type=pathlib.Path)
    parser.add_argument("--estimates", required=True, type=pathlib.Path)
    arguments = parser.parse_args()
    print(f"shapely {shapely.__version__}, GEOS {shapely.geos_version_string}")
    for name, bench in BENCHES.items():
        dumped = subprocess.run(
            [arguments.dump, str(arguments.jobs / name)], capture_output=True, text=True, check=True
        )
        job = json.loads(dumped.stdout)
        figures, unworked_m2 = directions(Clock(), job)
        operation = job["operations"][0]
        for direction, ours in zip(operation["directions"], figures):
            for key, value in ours.items():
                theirs = direction["figures"][key]
                if abs(value - theirs) > SLACK_M2:
                    sys.exit(f"{name}, {direction['name']}: {key} {value} is not {theirs}")
        if abs(unworked_m2 - operation["worked_times_m2"][0]) > SLACK_M2:
            sys.exit(f"{name}: unworked {unworked_m2} is not {operation['worked_times_m2'][0]}")
        clocks = [Clock() for _ in range(ROUNDS)]
        for clock in clocks:
            directions(clock, job)
        geos_ms = 1e3 * min(clock.s for clock in clocks)
        estimates = arguments.estimates / bench / "new" / "estimates.json"
        swardlane_ms = json.loads(estimates.read_text())["mean"]["point_estimate"] / 1e6
        print(
            f"{bench}: GEOS {geos_ms:.2f} ms, swardlane {swardlane_ms:.4f} ms, "
            f"{geos_ms / swardlane_ms:.0f} times"
        )


if __name__ == "__main__":
    main()
