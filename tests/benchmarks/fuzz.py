"""Thousands of files made wrong at random, through the commands that read them.

``OMP_NUM_THREADS=1 python -m tests.benchmarks.fuzz [--seed 1] [--share 1.0]``; ends with 1 unless every file is worked
on or refused, in its time, without a word of Python's own.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

from tests.fuzzing import USUAL, judged
from tests.mutated_files import Mutant, mutants

WELL = ("within", "out", "refused")
COMMANDS: tuple[tuple[str, int, tuple[str, ...]], ...] = (
    ("engine", 1200, USUAL["engine"]),
    ("engine", 200, ("diagram FILE --json",)),
    ("engine", 100, ("beats FILE",)),
    ("engine", 100, ("hold FILE --no-search --samples 200",)),
    ("engine", 100, ("tram FILE --out-by 0.5°",)),
    ("readings", 200, USUAL["readings"]),
    ("table", 200, USUAL["table"]),
    ("readings", 50, ("adjust ENGINE FILE",)),
    ("readings", 200, ("adjust ENGINE FILE --basis drawing",)),
    ("marks", 500, USUAL["marks"]),
    ("slot", 300, USUAL["slot"]),
)


def main() -> int:
    """Run all; print the counts of each command and every file that ended badly."""
    wanted = argparse.ArgumentParser(description=__doc__)
    wanted.add_argument("--seed", type=int, default=1)
    wanted.add_argument("--share", type=float, default=1.0, help="of the files")
    wish = wanted.parse_args()
    total: Counter[str] = Counter()
    with tempfile.TemporaryDirectory() as folder:
        for number, (kind, count, command) in enumerate(COMMANDS):
            begun, found = time.process_time(), Counter[str]()
            for how, mutant, told in _ended(kind, int(count * wish.share), command, wish.seed + number, Path(folder)):
                found[how] += 1
                if how not in WELL:
                    print(f"  {how}: {mutant.how}\n    {told}", flush=True)
            total += found
            print(f"{' '.join(command)}: {dict(found)}, {time.process_time() - begun:.0f} s", flush=True)
    print(f"{total.total()} files: {dict(total)}")
    return int(any(how not in WELL for how in total))


def _ended(
    kind: str, count: int, command: tuple[str, ...], seed: int, folder: Path
) -> Iterator[tuple[str, Mutant, str]]:
    for mutant in mutants(kind, count, seed):
        how, told = judged(mutant, folder, command)
        yield how, mutant, told


if __name__ == "__main__":
    sys.exit(main())
