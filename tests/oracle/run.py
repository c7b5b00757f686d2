"""The oracle: checks the program's plans by other means than the program's own.

    python tests/oracle/run.py --binary PATH --dump PATH [--jobs 200] [--seed N]
                               [--samples DIR] [--keep DIR] [--workers 2]

Makes random jobs in a temporary folder (and takes the sample jobs, where `--samples` is
given), runs the binary and the dump on each, rebuilds everything from the job file
with shapely (GEOS), pyproj and geographiclib, and compares. Prints what was checked and
the largest deviations. Exits with 1 where anything failed, where a job could not be run,
or where nothing was checked; folders of jobs that failed are kept and named.
"""

import argparse
import shutil
import sys
import tempfile
import time
import tomllib
import traceback
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

import pyproj
import shapely

from areas import compare_areas
from checks import Checks
from files import Plan, compare_files
from frame import Frame
from hand import compare_hand
from jobs import make_job
from kml_gpx import compare_kml_gpx
from lines import compare_lines
from program import dump as dumped
from program import plan as planned
from reading import Job
from rebuild import compare_ground
from rounds import compare_rounds
from shapefiles import compare_shapefiles
from tape import compare_tape
from task_data import compare_task_data

SHOWN = 12


def compare_job(name, job_folder, dump, out_folder):
    """All checks of one job, from its dump and its written files."""
    checks = Checks(name)
    job = Job(job_folder)
    ground = compare_ground(checks, job, dump)
    strips = []
    for operation, dumped in zip(job.operations, dump["operations"]):
        compare_lines(checks, ground, operation, dumped, dump)
        compare_rounds(checks, operation, dumped, dump)
        strips.append(compare_areas(checks, operation, dumped, dump))
    compare_files(checks, job, dump, out_folder, strips)
    compare_task_data(checks, job, ground, dump, Plan(checks, job, dump, out_folder, strips))
    compare_hand(checks, job, ground, dump, out_folder)
    compare_kml_gpx(checks, job, ground, dump, out_folder)
    compare_tape(checks, job, dump, out_folder)
    if dump["frame"]:
        frame = Frame(*(dump["frame"][key] for key in ("origin_lat_deg", "origin_lon_deg", "bearing_deg")))
        compare_shapefiles(checks, dump, frame, out_folder)
    else:
        written = sorted(file.name for file in (out_folder / "guidance").iterdir())
        checks.same("guidance without a position", "files", written, ["tape.csv"])
    return checks


def plan_job(job_folder, out_folder, binary, dump_binary):
    """Runs the program on a job: the dump, and the files in a folder."""
    planned(binary, job_folder, out_folder, "--no-route")
    return dumped(dump_binary, job_folder)


def with_leftovers(folder, copied):
    """A copy of a sample job with what each of its operations leaves as hand work."""
    shutil.copytree(folder, copied)
    file = copied / "job.toml"
    text = file.read_text(encoding="utf-8")
    for operation in Job(folder).operations:
        text += f'\n[[hand]]\nid = "left-of-{operation.id}"\nkind = "rest"\noperation = "{operation.id}"\n'
    file.write_text(text, encoding="utf-8")
    return copied


def check_one(task):
    """Makes (where it is a random one), runs and checks one job; never raises."""
    name, folder, seed, number, binary, dump_binary = task
    checks = Checks(name)
    out = Path(str(folder) + "-out") if number is not None else Path(tempfile.mkdtemp()) / "out"
    try:
        if number is not None:
            make_job(folder, seed, number)
        else:
            folder = with_leftovers(folder, out.parent / "job")
        dump = plan_job(folder, out, binary, dump_binary)
        checks = compare_job(name, folder, dump, out)
    except Exception as error:  # a job that cannot be checked is a failure, not a skip
        where = traceback.extract_tb(error.__traceback__)[-1]
        checks.true("could be checked", "", False, f"{type(error).__name__}: {error} ({Path(where.filename).name}:{where.lineno})")
    return checks


def arguments():
    """The command line."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--binary", type=Path, required=True)
    parser.add_argument("--dump", type=Path, required=True)
    parser.add_argument("--jobs", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--first", type=int, default=0, help="number of the first random job")
    parser.add_argument("--samples", type=Path)
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--keep", type=Path, help="where to make the jobs (default: a temporary folder)")
    return parser.parse_args()


def with_all_rests(sample, folder):
    """A copy of a sample, what every machine leaves being hand work there."""
    copy = folder / f"rests-{sample.name}"
    shutil.copytree(sample, copy, dirs_exist_ok=True)
    file = copy / "job.toml"
    text = file.read_text(encoding="utf-8")
    for operation in tomllib.loads(text)["operation"]:
        if "implement" in operation:
            text += (
                f'\n[[hand]]\nid = "after-{operation["id"]}"\nkind = "rest"\n'
                f'operation = "{operation["id"]}"\nm2_per_person_h = 30.0\n'
            )
    file.write_text(text, encoding="utf-8")
    return copy


def tasks_of(options, folder):
    """The jobs to check: samples first, then random ones."""
    tasks = []
    if options.samples:
        samples = sorted(file.parent for file in options.samples.glob("*/job.toml"))
        if not samples:
            sys.exit(f"oracle: no sample job in {options.samples}")
        tasks = [(f"sample {one.name}", one, None, None) for one in samples]
        tasks += [(f"sample {one.name} with all rests", with_all_rests(one, folder), None, None) for one in samples]
    tasks += [(f"job {number}", folder / f"job-{number:04}", options.seed, number)
              for number in range(options.first, options.first + options.jobs)]
    return [(*task, options.binary.resolve(), options.dump.resolve()) for task in tasks]


def main():
    """Runs all jobs and prints what came of it."""
    options = arguments()
    started = time.monotonic()
    folder = options.keep or Path(tempfile.mkdtemp(prefix="oracle-"))
    folder.mkdir(parents=True, exist_ok=True)
    tasks = tasks_of(options, folder)
    total, failed = Checks(), []
    with ProcessPoolExecutor(max_workers=options.workers) as pool:
        for task, checks in zip(tasks, pool.map(check_one, tasks)):
            total.merge(checks)
            if checks.failures:
                failed.append((task, checks))
            elif task[3] is not None and not options.keep:
                shutil.rmtree(task[1], ignore_errors=True)
                shutil.rmtree(Path(str(task[1]) + "-out"), ignore_errors=True)
    print("\n".join(total.report()))
    for task, checks in failed:
        print(f"\nFAILED {task[0]} ({task[1]}): {len(checks.failures)} checks")
        for _, kind, place, words in checks.failures[:SHOWN]:
            print(f"  {kind}: {place}: {words}")
    print(f"\noracle: {len(tasks)} jobs, {total.total()} checks, {len(total.failures)} failed, "
          f"{time.monotonic() - started:.0f} s (GEOS {shapely.geos_version_string}, PROJ {pyproj.proj_version_str}, seed {options.seed})")
    if not failed and not options.keep:
        shutil.rmtree(folder, ignore_errors=True)
    if failed or not tasks or total.total() == 0:
        sys.exit(1)


if __name__ == "__main__":
    main()
