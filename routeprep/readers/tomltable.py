"""One table of a TOML file, read key by key, gathering all that is wrong with it.

In go values of any type, out come values of the type that was asked for; what does not fit is a
fault, and reading goes on so that all faults can be said at once.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass

from routeprep.kinds import nearest
from routeprep.readers.parts import shown

__all__ = ["TomlTable"]


@dataclass(frozen=True, slots=True, kw_only=True)
class TomlTable:
    """A table and where it stands.

    Attributes
    ----------
    values
        By key.
    where
        What a fault calls it: "[job]".
    faults
        All faults of the file so far; more are added here.
    """

    values: Mapping[str, object]
    where: str
    faults: list[str]

    def fault(self, text: str) -> None:
        """Gather a fault."""
        self.faults.append(f"{self.where}: {text}" if self.where else text)

    def only(self, *known: str) -> None:
        """Say every key that is not known, with the nearest one that is."""
        for key in self.values:
            if key not in known:
                self.fault(f"key {key!r} is not known; the nearest one is {nearest(key, known)!r}")

    def text(self, key: str, *, needed: bool = False) -> str:
        """A text; one that is left out is empty, or a fault when it is needed."""
        value = self.values.get(key, "")
        if not isinstance(value, str):
            self.fault(f"{key} is {shown(value)}; expected a text in quotes")
            return ""
        if needed and not value.strip():
            self.fault(f"{key} is missing; give it a text")
        return value.strip()

    def texts(self, key: str) -> tuple[str, ...]:
        """A list of texts; empty when left out."""
        value = self.values.get(key, [])
        if not isinstance(value, list) or not all(isinstance(one, str) for one in value):
            self.fault(f"{key} is {shown(value)}; expected a list of texts in brackets")
            return ()
        return tuple(value)

    def whole(self, key: str, *, default: int) -> int:
        """A whole number, 0 or more."""
        value = self.values.get(key, default)
        if not isinstance(value, int) or isinstance(value, bool) or value < 0:
            self.fault(f"{key} is {shown(value)}; expected a whole number, 0 or more")
            return default
        return value

    def number(self, key: str) -> float:
        """A finite number; NaN when left out."""
        value = self.values.get(key)
        if value is None:
            return math.nan
        if (
            not isinstance(value, int | float)
            or isinstance(value, bool)
            or not math.isfinite(value)
        ):
            self.fault(f"{key} is {shown(value)}; expected a number")
            return math.nan
        return float(value)

    def table(self, key: str) -> "TomlTable":
        """A table of its own; empty when left out."""
        value = self.values.get(key, {})
        if not isinstance(value, dict):
            self.fault(f"{key} is {shown(value)}; expected a table [{key}]")
            value = {}
        return TomlTable(values=value, where=f"[{key}]", faults=self.faults)

    def tables(self, key: str) -> list["TomlTable"]:
        """A list of tables; empty when left out."""
        value = self.values.get(key, [])
        if not isinstance(value, list) or not all(isinstance(one, dict) for one in value):
            self.fault(f"{key} is {shown(value)}; expected tables [[{key}]]")
            return []
        return [
            TomlTable(values=one, where=f"[[{key}]] {number}", faults=self.faults)
            for number, one in enumerate(value, start=1)
        ]

    def rows(self, key: str, example: str) -> list["TomlTable"]:
        """A list of tables within this one, inline or not; empty when left out."""
        value = self.values.get(key, [])
        if not isinstance(value, list) or not all(isinstance(one, dict) for one in value):
            self.fault(f"{key} is {shown(value)}; expected a list such as [{{ {example} }}]")
            return []
        return [
            TomlTable(values=one, where=f"{self.where}, {key} {number}", faults=self.faults)
            for number, one in enumerate(value, start=1)
        ]
