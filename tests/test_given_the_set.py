"""Limits of a fault whatever else is wrong, and if just these are: what each holds, and where they are told."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from linkmotion.commands.diagnose import DiagnoseRequest, run_diagnose
from linkmotion.studies.diagnosis.evidence import NONE, Linear
from linkmotion.studies.diagnosis.mixture import Mixture
from linkmotion.studies.diagnosis.study import Case, diagnose_supposing, diagnose_together
from tests.test_diagnosis import DOCK, ROD, planted

TRUNNION = ("expansion_link", "trunnion_y")


def test_limits_whatever_else_is_wrong_hold_over_the_mix_and_those_of_a_set_in_each() -> None:
    """Gears drawn by the law that is taken for granted: one of two parts wrong, or both, which look much alike.

    Over all of them 95 % of either kind of limits hold. Where both parts are wrong those whatever else is wrong hold
    fewer, since one fault alone has its weight; where one is they hold more. Those of the set hold 95 % of each.
    """
    rng, fault, likely = np.random.default_rng(1), 8.0, np.array([0.4, 0.4, 0.2])
    slopes = np.array([[1.0, 0.95], [0.0, np.sqrt(1 - 0.95**2)]])
    groups = [(0,), (1,), (0, 1)]
    sets = np.array([[0, NONE], [1, NONE], [0, 1]])
    linear, wide, nothing = Linear.about(slopes, np.ones(2)), np.where(sets == NONE, 0.0, fault**2), np.zeros(2)
    stds = np.sqrt(linear.spreads(sets, wide))
    between = np.array([0.0, 0.0, linear.covariance(sets[2], wide[2])[0, 1] / np.prod(stds[2])])
    mixed: dict[int, list[bool]] = {1: [], 2: []}
    given: dict[int, list[bool]] = {1: [], 2: []}
    for true in rng.choice(3, 500, p=likely).tolist():
        off, wrong = rng.standard_normal(2), groups[true]
        off[list(wrong)] *= np.hypot(1.0, fault)
        read = slopes @ off + rng.standard_normal(2)
        weights = likely * np.exp(linear.evidence(sets, wide[:, None], read)[:, 0])
        means = linear.estimates(sets, wide, np.tile(read, (3, 1)))
        told = Mixture(sets, weights / np.sum(weights), means, stds, between)
        _mean, low, high = told.if_wrong(nothing)
        ((least, most),) = told.if_these([wrong], nothing)
        mixed[len(wrong)] += [bool(low[i] <= off[i] <= high[i]) for i in wrong]
        given[len(wrong)] += [bool(least[k] <= off[i] <= most[k]) for k, i in enumerate(wrong)]
    assert 0.93 < np.mean(mixed[1] + mixed[2]) < 0.97  # of some 600
    assert np.mean(mixed[1]) > 0.96 > 0.91 > np.mean(mixed[2])
    assert all(0.92 < np.mean(own) < 0.98 for own in given.values())  # of some 400 and 200


def test_limits_of_a_set_that_is_told_are_those_of_a_diagnosis_that_looks_at_no_other() -> None:
    side, priors, readings = planted("dock_shunter", {ROD: 2.5, TRUNNION: -4.0})
    case = Case(side, tuple(readings), priors)
    (found,) = diagnose_together([case])
    (own,) = [each for each in found.explanations if set(each.keys) == {ROD, TRUNNION}]
    given = diagnose_supposing(case, (ROD, TRUNNION))
    assert [each.keys for each in given.explanations] == [own.keys]
    assert {each.key for each in given.suspects if each.probability > 0} == {ROD, TRUNNION}
    for key, size in ((ROD, 2.5), (TRUNNION, -4.0)):
        at, alone = own.keys.index(key), given.suspect(key)
        assert alone.probability == pytest.approx(1.0, abs=1e-12)
        width = alone.high - alone.low
        assert own.low[at] < size < own.high[at]
        assert own.low[at] == pytest.approx(alone.low, abs=0.01 * width)
        assert own.high[at] == pytest.approx(alone.high, abs=0.01 * width)


def test_explanations_are_printed_with_their_limits(capsys: pytest.CaptureFixture[str]) -> None:
    request = DiagnoseRequest(Path(DOCK), Path("examples/readings/dock_shunter.toml"), json=True)
    assert run_diagnose(request) == 1
    first = json.loads(capsys.readouterr().out)["sides"][0]["explanations"][0]["wrong"][0]
    assert first["low"] < 3 / 32 < first["high"]
    assert run_diagnose(replace(request, json=False)) == 1
    lines = capsys.readouterr().out.splitlines()
    start = lines.index("Explanations, likeliest first")
    row = next(line for line in lines[start:] if line.startswith("eccentric rod: length"))
    told = [float(word) for word in row.split() if word.startswith("+")]
    assert told == [round(first["low"], 3), round(first["high"], 3)]  # as all lengths of an inch file: to a thousandth
    assert "if just these are" in " ".join(lines[start : start + 3])
