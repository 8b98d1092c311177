"""Crank and piston: dead centres and stroke, with the cylinder line through the axle or off it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from linkmotion.gears.book import RADIAN, ConnectingRod, Cylinder, Number, crank_radius


@dataclass(frozen=True)
class CrankMotion:
    """Crank and piston: what dead centres and stroke are made of (lengths mm, angles radians).

    With the cylinder line a height h off the axle the dead centres are at
    ``asin(h/(L+r))`` and ``180 deg + asin(h/(L-r))`` from the line and the stroke is
    ``sqrt((L+r)^2 - h^2) - sqrt((L-r)^2 - h^2)``: more than 2r, and not 180 deg apart.
    """

    radius: Number
    rod: Number
    height: Number
    slope: Number

    @classmethod
    def of(cls, cylinder: Cylinder, rod: ConnectingRod) -> CrankMotion:
        """From the tables; the crank radius is found from the stroke when that is given.

        Parameters
        ----------
        cylinder, rod : Cylinder, ConnectingRod
            Lengths mm, the inclination degrees.
        """
        r = cylinder.crank_radius
        if r is None:
            r = crank_radius(cylinder.stroke, rod.length, cylinder.line_height)
        return cls(r, rod.length, cylinder.line_height, cylinder.inclination * RADIAN)

    @property
    def front_direction(self) -> Number:
        """Direction of the crank at front dead centre, radians."""
        return self.slope + np.arcsin(self.height / (self.rod + self.radius))

    @property
    def back_crank_angle(self) -> Number:
        """Crank angle of back dead centre from front dead centre, running forward, radians."""
        return (
            np.pi
            - np.arcsin(self.height / (self.rod - self.radius))
            + np.arcsin(self.height / (self.rod + self.radius))
        )

    @property
    def limits(self) -> tuple[Number, Number]:
        """Crosshead pin along the line at the front and back ends of its stroke, mm."""
        h2 = self.height**2
        return np.sqrt((self.rod + self.radius) ** 2 - h2), np.sqrt((self.rod - self.radius) ** 2 - h2)

    def crosshead(self, forward_angle: Any) -> Any:
        """Crosshead pin along the cylinder line, mm: ``r cos φ + sqrt(L² - (h - r sin φ)²)``.

        Parameters
        ----------
        forward_angle : float or array
            Crank angle from front dead centre in forward running, radians; φ is the crank's direction from the line.
        """
        phi = self.front_direction - self.slope - forward_angle
        across = self.height - self.radius * np.sin(phi)
        return self.radius * np.cos(phi) + np.sqrt(self.rod**2 - across**2)

    def fraction(self, forward_angle: Any) -> Any:
        """Piston's distance from its front limit as a fraction of the stroke.

        Parameters
        ----------
        forward_angle : float or array
            Crank angle from front dead centre in forward running, radians.

        Examples
        --------
        With a rod of five cranks the piston is past mid-stroke at the quarter: 1/2 + 1/20, very nearly.

        >>> engine = CrankMotion(radius=300.0, rod=1500.0, height=0.0, slope=0.0)
        >>> print(f"{engine.fraction(np.pi / 2):.4f}")
        0.5505
        """
        front, back = self.limits
        return (front - self.crosshead(forward_angle)) / (front - back)
