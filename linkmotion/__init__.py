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

>>> import linkmotion as lm
>>> engine = lm.read_engine("examples/dock_shunter.toml")
>>> left = engine["drawing"].left
>>> left.notches[0], f"{left['full forward'].front.cutoff:.1f} %"
('full forward', '76.1 %')
>>> engine["drawing"].within_targets
True
"""

from __future__ import annotations

TYPE_CHECKING = False  # as type checkers know it; typing would be most of what is loaded here
if TYPE_CHECKING:
    from linkmotion.face import style
    from linkmotion.face.advice import EngineAdvice, advise
    from linkmotion.face.diagnosis import EngineDiagnosis, diagnose
    from linkmotion.face.eccentric import EquivalentEccentric
    from linkmotion.face.engine import Engine, State, new_engine, parse_engine, read_engine
    from linkmotion.face.in_motion import InMotion
    from linkmotion.face.lost_motion import LostMotion
    from linkmotion.face.measuring import MeasuringSheets
    from linkmotion.face.moving_page import MovingPage
    from linkmotion.face.names import UnknownName
    from linkmotion.face.notch import End, Notch
    from linkmotion.face.notched import StudiedSide
    from linkmotion.face.picture import Picture, picture
    from linkmotion.face.proposal import SlotProposal
    from linkmotion.face.readings import ReadingsFile, carried_back, read_readings
    from linkmotion.face.reconciliation import EngineReconciliation, NothingMeasured, reconcile
    from linkmotion.face.side import Side
    from linkmotion.face.side_diagnosis import SideDiagnosis
    from linkmotion.face.slot import SlotCleanUp
    from linkmotion.face.sweep import Sweep, sweep
    from linkmotion.face.tables import Table
    from linkmotion.face.tolerances import Held
    from linkmotion.face.traced import Traced, trace
    from linkmotion.face.trade_words import words
    from linkmotion.face.wear import Wear
    from linkmotion.files.faults import FileError
    from linkmotion.studies.assess import NotchError
    from linkmotion.studies.diagnosis.result import TooFewReadings

    __version__: str

_WHERE = {
    "face.advice": ("EngineAdvice", "advise"),
    "face.diagnosis": ("EngineDiagnosis", "diagnose"),
    "face.engine": ("Engine", "State", "new_engine", "parse_engine", "read_engine"),
    "face.eccentric": ("EquivalentEccentric",),
    "face.in_motion": ("InMotion",),
    "face.lost_motion": ("LostMotion",),
    "face.measuring": ("MeasuringSheets",),
    "face.moving_page": ("MovingPage",),
    "face.names": ("UnknownName",),
    "face.notch": ("End", "Notch"),
    "face.notched": ("StudiedSide",),
    "face.picture": ("Picture", "picture"),
    "face.proposal": ("SlotProposal",),
    "face.readings": ("ReadingsFile", "carried_back", "read_readings"),
    "face.reconciliation": ("EngineReconciliation", "NothingMeasured", "reconcile"),
    "face.side": ("Side",),
    "face.side_diagnosis": ("SideDiagnosis",),
    "face.slot": ("SlotCleanUp",),
    "face.sweep": ("Sweep", "sweep"),
    "face.tables": ("Table",),
    "face.tolerances": ("Held",),
    "face.traced": ("Traced", "trace"),
    "face.trade_words": ("words",),
    "face.wear": ("Wear",),
    "files.faults": ("FileError",),
    "studies.assess": ("NotchError",),
    "studies.diagnosis.result": ("TooFewReadings",),
}
__all__ = [
    "End",
    "Engine",
    "EngineAdvice",
    "EngineDiagnosis",
    "EngineReconciliation",
    "EquivalentEccentric",
    "FileError",
    "Held",
    "InMotion",
    "LostMotion",
    "MeasuringSheets",
    "MovingPage",
    "Notch",
    "NotchError",
    "NothingMeasured",
    "Picture",
    "ReadingsFile",
    "Side",
    "SideDiagnosis",
    "SlotCleanUp",
    "SlotProposal",
    "State",
    "StudiedSide",
    "Sweep",
    "Table",
    "TooFewReadings",
    "Traced",
    "UnknownName",
    "Wear",
    "__version__",
    "advise",
    "carried_back",
    "diagnose",
    "new_engine",
    "parse_engine",
    "picture",
    "read_engine",
    "read_readings",
    "reconcile",
    "style",
    "sweep",
    "trace",
    "words",
]


if not TYPE_CHECKING:  # who is checked is told of a name that is not there

    def __getattr__(name: str) -> object:
        """Load a public name where it is first used, so that ``linkmotion --help`` need not load numpy."""
        from importlib import import_module

        if name == "__version__":
            from importlib.metadata import version

            return version("linkmotion")
        if name == "style":
            return import_module("linkmotion.face.style")
        for module, names in _WHERE.items():
            if name in names:
                return getattr(import_module(f"linkmotion.{module}"), name)
        raise AttributeError(f"module 'linkmotion' has no attribute {name!r}")


def __dir__() -> list[str]:
    """Every public name, loaded or not."""
    return sorted({*globals(), *__all__})
