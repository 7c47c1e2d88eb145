"""Invented roads, drives and marks with known truth: the demo and every simulation use them.

Everything follows from seeds; the place, the people and the city are invented.
"""

__all__: list[str] = []
