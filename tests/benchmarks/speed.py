"""Speed against the bars of DEVELOPERS.md and against peers, all in one run on one thread.

Run: ``OMP_NUM_THREADS=1 python -m tests.benchmarks.speed`` (needs the ``test`` extra). Each figure is the best
of several rounds, since the machines are noisy; ratios are taken within the one run.
"""

from __future__ import annotations

import copy
import os
import subprocess
import sys
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path

import numpy as np

from linkmotion.files.engine_file import read_engine
from linkmotion.gears import Arm, Gear, ReverserPosition
from linkmotion.gears.frame import VALVE_GUIDE
from linkmotion.gears.sensitivity import valve_derivatives
from linkmotion.linkage import Harmonics, Solution, Wheel, solve
from tests.gears_at_hand import gear_from
from tests.independent import casadi_loop, exudyn_gear, joint_angles
from tests.independent.trial_gears import OUTSIDE_GEAR

POSITIONS, NOTCHES = 3600, 21
ARM = -13.2


def best(call: Callable[[], object], rounds: int = 40, repeat: int = 5) -> float:
    """Least mean processor time of a call, seconds: what others do on the machine does not count."""
    call()
    times = []
    for _ in range(rounds):
        start = time.process_time()
        for _ in range(repeat):
            call()
        times.append((time.process_time() - start) / repeat)
    return min(times)


_OWN_MEMORY = """
import atexit, runpy, sys
def told():
    with open("/proc/self/status") as status:
        print(next(line for line in status if line.startswith("VmHWM")), file=sys.stderr)
atexit.register(told)
sys.argv = ["linkmotion", *sys.argv[1:]]
runpy.run_module("linkmotion", run_name="__main__")
"""


def processor_time(*words: str) -> tuple[float, float]:
    """Processor time (s) and greatest memory (MB) of a whole command; least of three runs.

    The memory is the process's own high-water mark, which begins afresh when it is started.
    """
    least = (np.inf, np.inf)
    for _ in range(3):
        command = [sys.executable, "-c", _OWN_MEMORY, *words]
        before = os.times()
        ran = subprocess.run(command, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True, check=False)
        after = os.times()
        memory = int(ran.stderr.split("VmHWM:")[1].split()[0]) / 1024
        spent = after.children_user + after.children_system - before.children_user - before.children_system
        least = min(least, (spent, memory))
    return least


def told(what: str, value: float, bar: float, unit: str, at_least: bool = False) -> None:
    """Print a figure beside its bar."""
    kept = value >= bar if at_least else value <= bar
    print(f"{what:<66}{value:9.3f} {unit:<12} bar {'≥' if at_least else '≤'} {bar:g}   {'kept' if kept else 'MISSED'}")


def core() -> None:
    """The gear from nothing, the Fourier route, the derivatives, and the peers."""
    gear = gear_from(OUTSIDE_GEAR)
    wheel = Wheel.revolution(POSITIONS)
    solution = solve(gear.declare(Arm(ARM)), wheel)
    once = best(lambda: solve(gear.declare(Arm(ARM)), wheel))
    told("one notch, 3,600 positions, every point, from nothing", once / POSITIONS * 1e6, 0.30, "µs/position")

    arms = np.linspace(-13.2, 11.6, NOTCHES)[:, None]

    def series() -> object:
        few = solve(gear.declare(Arm(arms)), Wheel.revolution(48))
        return Harmonics.through(few.along(VALVE_GUIDE)).on_grid(POSITIONS)

    told("21 notches, 3,600 positions, Fourier route", best(series) / POSITIONS / NOTCHES * 1e6, 0.03, "µs/position")
    slopes = best(lambda: valve_derivatives(gear, Arm(ARM), solution))
    told("derivatives of the valve to every dimension, over the solve", slopes / once, 3.0, "times")
    every_gear(wheel)
    peers(once / POSITIONS)


def anew(gear: Gear, setting: ReverserPosition, wheel: Wheel) -> Solution:
    """Declared and solved from nothing."""
    return solve(gear.declare(setting), wheel)


def every_gear(wheel: Wheel) -> None:
    """The same of every example, in its first notch."""
    for path in sorted(Path("examples").glob("*.toml")):
        gear = read_engine(path).gear()
        setting = gear.setting(next(iter(gear.notches.values())))
        solution = solve(gear.declare(setting), wheel)
        once = best(partial(anew, gear, setting, wheel))
        told(f"{path.stem}: one notch from nothing", once / POSITIONS * 1e6, 0.30, "µs/position")
        slopes = best(partial(valve_derivatives, gear, setting, solution))
        told(f"{path.stem}: derivatives, over the solve", slopes / once, 3.0, "times")


def peers(own: float) -> None:
    """The same equations given to general libraries."""
    tables = copy.deepcopy(OUTSIDE_GEAR)
    angles = np.arange(POSITIONS) * 360.0 / POSITIONS
    loop = casadi_loop.build(tables, POSITIONS)
    casadi = best(lambda: loop(ARM, angles), rounds=3, repeat=2) / POSITIONS
    told("casadi fast_newton by mapaccum, over linkmotion", casadi / own, 10, "times", at_least=True)
    few = angles[::10]
    exudyn = best(lambda: exudyn_gear.valve_positions(tables, ARM, few), rounds=2, repeat=1) / few.size
    told("exudyn multibody, over linkmotion", exudyn / own, 100, "times", at_least=True)
    fsolve = best(lambda: joint_angles.solve(tables, ARM, few), rounds=2, repeat=1) / few.size
    told("scipy fsolve, one position at a time, over linkmotion", fsolve / own, 500, "times", at_least=True)


def commands() -> None:
    """Whole processes."""
    engine = "examples/metre_gauge.toml"
    for what, bar, args in (
        ("linkmotion --help", 0.4, ("--help",)),
        ("linkmotion check --json", 1.2, ("check", engine, "--json")),
        ("linkmotion check --tables", 1.2, ("check", engine, "--tables")),
        (
            "linkmotion check, every plot and the report",
            5.0,
            ("check", engine, "--state", "as found", "--into", "/tmp/linkmotion-speed"),
        ),
    ):
        seconds, memory = processor_time(*args)
        told(what, seconds, bar, "s")
        told(f"{what}: memory", memory, 250, "MB")


def long_jobs() -> None:
    """Whole processes and those that they start, one for each core, on two engines."""
    into = "/tmp/linkmotion-speed"
    for name in ("metre_gauge", "dock_shunter"):
        engine = f"examples/{name}.toml"
        rows: dict[str, tuple[float, tuple[str, ...]]] = {
            "hold, 10,000 gears, all notches": (12.0, ("hold", engine, "--json")),
            "hold, 10,000 gears, one notch": (2.5, ("hold", engine, "--json", "--notch", "full forward")),
            "page": (1.2, ("page", engine, "--into", f"{into}.html", "--replace")),
            "card": (2.5, ("card", engine, "--into", f"{into}.pdf", "--replace")),
        }
        for what, (bar, args) in rows.items():
            told(f"linkmotion {what}: {name}", processor_time(*args)[0], bar, "s")


if __name__ == "__main__":
    core()
    commands()
    long_jobs()
