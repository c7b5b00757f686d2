#!/usr/bin/env python3
"""Orders by a general route solver (OR-tools) on our own tables, beside ours.

usage: orders.py --orders PATH [--seconds 10] JOB...

`PATH` is the built example `orders`: it prints the directed table of links of every direction,
each link worked out, with the cost of our order on it, its bound and the time it took. The
other solver gets the same table in whole tenths of a millimetre: a part is a pair of nodes of
which one is driven, a depot stands for the ways in and out. It starts with its cheapest-arc
path and goes on by guided local search until its time is over. With `--seconds 0` it is left
out. Where a file `others.toml` lies beside the job, the costs in it, by an unpublished trial, stand
in a column of their own. Exits with 1 where its order is
cheaper than ours, where ours took more than a hundredth of its time, or where a cost it states
is not that of its order.
"""

import argparse
import json
import pathlib
import subprocess
import sys
import tomllib

import ortools
from ortools.constraint_solver import pywrapcp, routing_enums_pb2

FORBIDDEN = 10**10  # dearer than any order, and few enough digits to be summed
LEFT_OUT = 10**13  # what leaving out a part costs
PER_M = 10_000


def matrix(row):
    """The table with the depot as node 0."""

    def cost(entry):
        return FORBIDDEN if entry < 0 else entry

    first = [0] + [cost(entry) for entry in row["start"]]
    return [first] + [
        [cost(end)] + [cost(entry) for entry in links] for end, links in zip(row["end"], row["links"])
    ]


def solve(table, seconds):
    """The other solver's order as nodes of the table, without the depot; None where it has none."""
    manager = pywrapcp.RoutingIndexManager(len(table), 1, 0)
    routing = pywrapcp.RoutingModel(manager)
    routing.SetArcCostEvaluatorOfAllVehicles(routing.RegisterTransitMatrix(table))
    for node in range(1, len(table), 2):
        pair = [manager.NodeToIndex(node), manager.NodeToIndex(node + 1)]
        routing.AddDisjunction(pair, LEFT_OUT, 1)
    parameters = pywrapcp.DefaultRoutingSearchParameters()
    parameters.first_solution_strategy = routing_enums_pb2.FirstSolutionStrategy.PATH_CHEAPEST_ARC
    parameters.local_search_metaheuristic = routing_enums_pb2.LocalSearchMetaheuristic.GUIDED_LOCAL_SEARCH
    parameters.time_limit.FromMilliseconds(int(1000 * seconds))
    solution = routing.SolveWithParameters(parameters)
    if solution is None:
        return None
    index, order = routing.Start(0), []
    while not routing.IsEnd(index):
        index = solution.Value(routing.NextVar(index))
        if not routing.IsEnd(index):
            order.append(manager.IndexToNode(index))
    return order


def others(jobs):
    """Costs of an unpublished trial, metres, by operation."""
    rows = {}
    for job in jobs:
        path = pathlib.Path(job) / "others.toml"
        if path.exists():
            rows |= {row["operation"]: row["cost_m"] for row in tomllib.loads(path.read_text())["row"]}
    return rows


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--orders", required=True)
    parser.add_argument("--seconds", type=float, default=10.0)
    parser.add_argument("jobs", nargs="+")
    arguments = parser.parse_args()
    print(f"OR-tools {ortools.__version__}, {arguments.seconds} s a table; costs in metres")
    print("| operation, direction | parts | ends lose | neighbour | ours | bound | gap | to its cost | with the bound | OR-tools | ours is | another |")
    print("|---|---|---|---|---|---|---|---|---|---|---|---|")
    failures, rows, known = [], 0, others(arguments.jobs)
    with subprocess.Popen([arguments.orders, *arguments.jobs], stdout=subprocess.PIPE, text=True) as program:
        for line in program.stdout:
            row = json.loads(line)
            rows += 1
            name = f"{row['operation']}, {row['direction']}"
            table = matrix(row)
            order = solve(table, arguments.seconds) if arguments.seconds > 0 else None
            theirs = None
            if order is not None and len(order) == row["parts"]:
                theirs = sum(table[a][b] for a, b in zip([0] + order, order + [0]))
                if theirs >= FORBIDDEN:
                    theirs = None
            ours, bound = row["cost"], row["lower_bound"]
            whole_s = row["stages"][-1]["seconds"]
            enough = (s for s in row["stages"] if theirs is None or s["cost"] <= theirs)
            stage = min(enough, key=lambda stage: stage["seconds"], default=row["stages"][-1])
            seconds = stage["seconds"]
            if theirs is not None and ours > theirs:
                failures.append(f"{name}: ours costs {ours}, theirs {theirs}")
            if theirs is not None and bound > theirs:
                failures.append(f"{name}: our bound {bound} is above their order {theirs}")
            if theirs is not None and seconds > arguments.seconds / 100:
                failures.append(f"{name}: {seconds:.3f} s is more than a hundredth of theirs")
            habit = "none" if row["neighbour"] is None else f"{row['neighbour'] / PER_M:.2f}"
            shown = "none" if theirs is None else f"{theirs / PER_M:.2f}"
            by = "" if theirs is None or theirs == 0 else f"{100 * (ours - theirs) / theirs:+.2f} %"
            another = "" if row["operation"] not in known else f"{known[row['operation']]:.2f}"
            mean_m, most_m = row["shortened_m"]
            gap = 0.0 if ours == 0 else 100 * (ours - bound) / ours
            print(
                f"| {name} | {row['parts']} | {mean_m:.2f}, at most {most_m:.2f} m | {habit} | {ours / PER_M:.2f} | {bound / PER_M:.2f} "
                f"| {gap:.2f} % | {1000 * seconds:.0f} ms ({stage['stage']}) | {1000 * whole_s:.0f} ms | {shown} | {by} | {another} |",
                flush=True,
            )
    if program.returncode != 0:
        failures.append(f"the program ended with {program.returncode}")
    for failure in failures:
        print(failure)
    print(f"orders: {rows} tables, {len(failures)} failures")
    sys.exit(1 if failures or rows == 0 else 0)


if __name__ == "__main__":
    main()
