"""Runs the program and its dump on a job; what they say against it is an error."""

import json
import subprocess

LONGEST_S = 300


def command(words, longest_s=LONGEST_S):
    """Runs a command; its standard output, or an error that says what it said."""
    done = subprocess.run([str(word) for word in words], capture_output=True, text=True, timeout=longest_s)
    if done.returncode != 0:
        raise RuntimeError(f"{' '.join(map(str, words))}: exit code {done.returncode}: {done.stderr.strip()[:600]}")
    return done.stdout


def plan(binary, job, out, *words):
    """Plans a job into a folder."""
    command([binary, "plan", job, "--out", out, "--quiet", *words])


def dump(dump_binary, job, *words, longest_s=LONGEST_S):
    """The unrounded plan of a job."""
    return json.loads(command([dump_binary, *words, job], longest_s))
