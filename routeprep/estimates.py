"""What the evidence tells beside the list: lateness of people, shifts of files, what is missed.

They are made once and never changed; each says how sure it is, and where the data cannot tell.
"""

from dataclasses import dataclass

__all__ = ["FileShift", "Lateness", "Missed"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Lateness:
    """How late one person taps: seconds times speed, less a fixed lead.

    At a speed v the phone was ``late_s * v - lead_m`` past the thing when it was tapped.

    Attributes
    ----------
    person
        Who: the name that the files give, or the drive where they give none.
    late_s, late_sd_s
        From seeing the thing at the usual spot to the tap, and its standard deviation [s].
    lead_m, lead_sd_m
        How far ahead of the phone that spot is, and its standard deviation [m]; negative is behind.
    late_lead_sm
        Covariance of the two [s m].
    tap_sd_s
        Spread of a single tap about it [s].
    things
        How many things told it.
    told
        Whether the data told it; if not, it is the default.
    text
        One sentence: what it rests on, or which drive would settle it.
    """

    person: str
    late_s: float
    late_sd_s: float
    lead_m: float
    lead_sd_m: float
    late_lead_sm: float
    tap_sd_s: float
    things: int
    told: bool
    text: str

    def late_m(self, speed_mps: float) -> float:
        """How far past the thing the phone was at the tap [m].

        Parameters
        ----------
        speed_mps
            Speed when it passed [m/s].
        """
        return self.late_s * speed_mps - self.lead_m


@dataclass(frozen=True, slots=True, kw_only=True)
class FileShift:
    """How far one file of records lies off from what was seen.

    Attributes
    ----------
    source
        The file.
    east_m, north_m
        From the true places to the file's [m].
    east_sd_m, north_sd_m, east_north_m2
        Standard deviations [m] and covariance [m2].
    pairs
        How many records were matched with marks.
    applied
        Whether the records were moved back by it: only a shift that is significant is.
    text
        One sentence for people.
    """

    source: str
    east_m: float
    north_m: float
    east_sd_m: float
    north_sd_m: float
    east_north_m2: float
    pairs: int
    applied: bool
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Missed:
    """How many things of one sort were probably missed by all looks: a lower bound.

    Attributes
    ----------
    what
        Group of kinds, or "all things".
    looks
        How many times the road was looked at.
    seen
        Things seen at least once.
    estimate, low, high
        How many there are, seen or not, and the ends of the 95 % interval.
    method
        "Chapman" for two looks, "Chao" for more.
    text
        One sentence for people.
    """

    what: str
    looks: int
    seen: int
    estimate: float
    low: float
    high: float
    method: str
    text: str
