"""Counts checks, remembers the largest deviation of each kind, and keeps what failed.

A `Checks` belongs to one job. Those of all jobs are added up by `merge`, so that jobs can
be checked in separate processes.
"""

import math


class Checks:
    """The checks made so far and what they found."""

    def __init__(self, job=""):
        self.job = job
        self.count = {}
        self.largest = {}
        self.failures = []
        self.notes = {}

    def near(self, kind, place, got, want, tolerance):
        """Checks |got - want| <= tolerance; the tolerance has the unit of the figures."""
        if got is None or want is None:
            return self.same(kind, place, got, want)
        return self.small(kind, place, abs(got - want), tolerance, f"found {got!r}, expected {want!r}")

    def small(self, kind, place, deviation, tolerance, words=""):
        """Checks that a deviation, already measured, is within its tolerance."""
        self._counted(kind)
        share = deviation / tolerance if tolerance > 0 else (0.0 if deviation == 0 else math.inf)
        if not math.isfinite(deviation):
            share = math.inf
        most = self.largest.get(kind, (0.0, 0.0, ""))
        if share >= most[1]:
            self.largest[kind] = (deviation, share, f"{self.job} {place}")
        if not share <= 1.0:
            self._failed(kind, place, f"{words} (deviation {deviation:.3e}, allowed {tolerance:.3e})".strip())
            return False
        return True

    def same(self, kind, place, got, want):
        """Checks that two values are equal."""
        self._counted(kind)
        if got != want:
            self._failed(kind, place, f"found {got!r}, expected {want!r}")
            return False
        return True

    def true(self, kind, place, condition, words):
        """Checks that a condition holds; `words` say what is wrong if it does not."""
        self._counted(kind)
        if not condition:
            self._failed(kind, place, words)
            return False
        return True

    def note(self, word):
        """Counts something worth knowing that is no failure."""
        self.notes[word] = self.notes.get(word, 0) + 1

    def total(self):
        """How many checks were made."""
        return sum(self.count.values())

    def merge(self, other):
        """Adds the checks of another job."""
        for kind, count in other.count.items():
            self.count[kind] = self.count.get(kind, 0) + count
        for kind, found in other.largest.items():
            if found[1] >= self.largest.get(kind, (0.0, 0.0, ""))[1]:
                self.largest[kind] = found
        for word, count in other.notes.items():
            self.notes[word] = self.notes.get(word, 0) + count
        self.failures.extend(other.failures)

    def failed_kinds(self):
        """The kinds of check that failed."""
        return {kind for _, kind, _, _ in self.failures}

    def report(self):
        """Lines for people: per kind the count, the largest deviation, its share of what is allowed."""
        lines = [f"{'check':34} {'made':>8}  {'largest deviation':>18}  share of allowed"]
        for kind in sorted(self.count):
            text = f"{kind:34} {self.count[kind]:8}"
            if kind in self.largest:
                deviation, share, where = self.largest[kind]
                text += f"  {deviation:18.3e}  {share:8.4f}  {where}"
            lines.append(text.rstrip())
        for word in sorted(self.notes):
            lines.append(f"note: {word}: {self.notes[word]}")
        return lines

    def _counted(self, kind):
        self.count[kind] = self.count.get(kind, 0) + 1

    def _failed(self, kind, place, words):
        self.failures.append((self.job, kind, place, words))
