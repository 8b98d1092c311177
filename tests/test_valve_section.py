"""The valve drawn in section stands over its ports as its openings say, and the cylinder's contents are named right."""

from __future__ import annotations

from typing import Any

import matplotlib
import numpy as np
import pytest

from linkmotion.elevation.valve_shape import EXPANDING, LIVE, OUT, SQUEEZED, ValveSection, space_of
from linkmotion.files.engine_file import read_engine
from linkmotion.gears.book import Valve
from linkmotion.studies.assess import assess
from linkmotion.valve import ENDS, Ports
from linkmotion.views.valve_section import plot_valve_on_ports, plot_valve_section

matplotlib.use("agg")
ENGINES = ("dock_shunter", "metre_gauge", "stephenson_goods", "gooch_tank", "allan_saddle_tank", "donkey_eccentric")
LAPS: dict[str, Any] = {
    "steam_lap_front": 21.0,
    "steam_lap_back": 18.5,
    "exhaust_lap_front": -1.0,
    "exhaust_lap_back": 2.0,
}


def valve(admission: str) -> Valve:
    return Valve(admission=admission, port_width=30.0, guide_height=0.0, **LAPS)


def drawn(ax: object) -> list[str]:
    return [text.get_text() for text in ax.texts]  # type: ignore[attr-defined]


@pytest.mark.parametrize("admission", ["outside", "inside"])
@pytest.mark.parametrize("end", ENDS)
def test_the_gap_between_the_drawn_edges_is_the_opening_of_the_port(admission: str, end: str) -> None:
    own = valve(admission)
    section, ports = ValveSection.of(own, half_travel=50.0), Ports.of(own)
    port, edge = section.steam_edges(end)
    outward = (1 if end == "front" else -1) * (1 if admission == "outside" else -1)
    for v in (-37.0, -3.0, 0.0, 12.5, 44.0):
        gap = outward * (port - (edge + v))
        assert gap == pytest.approx(float(ports.edge("steam", end).opening(v)), abs=1e-12)
        at = 0 if (end == "front") == (admission == "outside") else 1
        gap = outward * (section.heads[end][at] + v - section.ports[end][at])
        assert gap == pytest.approx(float(ports.edge("exhaust", end).opening(v)), abs=1e-12)


@pytest.mark.parametrize("admission", ["outside", "inside"])
def test_the_drawn_valve_never_runs_out_of_the_picture_or_over_the_exhaust_port(admission: str) -> None:
    section = ValveSection.of(valve(admission), half_travel=70.0)
    for v in (-70.0, 70.0):
        assert all(abs(edge + v) < section.far for span in section.heads.values() for edge in span)
        if admission == "outside":
            assert section.heads["front"][1] + v > section.middle
            assert section.heads["back"][0] + v < -section.middle


@pytest.mark.parametrize("name", ENGINES)
def test_what_is_in_the_cylinder_changes_at_the_events_and_in_their_order(name: str) -> None:
    side = assess(read_engine(f"examples/{name}.toml")).sides[0]
    for end in ENDS:
        own = side.events["forward"][end]
        dead = 0.0 if end == "front" else np.degrees(side.gear.crank.back_crank_angle)
        after = {"admission": LIVE, "cutoff": EXPANDING, "release": OUT, "compression": SQUEEZED}
        for event, space in after.items():
            if event == "compression" and own.angle[event][0] > own.angle["admission"][0]:
                continue  # steam is let in before the exhaust is shut
            turn = np.radians(own.angle[event][0] + dead + 1e-4)
            toward = bool(np.sin(np.radians(own.angle[event][0])) < 0)
            assert space_of(side.ports, end, float(side.displacement[0](turn)), toward) == space


@pytest.mark.parametrize("name", ["metre_gauge", "donkey_eccentric"])
def test_the_picture_says_in_words_what_is_in_each_end_and_how_far_its_port_is_open(name: str) -> None:
    side = assess(read_engine(f"examples/{name}.toml")).sides[0]
    told = drawn(plot_valve_section(side, 0, 0.0))
    lead = side.events["forward"]["front"].lead[0]
    assert f"front end:\nlive steam\nport open {lead:.1f} mm" in told
    assert any(text.startswith("back end:\nexhaust") for text in told)
    home = drawn(plot_valve_section(side, 0, 90.0))
    assert any(text.startswith("front end:\nlive steam") for text in home)
    assert any(text.startswith("front end:\nexhaust") for text in drawn(plot_valve_section(side, 0, 270.0)))


def test_a_central_valve_shows_its_laps_and_a_moved_one_its_opening() -> None:
    own = valve("outside")
    assert {"lap 21.0 mm", "lap 18.5 mm"} <= set(drawn(plot_valve_on_ports(own)))
    moved = set(drawn(plot_valve_on_ports(own, -25.0)))
    assert {"open 4.0 mm", "covered 43.5 mm"} <= moved
    assert "line and line" in drawn(plot_valve_on_ports(own, -21.0))
