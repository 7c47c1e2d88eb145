"""How wide known spreads are, in standard deviations: the figures that intervals are made with."""

import math

__all__ = ["HALF_95", "RADIUS_68_IN_SDS", "UNIFORM_IN_SDS"]

# Half-width of a 95 % interval (normal distribution).
HALF_95 = 1.959964
# The radius that holds 68 % of a circular normal error, in those of one axis:
# sqrt(-2 ln(1 - 0.68)) (Rayleigh distribution).
RADIUS_68_IN_SDS = 1.5096
# Length of an even spread (uniform distribution).
UNIFORM_IN_SDS = math.sqrt(12.0)
