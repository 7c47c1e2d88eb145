"""The sections of a leg, cut to its limits: in goes a leg, out come spans in order along.

Each begins where the one before it ends.  Without sections the leg's lanes are one span.
"""

import itertools
from dataclasses import dataclass, replace

from routeprep.errors import JobError, StationError
from routeprep.roadway import RoadPart, Section
from routeprep.shapes import Leg
from routeprep.stationing import along_of, label

__all__ = ["Span", "spans_of"]

# Labels are written to a hundredth of a foot at best, 3 mm; sections nearer than this meet [m].
_SAME_M = 0.01


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """A section between two places along.

    Attributes
    ----------
    section
        As in the job.
    begin_m, end_m
        Along [m].
    begin_share, end_share
        Which shares of the whole section these are: a limit of the cut may lie within it.
    """

    section: Section
    begin_m: float
    end_m: float
    begin_share: float = 0.0
    end_share: float = 1.0

    def from_words(self) -> str:
        """Its first station as a person reads it."""
        return self.section.from_station or "the beginning of the cut"

    def to_words(self) -> str:
        """Its last station as a person reads it."""
        return self.section.to_station or "the end of the cut"

    def within(self, from_m: float, to_m: float) -> "Span":
        """What of it lies between two places.

        Parameters
        ----------
        from_m, to_m
            Along [m].
        """
        begin_m, end_m = max(self.begin_m, from_m), min(self.end_m, to_m)
        long_m = self.end_m - self.begin_m
        return replace(
            self,
            begin_m=begin_m,
            end_m=end_m,
            begin_share=(begin_m - self.begin_m) / long_m,
            end_share=(end_m - self.begin_m) / long_m,
        )


def _place(leg: Leg, station: str, number: int, *, usual_m: float) -> float:
    """Distance along [m] of a section's station.

    Raises
    ------
    StationError
        If the station does not exist, or not once; with the leg and the section.
    """
    if not station:
        return usual_m
    try:
        return along_of(leg.stationing, station)
    except StationError as error:
        msg = f"leg {leg.settings.code}, section {number}: {error}"
        raise StationError(msg, leg=leg.settings.code, station=station) from error


def _spans(leg: Leg) -> list[Span]:
    """All sections along, as they were given.

    Raises
    ------
    JobError
        If one ends before it begins, or two leave a gap or overlap.
    """
    spans = []
    for number, section in enumerate(leg.settings.sections, start=1):
        begin_m = _place(leg, section.from_station, number, usual_m=leg.from_m)
        end_m = _place(leg, section.to_station, number, usual_m=leg.to_m)
        span = Span(section=section, begin_m=begin_m, end_m=end_m)
        if end_m - begin_m < _SAME_M:
            msg = (
                f"leg {leg.settings.code}, section {number} runs from {span.from_words()} to "
                f"{span.to_words()}, which is not up-station; mend from and to"
            )
            raise JobError(msg, leg=leg.settings.code, section=number)
        spans.append(span)
    for one, two in itertools.pairwise(spans):
        apart_m = two.begin_m - one.end_m
        if abs(apart_m) > _SAME_M:
            what = "a gap" if apart_m > 0 else "an overlap"
            msg = (
                f"leg {leg.settings.code}: a section ends at {one.to_words()} and the next begins "
                f"at {two.from_words()}: {what} of "
                f"{leg.settings.unit.length_text(abs(apart_m), decimals=2)}; let each begin where "
                "the one before it ends, in order along"
            )
            raise JobError(msg, leg=leg.settings.code, apart_m=apart_m)
    return spans


def _within_limits(leg: Leg) -> list[Span]:
    """The sections within the limits of the cut.

    Raises
    ------
    JobError
        If they do not reach from one limit to the other.
    """
    given = _spans(leg)
    short = (
        (given[0].begin_m - leg.from_m, "begins", leg.from_m, "first", given[0].from_words()),
        (leg.to_m - given[-1].end_m, "ends", leg.to_m, "last", given[-1].to_words()),
    )
    for missing_m, verb, limit_m, which, words in short:
        if missing_m > _SAME_M:
            key = "from" if verb == "begins" else "to"
            msg = (
                f"leg {leg.settings.code}: the cut {verb} at {label(leg.stationing, limit_m)} but "
                f"its {which} section at {words}: nobody says what lies between; add a section, "
                f"or leave its {key} out to reach the limit"
            )
            raise JobError(msg, leg=leg.settings.code, missing_m=missing_m)
    cut = [one.within(leg.from_m, leg.to_m) for one in given]
    cut = [one for one in cut if one.end_m - one.begin_m > _SAME_M]
    # Joints that are not quite one are made one, so that nothing is cut twice or left.
    ends_m = [*(two.begin_m for two in cut[1:]), leg.to_m]
    begins_m = [leg.from_m, *ends_m[:-1]]
    return [
        replace(one, begin_m=begin_m, end_m=end_m)
        for one, begin_m, end_m in zip(cut, begins_m, ends_m, strict=True)
    ]


def _lanes(leg: Leg) -> list[Span]:
    """The leg's lanes from limit to limit, where no section is given."""
    said = leg.settings
    lane = RoadPart(what="lane", width_m=said.lane_width_m, width_end_m=said.lane_width_m, cut=True)
    section = Section(
        from_station="",
        to_station="",
        left=(lane,) * said.lanes_left,
        right=(lane,) * said.lanes_right,
    )
    return [Span(section=section, begin_m=leg.from_m, end_m=leg.to_m)]


def spans_of(leg: Leg) -> list[Span]:
    """Spans of a leg from one limit of the cut to the other.

    Parameters
    ----------
    leg
        The leg with its sections.
    """
    return _within_limits(leg) if leg.settings.sections else _lanes(leg)
