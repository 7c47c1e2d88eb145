"""NMEA logs: checksums, void positions, noise, elevations and dates."""

import datetime as dt
from functools import reduce
from operator import xor
from pathlib import Path

import pynmea2
import pytest
from hypothesis import given
from hypothesis import strategies as st

from routeprep.errors import ReadError
from routeprep.readers.nmea import read_nmea

FAULTS = Path(__file__).parent.parent / "data" / "void_noise_and_bad_checksums.nmea"


def sentence(body):
    """A sentence with its checksum."""
    return f"${body}*{reduce(xor, body.encode()):02X}\r\n"


def rmc(clock="120000", place="4125.8000,N,10052.2000,W", date="010626", talker="GP"):
    """A valid RMC sentence."""
    return sentence(f"{talker}RMC,{clock},A,{place},10.0,84.4,{date},,,A")


def read(*sentences):
    """A part from sentences."""
    return read_nmea("".join(sentences).encode(), name="log.nmea")


def test_faults_are_counted_by_their_reason() -> None:
    """One file with a fault of each sort keeps what is good."""
    part = read_nmea(FAULTS.read_bytes(), name="log.nmea")

    assert part.source.taken == {"fixes": 3, "sentences": 10}
    assert part.source.skipped == {
        "lines with noise between sentences": 2,
        "sentences of other sorts": 1,
        "sentences with a wrong checksum": 1,
        "sentences without checksum": 1,
        "unreadable positions": 2,
        "unreadable times": 1,
        "void positions": 2,
    }
    assert len(part.findings) == 6


def test_a_void_position_begins_a_new_piece() -> None:
    """Void before the first fix is no break; void between fixes is one."""
    part = read_nmea(FAULTS.read_bytes(), name="log.nmea")

    assert part.fixes["piece"].tolist() == [0, 1, 1]


def test_elevation_comes_from_the_gga_of_the_same_time() -> None:
    """Before or after its RMC, and never from another second."""
    gga = sentence("GPGGA,120000,4125.8,N,10052.2,W,1,08,0.9,880.4,M,-25.0,M,,")

    assert read(gga, rmc()).fixes["ele_m"].tolist() == [880.4]
    assert read(rmc(), gga).fixes["ele_m"].tolist() == [880.4]
    assert read(gga, rmc(clock="120001")).fixes["ele_m"].isna().all()


def test_speed_comes_in_metres_a_second() -> None:
    """22.4 knots are 11.52 m/s, and the course is true (the usual example of the standard)."""
    text = sentence("GPRMC,123519,A,4807.038,N,01131.000,E,022.4,084.4,230394,003.1,W")
    (fix,) = read(text).fixes.to_dict("records")

    assert fix["speed_mps"] == pytest.approx(11.5236, abs=1e-4)
    assert fix["course_deg"] == 84.4
    assert fix["lat_deg"] == pytest.approx(48.1173, abs=1e-9)
    assert fix["lon_deg"] == pytest.approx(11.516667, abs=1e-6)
    assert fix["time_utc"] == dt.datetime(1994, 3, 23, 12, 35, 19, tzinfo=dt.UTC)


@pytest.mark.parametrize("talker", ["GP", "GN", "GL", "GA"])
def test_receivers_of_each_system_are_read(talker: str) -> None:
    """Four talkers give positions."""
    assert len(read(rmc(talker=talker)).fixes) == 1


@pytest.mark.parametrize(
    "place", ["4125.8000,,10052.2000,W", "41.43,N,-100.87,W", "4165.0,N,10052.2,W", ",,,",
              "4125.8000,S,18100.0,W", "4125.8000,X,10052.2000,W"],
)  # fmt: skip
def test_a_position_that_cannot_be_is_no_fix(place: str) -> None:
    """No side, decimal degrees, 65 minutes, nothing, off the globe: counted, never 0, 0."""
    part = read(rmc(), rmc(clock="120001", place=place))

    assert len(part.fixes) == 1
    assert part.source.skipped == {"unreadable positions": 1}


def test_a_log_without_a_position_is_refused() -> None:
    """Only void positions are one sentence with their count."""
    with pytest.raises(ReadError, match=r"no valid position .* \(1 void positions\)"):
        read(sentence("GPRMC,120000,V,,,,,,,010626,,,N"))


def test_ids_do_not_depend_on_line_endings() -> None:
    """The same log with other line endings is the same drive."""
    log = rmc() + rmc(clock="120001")

    assert list(read(log).drive_names) == list(read(log.replace("\r\n", "\n")).drive_names)


@given(st.binary(max_size=200))
def test_any_bytes_between_sentences_lose_no_sentence(noise: bytes) -> None:
    """Whatever stands on the lines between them, both fixes are read."""
    first, second = rmc().encode(), rmc(clock="120001").encode()
    part = read_nmea(first + noise + b"\n" + second, name="log.nmea")

    assert len(part.fixes) >= 2


@given(
    st.floats(-89.9, 89.9), st.floats(-179.9, 179.9),
    st.datetimes(dt.datetime(1980, 1, 2), dt.datetime(2068, 12, 31)),  # noqa: DTZ001 - UTC
)  # fmt: skip
def test_positions_agree_with_another_reader(lat: float, lon: float, time: dt.datetime) -> None:
    """Degrees, sides and dates of random places as pynmea2 reads them."""
    minutes = [f"{int(abs(v)):0{w}}{abs(v) % 1 * 60:07.4f}" for v, w in ((lat, 2), (lon, 3))]
    place = f"{minutes[0]},{'NS'[lat < 0]},{minutes[1]},{'EW'[lon < 0]}"
    text = rmc(clock=f"{time:%H%M%S}", place=place, date=f"{time:%d%m%y}")
    if any("60.0000" in one for one in minutes):
        return
    (fix,) = read(text).fixes.to_dict("records")
    other = pynmea2.parse(text.strip(), check=True)

    assert (fix["lat_deg"], fix["lon_deg"]) == pytest.approx(
        (other.latitude, other.longitude), abs=1e-12
    )
    assert fix["time_utc"] == other.datetime
