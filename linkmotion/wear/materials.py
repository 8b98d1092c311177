"""Materials of the trade: how much they grow with heat, how stiff they are, where they begin to yield.

Every figure names its source; those remembered say 'from memory'. Castings differ: where it matters, give your
own figures (:meth:`Material.with_figures`).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

MEMORY = "from memory"
OWN = "as given"
ROOM = 20.0  # °C at which sizes are measured
_PER_F = 1.8e-6  # a millionth per °F, per K
_DOOLEY = "Dooley, Applied Science for Metal Workers"
_COPPER_ASSOCIATION = "Copper Development Association"

COLD = -40.0  # °C
COLD_SHARE = 0.7
"""Below :data:`COLD` only this part of the coefficient is counted. Coefficients are printed for heat above room
temperature and fall with cold: from 20 to −196 °C copper alloys shrink by about 0.85 of what they would say, steels
by about 0.8 (from memory); the rule gives 0.78."""


class MaterialError(ValueError):
    """A material that is not known, or figures that none has."""


@dataclass(frozen=True, kw_only=True)
class Material:
    """A material.

    Attributes
    ----------
    name : str
    expansion : float
        Linear, per K.
    expansion_source, strength_source : str
        Where the expansion is from; where the other three are from.
    young : float
        Young's modulus, MPa.
    poisson : float
    yields : float
        Where lasting stretch begins, MPa, at the low end of what is usual; of cast iron, where it breaks in tension.
    """

    name: str
    expansion: float
    expansion_source: str
    young: float
    poisson: float
    yields: float
    strength_source: str = MEMORY

    def __post_init__(self) -> None:
        if not (0 < self.expansion < 1e-4 and 1e3 < self.young < 1e6 and 0 <= self.poisson < 0.5 and self.yields > 0):
            raise MaterialError(
                f"{self.name}: expansion {self.expansion:g} per K, Young's modulus {self.young:g} MPa, Poisson's ratio "
                f"{self.poisson:g} and yield {self.yields:g} MPa are not those of a metal"
            )

    def with_figures(
        self,
        *,
        expansion: float | None = None,
        young: float | None = None,
        poisson: float | None = None,
        yields: float | None = None,
    ) -> Material:
        """The same material with some figures of your own, marked so.

        Parameters
        ----------
        expansion : float, optional
            Linear, per K.
        young, yields : float, optional
            MPa.
        poisson : float, optional
            Poisson's ratio.

        Raises
        ------
        MaterialError
            Figures that are not those of a metal.
        """
        strength = {"young": young, "poisson": poisson, "yields": yields}
        given = {key: value for key, value in strength.items() if value is not None}
        changed = replace(self, **given)  # type: ignore[arg-type]
        if given:
            kept = [key for key in strength if key not in given]
            source = f"{OWN}; {', '.join(kept)} {self.strength_source}" if kept else OWN
            changed = replace(changed, strength_source=source)
        return changed if expansion is None else replace(changed, expansion=expansion, expansion_source=OWN)

    def strain(self, temperature: float) -> float:
        """Growth of a length of 1 from room temperature (20 °C); negative in the cold.

        Parameters
        ----------
        temperature : float
            °C; from −40 down only 0.7 of the coefficient counts (:data:`COLD_SHARE`).

        Examples
        --------
        >>> round(material("cast iron").strain(120.0), 6), round(material("phosphor bronze c54400").strain(-20.0), 6)
        (0.001001, -0.000692)
        """
        warm, deep = max(temperature, COLD) - ROOM, min(temperature - COLD, 0.0)
        return self.expansion * (warm + COLD_SHARE * deep)


def _metal(
    name: str, expansion: float, source: str, young: float, poisson: float, yields: float
) -> tuple[str, Material]:
    return name, Material(
        name=name, expansion=expansion, expansion_source=source, young=young, poisson=poisson, yields=yields
    )


MATERIALS = dict(
    (
        _metal("cast iron", 5.56 * _PER_F, _DOOLEY, 100e3, 0.26, 150),
        _metal("wrought iron", 6.48 * _PER_F, _DOOLEY, 190e3, 0.28, 180),
        _metal("mild steel", 11.7e-6, MEMORY, 205e3, 0.29, 220),
        _metal("cast steel", 11.7e-6, MEMORY, 200e3, 0.29, 220),
        _metal("tempered steel", 6.89 * _PER_F, _DOOLEY, 205e3, 0.29, 500),
        _metal("phosphor bronze c54400", 17.3e-6, f"{_COPPER_ASSOCIATION}, C54400, 20 to 300 °C", 103e3, 0.34, 240),
        _metal("phosphor bronze c53400", 17.8e-6, f"{_COPPER_ASSOCIATION}, C53400", 103e3, 0.34, 240),
        _metal("phosphor bronze", 17.3e-6, f"{_COPPER_ASSOCIATION}, that of C54400", 103e3, 0.34, 130),
        _metal("gunmetal", 18.0e-6, MEMORY, 95e3, 0.33, 100),
        _metal("brass", 10.52 * _PER_F, _DOOLEY, 100e3, 0.34, 100),
        _metal("copper", 8.87 * _PER_F, _DOOLEY, 117e3, 0.34, 60),
    )
)
"""By name. Young's modulus of grey cast iron ranges from about 80 to 140 GPa, of cast bronzes by a tenth
(from memory)."""


def material(name: str) -> Material:
    """A material by its name.

    Parameters
    ----------
    name : str
        One of :data:`MATERIALS`, in capitals or not.

    Raises
    ------
    MaterialError
        With the names that are known.
    """
    if name.lower() not in MATERIALS:
        raise MaterialError(f"no material {name!r}: known here are {', '.join(MATERIALS)}")
    return MATERIALS[name.lower()]
