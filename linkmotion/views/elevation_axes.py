"""The side elevation on matplotlib's axes: to scale in the engine's unit, with a scale bar, names, and what it says."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import matplotlib
import numpy as np
import shapely
from matplotlib.patches import Circle as Ring
from matplotlib.patches import PathPatch, Rectangle
from matplotlib.path import Path

from linkmotion.elevation.body import Body, Places, Pose
from linkmotion.elevation.outlines import (
    BODY,
    MARK,
    PIN,
    SECTION,
    TIE,
    Area,
    Circle,
    Line,
    Outline,
    Shape,
    parts_of,
    placed,
)
from linkmotion.elevation.side_elevation import Elevation, outer_points
from linkmotion.elevation.valve_shape import LIVE, OUT
from linkmotion.views.elevation_colours import CONTENTS, CUT, GHOST, HATCH, LINES, fill_of, ink_of, weight_of
from linkmotion.views.style import FLAG, PAPER

_WEIGHTS = {"frame": 0.008, "wheel": 0.03, "bracket": 0.06}  # how much it matters that no name covers it
_THICK = 12.0  # mm: half the breadth that a thin line is to have to itself
_NEAR = 0.05  # mm: what is left out between the points of a curve
ALWAYS = {"steam": LIVE, "exhaust": OUT}


@dataclass(frozen=True)
class Ghost:
    """The same drawing as it stands otherwise, laid over as outlines.

    Attributes
    ----------
    elevation : Elevation
        Of the other state, side or position, made ``like`` the one over which it is laid.
    places : dict
        Where its pins stand.
    words : str
        What it is.
    factor : float
        By how much its difference is enlarged.
    """

    elevation: Elevation
    places: Places
    words: str
    factor: float = 1.0

    def told(self, against: str) -> str:
        """What is drawn, and how far from the truth."""
        if self.factor == 1.0:
            return f"broken lines: {self.words}"
        return f"broken lines: {self.words}, drawn {self.factor:g} times too far from {against}"


@dataclass(eq=False)
class Sheet:
    """Axes on which bodies are laid, one over another.

    Attributes
    ----------
    ax : Axes
        The axes.
    scale : float
        What a millimetre is in the axes' own unit.
    spaces : dict
        What is in each space of the cylinder and the chest.
    fine : float
        By what lines are thinner than on a whole sheet, 1 at most.
    view : (left, low, right, high), optional
        In the axes' unit, outside which nothing is seen; the axes unless given.
    held : set of str
        What is in the spaces that are seen.
    taken : list of (area, weight)
        What is drawn, in the axes' unit, and how much it matters that no name covers it.
    """

    ax: Any
    scale: float
    spaces: Mapping[str, str]
    fine: float = 1.0
    view: tuple[float, float, float, float] | None = None
    held: set[str] = field(default_factory=set)
    taken: list[tuple[Area, float]] = field(default_factory=list)
    _over: float = 1.0

    def lay(self, body: Body, places: Places, regions: Mapping[str, Area], marked: bool = False) -> None:
        """Lay a body over what is there."""
        pose = body.follows.place(places)
        region = regions[body.within] if body.within else None
        for shape in body.shapes:
            self._over += 0.01
            for artist in self._artists(body.kind, shape, pose, marked):
                self.ax.add_artist(artist)
                artist.set_linewidth(self.fine * artist.get_linewidth())
                self._clip(artist, region)
            if isinstance(shape, Line) and shape.role in (MARK, TIE):
                at = self.scale * (pose.origin + pose.turn * shape.points)
                self.taken.append((shapely.LineString([(p.real, p.imag) for p in at]).buffer(self.scale * _THICK), 1.0))
            if isinstance(shape, Outline):
                own = placed(shape.area, pose.origin, pose.turn)
                own = own if region is None else own.intersection(region)
                own = shapely.transform(own, lambda xy: xy * self.scale)
                self.taken.append((own, _WEIGHTS.get(body.kind, 1.0)))
                if shape.space and (self.view is None or own.intersects(shapely.box(*self.view))):
                    self.held.add(self.spaces[shape.space])

    def fade(self) -> None:
        """Make pale what was laid so far."""
        self._over += 0.01
        veil = Rectangle((0, 0), 1, 1, transform=self.ax.transAxes, fc=PAPER, ec="none", alpha=0.72, zorder=self._over)
        self.ax.add_artist(veil)
        self.taken = [(area, 0.2 * weight) for area, weight in self.taken]

    def _clip(self, artist: Any, region: Area | None) -> None:
        """Let no more be seen of an artist than lies in the view, and in a region of the frame (mm)."""
        seen = None if region is None else shapely.transform(region, lambda xy: xy * self.scale)
        if self.view is not None:
            seen = shapely.box(*self.view) if seen is None else seen.intersection(shapely.box(*self.view))
        if seen is None:
            artist.set_clip_path(self.ax.patch)
        else:
            path = self._path(shapely.transform(seen, lambda xy: xy / self.scale), Pose(0j, 1 + 0j))
            artist.set_clip_path(path, self.ax.transData)

    def _artists(self, kind: str, shape: Shape, pose: Pose, marked: bool) -> list[Any]:
        ink, weight = (FLAG, 1.6) if marked else (ink_of(kind), weight_of(kind))
        match shape:
            case Outline(area=area, role=role, space=space):
                path = self._path(area, pose)
                if space:
                    own = CONTENTS[self.spaces[space]]
                    return self._filled(path, own.fill, own.hatch, own.ink, ink, 0.6)
                weight = weight if role in (BODY, SECTION) else 0.4
                return self._filled(path, *fill_of(kind, role), CUT, ink, weight)
            case Line(points=points, role=role):
                at = self.scale * (pose.origin + pose.turn * points)
                return [matplotlib.lines.Line2D(at.real, at.imag, color=ink, zorder=self._over, **LINES[role])]
            case Circle(at=at, radius=radius, role=role):
                middle, size = self.scale * (pose.origin + pose.turn * at), self.scale * radius * abs(pose.turn)
                fill = fill_of(kind, role)[0] if role == PIN else "none"
                look = {"lw": 0.6, "ls": "-"} if role == PIN else LINES[role]
                return [Ring((middle.real, middle.imag), size, fc=fill, ec=ink, zorder=self._over, **look)]

    def _filled(self, path: Path, fill: str, hatch: str, pattern: str, ink: str, weight: float) -> list[Any]:
        """A filled outline: its fill with a pattern, then its edge."""
        found: list[Any] = []
        if hatch:
            with matplotlib.rc_context({"hatch.linewidth": HATCH}):
                found.append(PathPatch(path, fc=fill, ec=pattern, hatch=hatch, lw=0.0, zorder=self._over))
        rest = "none" if hatch else fill
        found.append(PathPatch(path, fc=rest, ec=ink, lw=weight, joinstyle="round", zorder=self._over))
        return found

    def _path(self, area: Area, pose: Pose) -> Path:
        rings = [ring[:-1] for ring in Outline(area.simplify(_NEAR)).rings()] if parts_of(area) else []
        corners, codes = [], []
        for ring in rings:
            at = self.scale * (pose.origin + pose.turn * ring)
            corners += [*zip(at.real, at.imag, strict=True), (0.0, 0.0)]
            codes += [Path.MOVETO, *[Path.LINETO] * (len(at) - 1), Path.CLOSEPOLY]
        return Path(corners or np.empty((0, 2)), codes or None)

    def ghost(self, own: Elevation, places: Places, other: Ghost) -> None:
        """Lay another state over this one as outlines, its difference enlarged."""
        far = {
            pin: places[pin] + other.factor * (at - places[pin]) if pin in places else at
            for pin, at in other.places.items()
        }
        before = {body.name: body for body in own.bodies}
        for body in other.elevation.bodies:
            pose, old = body.follows.place(far), before.get(body.name)
            if old is not None and _alike(body, pose, old, old.follows.place(places), own.paths.r):
                continue
            for shape in body.shapes:
                if isinstance(shape, Outline) and not shape.space:
                    path = self._path(shape.area, pose)
                    look = {"ec": GHOST["color"], "lw": GHOST["lw"], "ls": GHOST["ls"]}
                    patch = self.ax.add_artist(PathPatch(path, fc="none", zorder=40, **look))
                    self._clip(patch, None)


def _alike(body: Body, pose: Pose, old: Body, stood: Pose, r: float) -> bool:
    """Whether two bodies lie on one another as far as can be seen."""
    one, two = outer_points(body, pose), outer_points(old, stood)
    return one.shape == two.shape and bool(np.max(np.abs(one - two)) < 2e-3 * r)


def lay(
    sheet: Sheet, elevation: Elevation, places: Places, kinds: Sequence[str] = (), marked: Sequence[str] = ()
) -> None:
    """Lay an elevation's bodies (those of some kinds only, where given) as they stand; ``marked`` are heavier."""
    for body in elevation.bodies:
        if not kinds or body.kind in kinds:
            sheet.lay(body, places, elevation.regions, body.name in marked)
