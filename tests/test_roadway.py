"""What is taken when the job does not say."""

import pytest

from routeprep.roadway import Haul
from routeprep.units import FACTORS_M, LB_KG

POUND_KG, YARD_M, INCH_M = (float(one) for one in (LB_KG, FACTORS_M["yd"], FACTORS_M["in"]))


def test_the_usual_density_is_110_pounds_a_square_yard_and_inch() -> None:
    """Published in trade handbooks, from memory; to 0.1 kg/m3."""
    assert Haul().density_kgpm3 == pytest.approx(110 * POUND_KG / (YARD_M**2 * INCH_M), abs=0.1)


def test_the_usual_millings_are_89_pounds_a_cubic_foot() -> None:
    """Common practice, no source; to 0.1 kg/m3."""
    foot_m = YARD_M / 3

    assert Haul().loose_kgpm3 == pytest.approx(89 * POUND_KG / foot_m**3, abs=0.1)
