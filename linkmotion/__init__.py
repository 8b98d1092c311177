"""Valve events of steam-locomotive valve gear, from dimensions that can be measured.

==================  ===========  ==========================================  ==============  ==========================
quantity            symbol       name                                        unit            sign
==================  ===========  ==========================================  ==============  ==========================
crank angle         θ            ``crank_angle``                             degree          in the direction of running
pin                 x + iy       complex, origin at the axle                 mm              x forward, y up
valve displacement  v            ``displacement``                            mm              + forward from central
spindle pin         g            ``spindle``                                 mm              + forward along its guide
opening             s            ``opening``                                 mm              negative: overlap
lead                s(0)         ``lead``                                    mm              negative: blind
events                           ``admission`` ``cutoff`` ``release``        degree and      from that end's own dead
                                 ``compression``                             % of stroke     centre
die place           σ            ``die_place``                               mm              + up the slot
link angle          ψ            ``swing``                                   degree          + anticlockwise
==================  ===========  ==========================================  ==============  ==========================

Side elevation, the front to the right. Angles of the linkage are radians anticlockwise; the wheel
runs clockwise when the engine runs forward.

>>> from linkmotion import assess, findings, read_engine
>>> engine = read_engine("examples/dock_shunter.toml")
>>> left = assess(engine).sides[0]
>>> left.notches[0], f"{left.events['forward']['front'].percent['cutoff'][0]:.1f} %"
('full forward', '76.1 %')
>>> [finding.words for finding in findings(assess(engine))]
[]
"""

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from linkmotion.engine import Engine, State, Targets
    from linkmotion.files.engine_file import edit_engine, parse_engine, read_engine
    from linkmotion.files.faults import FileError
    from linkmotion.files.readings_file import Readings, read_readings
    from linkmotion.files.tolerance_table import read_tolerances
    from linkmotion.gears import Arm, DieHeight, Walschaerts
    from linkmotion.revolution import Revolution, revolve
    from linkmotion.studies.assess import Assessment, NotchError, SideEvents, assess
    from linkmotion.studies.diagnosis.priors import priors_of
    from linkmotion.studies.diagnosis.study import Diagnosis, diagnose
    from linkmotion.studies.findings import Finding, findings
    from linkmotion.studies.setting.adjustments import adjustments_of
    from linkmotion.studies.setting.advice import Advice, advise
    from linkmotion.studies.setting.side import SideEstimate
    from linkmotion.studies.slot.in_gear import clean_up_in_gear
    from linkmotion.studies.steam.cylinder_work import cylinder_work
    from linkmotion.studies.table import event_rows
    from linkmotion.studies.which_wear import which_wear
    from linkmotion.wear.condition import Condition

_WHERE = {
    "engine": ("Engine", "State", "Targets"),
    "files.engine_file": ("edit_engine", "parse_engine", "read_engine"),
    "files.faults": ("FileError",),
    "files.readings_file": ("Readings", "read_readings"),
    "files.tolerance_table": ("read_tolerances",),
    "gears": ("Arm", "DieHeight", "Walschaerts"),
    "revolution": ("Revolution", "revolve"),
    "studies.assess": ("Assessment", "NotchError", "SideEvents", "assess"),
    "studies.diagnosis.priors": ("priors_of",),
    "studies.diagnosis.study": ("Diagnosis", "diagnose"),
    "studies.findings": ("Finding", "findings"),
    "studies.setting.adjustments": ("adjustments_of",),
    "studies.setting.advice": ("Advice", "advise"),
    "studies.setting.side": ("SideEstimate",),
    "studies.slot.in_gear": ("clean_up_in_gear",),
    "studies.steam.cylinder_work": ("cylinder_work",),
    "studies.table": ("event_rows",),
    "studies.which_wear": ("which_wear",),
    "wear.condition": ("Condition",),
}
__all__ = [
    "Advice",
    "Arm",
    "Assessment",
    "Condition",
    "Diagnosis",
    "DieHeight",
    "Engine",
    "FileError",
    "Finding",
    "NotchError",
    "Readings",
    "Revolution",
    "SideEstimate",
    "SideEvents",
    "State",
    "Targets",
    "Walschaerts",
    "adjustments_of",
    "advise",
    "assess",
    "clean_up_in_gear",
    "cylinder_work",
    "diagnose",
    "edit_engine",
    "event_rows",
    "findings",
    "parse_engine",
    "priors_of",
    "read_engine",
    "read_readings",
    "read_tolerances",
    "revolve",
    "which_wear",
]


def __getattr__(name: str) -> Any:
    """Load a public name where it is first used, so that ``linkmotion --help`` need not load numpy."""
    from importlib import import_module

    for module, names in _WHERE.items():
        if name in names:
            return getattr(import_module(f"linkmotion.{module}"), name)
    raise AttributeError(f"module 'linkmotion' has no attribute {name!r}")
