"""How figures are taken, against what is printed: combined doubts, scatter of takings, arcs, fits.

The source of each stands beside it. JCGM 100:2008 (GUM) was not opened: its annex H is as two general metrology
libraries carry it.
"""

from __future__ import annotations

import math
from fractions import Fraction

import numpy as np
import pytest
from scipy import stats
from uncertainties import ufloat

from linkmotion.measuring import Part, Taken
from linkmotion.measuring.arcs import by_chord_and_rise
from linkmotion.measuring.taken import mean_of, worked
from tests.taken import taken, worn

LORBER = {  # m: error by steel tape, by cord
    1000: (4, 9), 2000: (10, 19), 3000: (20, 32), 4000: (33, 47), 5000: (50, 65),
    6000: (71, 86), 7000: (96, 112), 8000: (125, 141), 9000: (157, 174), 10000: (193, 209),
}  # fmt: skip


@pytest.mark.parametrize("distance", LORBER)
def test_two_independent_errors_combine(distance: int) -> None:
    """F. Lorber, Dingler 235 (1880), pp. 199-203, m.

    Its prints run up to 2 % high (it used 1.9e-6) and are rounded up to the whole metre.
    """
    sight = 1.874e-6 * distance**2
    for along, printed in zip((0.00326, 0.00877), LORBER[distance], strict=True):
        both = Taken(0.0, {"sight": Part(sight), "base": Part(along * distance)})
        assert both.standard == pytest.approx(printed, rel=0.02, abs=0.8)  # see above


STAMPFER = {  # readings, mean printed, standard deviation of one as reckoned from the readings
    "circle 1": ((7064, 7068, 7064, 7066, 7071, 7067, 7066, 7066, 7070, 7068), 7.0670, 0.00231),
    "circle 2": ((4907, 4908, 4909, 4910, 4906, 4910, 4905, 4911, 4906, 4909), 4.9081, 0.00202),
    "figure 28": ((10808, 10824, 10791, 10800, 10820, 10818), 10.810, 0.01284),
    "figure 29": ((4527, 4543, 4535, 4554, 4550, 4539), 4.541, 0.00989),
}


@pytest.mark.parametrize("name", STAMPFER)
def test_takings_their_mean_and_scatter(name: str) -> None:
    """S. Stampfer, Dingler 116 (1850), pp. 424-441: means as printed; his errors are mean absolute deviations."""
    readings, mean, deviation = STAMPFER[name]
    found = mean_of([Taken(Fraction(one, 1000)) for one in readings], lambda: "scatter")
    assert found.value == pytest.approx(mean, abs=0.0005)
    assert found.standard * math.sqrt(len(readings)) == pytest.approx(deviation, abs=5e-6)
    written = taken(str([f"{one / 1000} mm" for one in readings]).replace("'", '"'))
    assert (written.value, written.doubt) == pytest.approx((found.value, found.doubt), rel=1e-12)


def test_256_takings() -> None:
    """W. Jordan, Dingler 256 (1885), pp. 515-517: steps in cm, mean 80.7, mean error of one 4.47."""
    least = (1, 0, 0, 0, 0, 0, 0, 2, 1, 1, 2, 5, 6, 13, 18, 34, 29)  # how many of 63 cm, 64 cm ...
    more = (28, 23, 20, 10, 13, 11, 13, 11, 3, 4, 2, 1, 1, 1, 1, 0, 1, 1)
    steps = [63 + i for i, count in enumerate((*least, *more)) for _ in range(count)]
    assert len(steps) == 256
    found = mean_of([Taken(Fraction(step)) for step in steps], lambda: "scatter")
    assert found.value == pytest.approx(80.7, abs=0.05)
    assert found.standard * 16 == pytest.approx(4.47, abs=0.05)


def test_an_end_gauge() -> None:
    """JCGM 100:2008, H.1: 50.000838 mm, u 32 nm, 16 degrees of freedom (16.7 cut), U 93 nm at 99 %."""

    def law(standard: float, apart: float, expansion: float, off: float, more: float, warmer: float) -> float:
        return standard + apart - standard * (more * off + expansion * warmer)

    comparator = {"repeat": Part(13 / math.sqrt(5), 24), "random": Part(3.9, 5), "systematic": Part(6.7, 8)}
    inputs = [
        Taken(50_000_623.0, {"standard": Part(25.0, 18)}),
        Taken(215.0, comparator),
        Taken(11.5e-6, {"expansion": Part(2e-6 / math.sqrt(3))}),
        Taken(-0.1, {"room": Part(0.41)}),
        Taken(0.0, {"more": Part(1e-6 / math.sqrt(3), 50)}),
        Taken(0.0, {"warmer": Part(0.05 / math.sqrt(3), 2)}),
    ]
    found = worked(law, inputs)
    assert found.value == pytest.approx(50_000_838.0, abs=0.5)
    assert found.standard == pytest.approx(32.0, abs=0.5)
    assert found.freedom == pytest.approx(16.7, abs=0.1)
    assert found.standard * stats.t.ppf(0.995, math.floor(found.freedom)) == pytest.approx(93.0, abs=1.0)


CIRCUIT = {  # five readings at once: V, mA, radians
    "v": (5.007, 4.994, 5.005, 4.990, 4.999), "i": (19.663, 19.639, 19.640, 19.685, 19.678),
    "phi": (1.0456, 1.0438, 1.0468, 1.0428, 1.0433),
}  # fmt: skip


def test_quantities_read_at_once_err_together() -> None:
    """JCGM 100:2008, H.2: resistance, reactance and impedance of one circuit, their doubts and how they go together.

    R 127.732 (0.071), X 219.847 (0.295), Z 254.260 (0.236); correlations of what was read −0.36, 0.86, −0.65, of what
    follows −0.588, −0.485, 0.993. The readings' common sources are drawn apart by Cholesky's square root.
    """
    readings = np.array(list(CIRCUIT.values()))
    assert np.corrcoef(readings)[np.triu_indices(3, 1)] == pytest.approx([-0.36, 0.86, -0.65], abs=0.006)
    shared = np.linalg.cholesky(np.cov(readings) / 5)
    v, i, phi = (
        Taken(float(mean), {source: Part(float(part)) for source, part in enumerate(row) if part})
        for mean, row in zip(readings.mean(axis=1), shared, strict=True)
    )
    laws = {
        "R": lambda v, i, phi: v / i * 1000 * np.cos(phi), "X": lambda v, i, phi: v / i * 1000 * np.sin(phi),
        "Z": lambda v, i, phi: v / i * 1000 + 0 * phi,
    }  # fmt: skip
    found = {name: worked(law, [v, i, phi]) for name, law in laws.items()}
    for name, value, u in (("R", 127.732, 0.071), ("X", 219.847, 0.295), ("Z", 254.260, 0.236)):
        assert found[name].value == pytest.approx(value, abs=0.0005)
        assert found[name].standard == pytest.approx(u, abs=0.0006)  # X by these readings 0.29558: cut in print
    for one, two, printed in (("R", "X", -0.588), ("R", "Z", -0.485), ("X", "Z", 0.993)):
        parts = found[one].parts, found[two].parts
        together = sum(parts[0][source].amount * parts[1][source].amount for source in range(3))
        own = found[one].standard * found[two].standard
        assert together / own == pytest.approx(printed, abs=0.0005)
        assert worked(lambda a, b: a - b, [found[one], found[two]]).standard == pytest.approx(
            math.sqrt(found[one].standard ** 2 + found[two].standard ** 2 - 2 * together), rel=1e-9
        )
    alone = [Taken(own.exact, {name: Part(own.standard)}) for name, own in (("v", v), ("i", i), ("phi", phi))]
    assert worked(laws["R"], alone).standard == pytest.approx(0.20, abs=0.01)  # 0.071: the ruler sees the correlations


def test_a_line_fitted_to_a_thermometers_corrections() -> None:
    """JCGM 100:2008, H.3: −0.1712 (0.0029) and 0.00218 (0.00067) per degree about 20 °C; at 30 °C −0.1494 (0.0041)."""
    read = (21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511)
    off = (-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160)
    (slope, at), covariance = np.polyfit(np.array(read) - 20.0, off, 1, cov="unscaled")
    left = np.array(off) - at - slope * (np.array(read) - 20.0)
    shared = np.linalg.cholesky(covariance[::-1, ::-1] * (left @ left) / (len(off) - 2))
    line = [
        Taken(float(value), {source: Part(float(part)) for source, part in enumerate(row) if part})
        for value, row in zip((at, slope), shared, strict=True)
    ]
    assert (line[0].value, line[0].standard) == pytest.approx((-0.1712, 0.0029), abs=0.00005)
    assert (line[1].value, line[1].standard) == pytest.approx((0.00218, 0.00067), abs=0.000005)
    there = worked(lambda at, slope: at + 10.0 * slope, line)
    assert (there.value, there.standard) == pytest.approx((-0.1494, 0.0041), abs=0.00005)


def test_expansion_of_a_bar() -> None:
    """NIST Technical Note 1900, E13: alpha 1.7266e-5, u 1.76e-6."""
    inputs = [
        Taken(1.4999, {"cold": Part(0.0001)}),
        Taken(1.5021, {"warm": Part(0.0002)}),
        Taken(288.15, {"first": Part(0.02)}),
        Taken(373.10, {"last": Part(0.05)}),
    ]
    found = worked(lambda cold, warm, first, last: (warm - cold) / (cold * (last - first)), inputs)
    assert found.value == pytest.approx(1.7266e-5, abs=5e-10)
    assert found.standard == pytest.approx(1.76e-6, abs=5e-9)


def test_effective_degrees_of_freedom() -> None:
    """Welch and Satterthwaite: 0.57 with 9 and 0.25 with infinitely many: 12.8 (a published worked example)."""
    assert Taken(0.0, {"a": Part(0.57, 9), "b": Part(0.25)}).freedom == pytest.approx(12.8, abs=0.05)


def test_doubts_follow_students_table() -> None:
    """JCGM 100:2008, table G.2, 95 %: t for 1, 2, 5, 10, 20 degrees of freedom (from memory), as scipy has it too."""
    for freedom, printed in {1: 12.71, 2: 4.30, 5: 2.57, 10: 2.23, 20: 2.09}.items():
        found = Taken(0.0, {"a": Part(1.0, freedom)}).doubt
        assert found == pytest.approx(printed, abs=0.005)
        assert found == pytest.approx(stats.t.ppf(0.975, freedom), rel=1e-9)


def test_arcs_by_chord_and_rise() -> None:
    """Three that are printed.

    Chord 36, rise 1.25: 130.225 (workshop handbooks). Dished end of 2.74 m, rise 280 mm: 3.5 m, Dingler 264 (1887),
    p. 273. Chord 4, radius 16: rise 1/8 by Walker's rule c²/8R, Dingler 186 (1867), p. 435; true 0.12549.
    """
    assert taken('{ chord = "36 in", rise = "1 1/4 in" }').value == pytest.approx(130.225 * 25.4, rel=1e-15)
    assert taken('{ chord = "2740 mm", rise = "280 mm" }').value == pytest.approx(3500.0, abs=50.0)
    points = '{ points = [["0 in", "0 in"], ["18 in", "1 1/4 in"], ["36 in", "0 in"]] }'  # the first, by three points
    assert taken(points).value == pytest.approx(130.225 * 25.4, rel=1e-12)
    assert by_chord_and_rise(4.0, 0.12549) == pytest.approx(16.0, abs=0.001)
    assert by_chord_and_rise(4.0, 0.125) - 0.125 / 2 == pytest.approx(16.0, abs=1e-12)  # the rule leaves out h/2


FITS = {  # ISO 286: bore, pin (upper and lower limits, mm), least and greatest clearance, µm
    "50 H7/g6": ((50.025, 50.0), (49.991, 49.975), 9, 50),
    "25 H8/f7": ((25.033, 25.0), (24.980, 24.959), 20, 74),
    "25 H7/g6": ((25.021, 25.0), (24.993, 24.980), 7, 41),
}


@pytest.mark.parametrize("fit", FITS)
def test_clearances_of_standard_fits(fit: str) -> None:
    """ISO 286 limits: the greatest clearance of any bore with any pin, and the least."""
    bore, pin, least, greatest = FITS[fit]
    bush = f'{{ greatest = "{bore[0]} mm", least = "{bore[1]} mm" }}'
    shaft = f'{{ greatest = "{pin[0]} mm", least = "{pin[1]} mm" }}'
    assert worn(f"{{ bush = {bush}, pin = {shaft} }}").value == pytest.approx(greatest / 1000, abs=1e-12)
    tight = worn(f'{{ bush = "{bore[1]} mm", pin = "{pin[0]} mm" }}')
    assert tight.value == pytest.approx(least / 1000, abs=1e-12)


def test_combined_doubts_as_a_general_library_has_them() -> None:
    """uncertainties (PyPI), an independent law of propagation that keeps correlations too."""
    c, h, d = ufloat(310, 0.3), ufloat(10.05, 0.04), ufloat(1372, 1.0)
    peer = c**2 / (8 * h) + h / 2 - d / 2 + d / 8
    inputs = [Taken(x.n, {name: Part(x.s)}) for name, x in (("c", c), ("h", h), ("d", d))]
    found = worked(lambda c, h, d: c**2 / (8 * h) + h / 2 - d / 2 + d / 8, inputs)
    assert found.value == pytest.approx(peer.n, rel=1e-12)
    assert found.standard == pytest.approx(peer.s, rel=1e-9)
    apart = worked(lambda a, b: a - b, [found, inputs[2]])
    assert apart.standard == pytest.approx((peer - d).s, rel=1e-9)
    assert math.isinf(apart.freedom)
