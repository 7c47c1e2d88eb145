"""Every error the package raises on purpose.

The tree::

    RouteprepError
    ├── InputError (ValueError)       data that cannot be used; the message says what to mend
    │   ├── ReadError                 a file that cannot be read
    │   ├── JobError                  settings, decisions or numbers that contradict themselves
    │   ├── LineError                 a centerline that cannot be built or asked about
    │   ├── StationError              a station label that does not exist, or exists twice
    │   ├── TableError                a table whose columns or values break its declaration
    │   └── EntryError                an entry of the store that is not as it must be
    ├── AccessError (PermissionError) an act that a person's role does not allow
    └── OutputError (OSError)         a pack, sheet or map that cannot be made or written

Each message says what was found, where, what was expected and what to do, with the value.
The same facts are in ``facts``, so that a caller need not read the sentence.
"""

__all__ = [
    "AccessError",
    "EntryError",
    "InputError",
    "JobError",
    "LineError",
    "OutputError",
    "ReadError",
    "RouteprepError",
    "StationError",
    "TableError",
]


class RouteprepError(Exception):
    """Root of all errors that routeprep raises on purpose."""

    def __init__(self, message: str, **facts: object) -> None:
        """Keep the sentence for people and the facts for programs."""
        super().__init__(message)
        self.facts = facts


class InputError(RouteprepError, ValueError):
    """Data that cannot be used as it is."""


class ReadError(InputError):
    """A file that cannot be read; ``facts`` has at least ``file``."""


class JobError(InputError):
    """Settings, decisions or numbers that contradict themselves or the contract."""


class LineError(InputError):
    """A centerline that cannot be built, joined, directed or asked about."""


class StationError(InputError):
    """A station label that does not exist, exists twice or cannot be read."""


class TableError(InputError):
    """A table whose columns or values break its declaration in ``tables``."""


class EntryError(InputError):
    """An entry whose kind, body or id is not as it must be."""


class AccessError(RouteprepError, PermissionError):
    """An act that a person's role does not allow."""

    def __init__(self, message: str, **facts: object) -> None:
        """Keep the sentence and the facts; OSError would take a pair as errno."""
        RouteprepError.__init__(self, message, **facts)


class OutputError(RouteprepError, OSError):
    """A pack, sheet or map that cannot be made or written."""

    def __init__(self, message: str, **facts: object) -> None:
        """Keep the sentence and the facts; OSError would take a pair as errno."""
        RouteprepError.__init__(self, message, **facts)
