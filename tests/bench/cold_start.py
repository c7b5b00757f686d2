"""How long the built program takes from its start to the plan of the stadium, without drives.

Each run is a new process that plans into a new folder. Told are all files of the sample, then
fewer: data and sheets, data alone, and the same of the job without its work by hand.

    cargo build --release && python3 tests/bench/cold_start.py
"""

import argparse
import os
import pathlib
import shutil
import statistics
import subprocess
import tempfile
import time

TOP = pathlib.Path(__file__).parents[2]
SAMPLE = TOP / "sample-pitches/stadium"
TARGET = pathlib.Path(os.environ.get("CARGO_TARGET_DIR", TOP / "target"))
GROUPS = {"all files": [], "data and sheets": ["--only", "data,sheets"], "data": ["--only", "data"]}


def without_hand(job):
    """The text of a job less its tables of work by hand and what they hold."""
    kept, is_hand = [], False
    for line in job.splitlines(keepends=True):
        if line.startswith("["):
            is_hand = line.strip("[ ").startswith("hand")
        if not is_hand:
            kept.append(line)
    return "".join(kept)


def times_ms(binary, job, words, runs, folder):
    """Wall time of each run, milliseconds."""
    times = []
    for run in range(runs):
        out = folder / f"out-{run}"
        begins = time.perf_counter()
        subprocess.run([binary, "plan", job, "--no-route", "--quiet", "--out", out, *words], check=True)
        times.append(1e3 * (time.perf_counter() - begins))
        shutil.rmtree(out)
    return times


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--binary", type=pathlib.Path, default=TARGET / "release/swardlane")
    parser.add_argument("--runs", type=int, default=40)
    arguments = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        folder = pathlib.Path(folder)
        bare = folder / "stadium"
        shutil.copytree(SAMPLE, bare)
        (bare / "job.toml").write_text(without_hand((SAMPLE / "job.toml").read_text()))
        for name, job in [("the sample", SAMPLE), ("without work by hand", bare)]:
            for group, words in GROUPS.items():
                times = times_ms(arguments.binary, job, words, arguments.runs, folder)
                middle, least = statistics.median(times), min(times)
                print(f"{name}, {group}: {middle:.1f} ms (least {least:.1f})")


if __name__ == "__main__":
    main()
