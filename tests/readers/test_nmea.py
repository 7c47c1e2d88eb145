"""NMEA logs: checksums, void positions, noise, elevations and dates."""

import datetime as dt
from functools import reduce
from itertools import pairwise
from operator import xor
from pathlib import Path

import pynmea2
import pytest
from geographiclib.geodesic import Geodesic
from hypothesis import given
from hypothesis import strategies as st
from outside import open_data

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


# The two sentences that manuals of receivers print as examples, with their checksums.
PUBLISHED_GGA = "$GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,*47\r\n"
PUBLISHED_RMC = "$GPRMC,123519,A,4807.038,N,01131.000,E,022.4,084.4,230394,003.1,W*6A\r\n"


def gga(clock="120000", place="4125.8000,N,10052.2000,W", quality="1", height="880.4"):
    """A GGA sentence."""
    return sentence(f"GPGGA,{clock},{place},{quality},08,0.9,{height},M,-25.0,M,,")


def zda(clock, day, month, year):
    """A sentence with time and date alone."""
    return sentence(f"GPZDA,{clock},{day},{month},{year},00,00")


def test_the_published_sentences_are_read_with_their_checksums() -> None:
    """48.117300 N, 11.516667 E, 545.4 m, 12:35:19 UTC on 23 March 1994."""
    part = read(PUBLISHED_GGA, PUBLISHED_RMC)
    (fix,) = part.fixes.to_dict("records")

    assert (fix["lat_deg"], fix["lon_deg"]) == pytest.approx((48.1173, 11.516667), abs=5e-7)
    assert (fix["ele_m"], fix["course_deg"]) == (545.4, 84.4)
    assert fix["speed_mps"] == pytest.approx(11.52, abs=5e-3)
    assert fix["time_utc"] == dt.datetime(1994, 3, 23, 12, 35, 19, tzinfo=dt.UTC)
    assert part.source.taken == {"fixes": 1, "sentences": 2}


@pytest.mark.parametrize("wrong", [PUBLISHED_RMC.replace("*6A", "*6B"),
                                   PUBLISHED_RMC.replace("4807", "4808")])  # fmt: skip
def test_a_published_sentence_with_a_wrong_checksum_is_rejected(wrong: str) -> None:
    """One digit is enough."""
    with pytest.raises(ReadError, match=r"\(1 sentences with a wrong checksum\)"):
        read(wrong)

    assert len(read(PUBLISHED_RMC, wrong).fixes) == 1


@pytest.mark.parametrize(
    ("mode", "reason"),
    [
        ("E", "estimated positions"),
        ("M", "simulated or typed positions"),
        ("S", "simulated or typed positions"),
        ("N", "void positions"),
    ],
)
def test_a_position_that_was_not_measured_is_counted_and_parts_the_drive(
    mode: str, reason: str
) -> None:
    """Dead reckoning through a tunnel is no fix, whatever its status says."""
    odd = rmc(clock="120001").split("*")[0][1:-1] + mode
    part = read(rmc(), sentence(odd), rmc(clock="120002"))

    assert part.fixes["piece"].tolist() == [0, 1]
    assert part.source.skipped == {reason: 1}
    assert f"1 {reason}" in part.findings[0].text or "1 positions are void" in part.findings[0].text


def test_a_log_without_rmc_gives_the_positions_of_its_gga() -> None:
    """Void and estimated ones are counted; without any date there are no times, and it is said."""
    part = read(gga(), gga("120001", quality="0"), gga("120002", quality="6"), gga("120003"))

    assert part.fixes["piece"].tolist() == [0, 1]
    assert part.fixes["ele_m"].tolist() == [880.4, 880.4]
    assert part.fixes["time_utc"].isna().all()
    assert part.source.skipped == {"estimated positions": 1, "void positions": 1}
    assert [finding.level for finding in part.findings] == ["doubt", "note", "doubt", "doubt"]
    assert "has no date, only times of day (2 of them)" in part.findings[-1].text


def test_dates_of_a_log_without_rmc_come_from_its_zda() -> None:
    """On both sides of midnight, and before the date was known."""
    part = read(
        gga("235958"), zda("235958.50", "31", "05", "2026"), gga("235959"), gga("000000"),
        zda("000000.50", "01", "06", "2026"), gga("000001"),
    )  # fmt: skip

    assert part.fixes["time_utc"].dt.strftime("%d %H:%M:%S").tolist() == [
        "31 23:59:58", "31 23:59:59", "01 00:00:00", "01 00:00:01",
    ]  # fmt: skip
    assert part.findings[-1].text.startswith("4 times have no date")


@pytest.mark.parametrize("year", ["1234", "4096", "", "26"])
def test_a_zda_of_a_year_that_cannot_be_says_nothing(year: str) -> None:
    """Its last two digits are not taken for a year of this century."""
    part = read(gga(), zda("120000", "01", "06", year), gga("120001"))

    assert part.fixes["time_utc"].isna().all()


def test_an_rmc_without_its_date_takes_the_nearest() -> None:
    """Before the first date and after the last, over midnight both ways."""
    part = read(
        rmc("235959", date=""), rmc("000000", date="010626"), rmc("235959", date=""),
        rmc("000010", date=""),
    )  # fmt: skip

    assert part.fixes["time_utc"].dt.strftime("%d %H:%M:%S").tolist() == [
        "31 23:59:59", "01 00:00:00", "31 23:59:59", "01 00:00:10",
    ]  # fmt: skip
    assert part.findings[0].text.startswith("3 times have no date")


@pytest.mark.parametrize(
    ("clock", "date"),
    [("250000", "010626"), ("120060", "010626"), ("120000", "310226"), ("12000", "010626")],
)
def test_a_time_that_cannot_be_is_no_time(clock: str, date: str) -> None:
    """25 o'clock, 60 seconds, 31 February: the fix is kept."""
    part = read(rmc(), rmc(clock, date=date))

    assert part.fixes["time_utc"].isna().tolist() == [False, True]
    assert part.source.skipped == {"unreadable times": 1}


def test_an_impossible_speed_is_named_and_not_used() -> None:
    """999 knots on a road; the place is kept."""
    odd = rmc().split("*")[0][1:].replace(",10.0,", ",999.0,")
    part = read(sentence(odd))

    assert part.fixes["speed_mps"].isna().all()
    assert part.findings[0].text == "1 speeds that cannot be; those speeds are not used"


def test_a_real_log_without_its_rmc_has_the_same_places() -> None:
    """Of 788 GGA sentences those are valid whose RMC is, at the same places."""
    data = open_data("drives/regensburg-car.nmea", source="GENIVI/positioning").read_bytes()
    rest = b"\n".join(line for line in data.split(b"\n") if not line.startswith(b"$GPRMC"))
    whole, other = read_nmea(data, name="log"), read_nmea(rest, name="log")

    assert whole.source.taken == {"fixes": 774, "sentences": 9931}
    assert whole.source.skipped["void positions"] == 16
    assert other.fixes["lon_deg"].tolist() == whole.fixes["lon_deg"].tolist()
    assert other.fixes["ele_m"].tolist() == whole.fixes["ele_m"].tolist()


def test_a_real_log_has_its_length() -> None:
    """18,022.0 m from fix to fix, by another library's geodesics."""
    data = open_data("drives/regensburg-car.nmea", source="GENIVI/positioning").read_bytes()
    places = read_nmea(data, name="log").fixes[["lat_deg", "lon_deg"]].to_numpy()
    length_m = sum(
        Geodesic.WGS84.Inverse(*one, *other)["s12"] for one, other in pairwise(places.tolist())
    )

    assert length_m == pytest.approx(18_022.0, abs=0.05)
