"""What the work amounts to: in go strips in pieces, out come areas, volumes, mass and truck loads.

What two passes run over counts once, for the first of them.  Volume is the exact integral of the
depth between both edges, mass is volume times the density in the road, loose volume is mass over
the density in the truck.  Loads are given by weight and by volume: the greater number is needed.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from routeprep.ground import Ground
from routeprep.plans import Quantity
from routeprep.roadway import Haul
from routeprep.shapes import Leg

__all__ = ["quantities_of"]

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]
# What is counted, from and to along [m], area [m2] and volume [m3].
_Count = tuple[str, tuple[float, float], float, float]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Amounts:
    """A strip in pieces with the area [m2] and volume [m3] of each within a stretch."""

    ground: Ground
    area_m2: Floats
    volume_m3: Floats

    def of(self, mine: Bools) -> tuple[float, float]:
        """Area [m2] and volume [m3] of some pieces together."""
        return float(self.area_m2[mine].sum()), float(self.volume_m3[mine].sum())

    def counts(self, stretch_m: tuple[float, float]) -> Iterator[tuple[int, _Count]]:
        """What the strip and its passes amount to, with their order: 0 for the strip."""
        ground = self.ground
        given = [(0, ground.strip.name, ground.strip.along_m, ~ground.skipped)] + [
            (one.order, one.code, one.along_m, ground.first == number)
            for number, one in enumerate(ground.passes)
        ]
        for order, what, along_m, mine in given:
            ends_m = max(float(along_m[0]), stretch_m[0]), min(float(along_m[-1]), stretch_m[1])
            if ends_m[0] < ends_m[1]:
                yield order, (what, ends_m, *self.of(mine))


def _left(strips: Sequence[_Amounts], stretch_m: tuple[float, float]) -> Iterator[_Count]:
    """Hand work, what is skipped where anything is, and the whole leg."""
    sums = np.zeros((3, 2))
    for one in strips:
        skipped = one.ground.skipped
        hand = (one.ground.first < 0) & ~skipped
        sums += [one.of(mine) for mine in (hand, skipped, ~skipped)]
    for what, (area_m2, volume_m3) in zip(
        ("hand work", "skipped", "leg"), sums.tolist(), strict=True
    ):
        if area_m2 > 0 or what == "leg":
            yield what, stretch_m, area_m2, volume_m3


def _quantity(count: _Count, leg: Leg, haul: Haul) -> Quantity:
    what, (from_m, to_m), area_m2, volume_m3 = count
    mass_kg = volume_m3 * haul.density_kgpm3
    loose_m3 = mass_kg / haul.loose_kgpm3
    return Quantity(
        leg=leg.settings.code,
        what=what,
        from_m=from_m,
        to_m=to_m,
        area_m2=area_m2,
        volume_m3=volume_m3,
        mass_kg=mass_kg,
        loose_m3=loose_m3,
        loads_by_weight=mass_kg / haul.payload_kg,
        loads_by_volume=loose_m3 / haul.body_m3,
    )


def quantities_of(
    grounds: Sequence[Ground],
    leg: Leg,
    haul: Haul,
    *,
    from_m: float = -np.inf,
    to_m: float = np.inf,
) -> tuple[Quantity, ...]:
    """Quantities of any stretch of a leg: by strip, by pass, hand work, skipped, the whole leg.

    A strip and the leg count all that is cut, by machine and by hand, less what is skipped; a pass
    counts what its machine cuts.  None where the stretch lies outside the cut.

    Parameters
    ----------
    grounds
        The strips of the leg in pieces.
    leg
        The leg.
    haul
        Densities, and what a truck carries.
    from_m, to_m
        Along [m]; the limits of the cut when left out.
    """
    stretch_m = max(leg.from_m, from_m), min(leg.to_m, to_m)
    if not stretch_m[0] < stretch_m[1]:
        return ()
    amounts = [one.amounts(*stretch_m) for one in grounds]
    strips = [
        _Amounts(ground=one, area_m2=area_m2, volume_m3=volume_m3)
        for one, (area_m2, volume_m3) in zip(grounds, amounts, strict=True)
    ]
    counted = [one for strip in strips for one in strip.counts(stretch_m)]
    counted.sort(key=lambda pair: pair[0])
    counts = [*(count for _, count in counted), *_left(strips, stretch_m)]
    return tuple(_quantity(count, leg, haul) for count in counts)
