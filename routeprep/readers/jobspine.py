"""The drive that a leg's line is made from, called as the survey calls it."""

from collections.abc import Sequence
from dataclasses import replace

from routeprep.errors import JobError
from routeprep.shapes import LegSettings, Part, Survey

__all__ = ["with_spine"]


def with_spine(leg: LegSettings, parts: Sequence[Part], survey: Survey) -> LegSettings:
    """The leg with its spine called as the survey calls it, for a copy kept under another name.

    Raises
    ------
    JobError
        If the spine is no file of a drive.
    """
    ids = [
        drive_id
        for part in parts
        for drive_id, called in part.drive_names.items()
        if drive_id not in survey.walks and leg.spine in {called, part.source.name}
    ]
    if not leg.spine:
        return leg
    if not ids:
        known = sorted({part.source.name for part in parts if part.source.what == "drive"})
        msg = (
            f"leg {leg.code}: spine {leg.spine!r} is no drive of this job; the drives are "
            f"{', '.join(known) or 'none'}"
        )
        raise JobError(msg, leg=leg.code, spine=leg.spine)
    names = [survey.drive_names[drive_id] for drive_id in ids]
    return leg if any(one.startswith(leg.spine) for one in names) else replace(leg, spine=names[0])
