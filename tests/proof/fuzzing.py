"""Break files at random and read them as a job would: run by ``test_fuzz.py``, a process a format.

Usage, in the folder ``tests``: python -m proof.fuzzing FORMAT SECONDS SEED.  Writes a JSON object:
how many files were tried and refused, the most memory used [MB], the slowest file [s], and every
file that made anything but a sentence, by its number with the traceback.
"""

import json
import random
import signal
import sys
import time
import traceback
import warnings
import zoneinfo

from memory import most_mb
from proof.fuzz_seeds import SEEDS

from routeprep.errors import RouteprepError
from routeprep.job import prepare
from routeprep.kinds import parse_kinds
from routeprep.readers.disk import kinds_text
from routeprep.readers.jobfile import read_job
from routeprep.readers.listed import How, opened, read_listed

# Pieces that have broken readers of one kind or another: bounds, signs, markup, entities.
_TOKENS = (
    b"", b"\x00", b"\xff\xfe", b"\xef\xbb\xbf", b"NaN", b"-inf", b"1e999", b"9" * 400, b"-0",
    b"0x1F", b"<", b">", b"&amp;", b"&#0;", b"<!DOCTYPE a [<!ENTITY b 'c'>]>&b;", b"<![CDATA[",
    b"]]>", b"\r", b"\n\n", b",,,,", b";", b'"', b"'", b"{", b"}" * 50, b"[" * 3000, b"null",
    b"1234-01-01T00:00:00Z", b"4096-12-31T23:59:60Z", b"95.0", b"-181", b"$GPRMC,,,,*00\r\n",
    b"\xf0\x9f\x9a\xa7", "\u202e".encode(), b"../../x", b"%s%n", b"{{7*7}}", b"=1+1", b"+",
    b"12+345.6", b"PK\x05\x06",
)  # fmt: skip
_SLOWEST_S = 20
# One of so many files goes through the whole flow; the others through their reader alone.
_WHOLE = 25
_ENOUGH = 5


def broken(data, rng):
    """The file with a few random faults: bytes changed, cut, doubled, or a token put in."""
    out = bytearray(data)
    for _ in range(rng.choice((1, 1, 2, 4, 16))):
        at = rng.randrange(len(out) + 1)
        to = min(len(out), at + rng.choice((1, 1, 2, 8, 64, 1024)))
        way = rng.choice(("change", "cut", "insert", "replace", "double", "end"))
        if way == "change":
            out[at:to] = rng.randbytes(to - at)
        elif way == "cut":
            del out[at:to]
        elif way == "insert":
            out[at:at] = rng.choice(_TOKENS)
        elif way == "replace":
            out[at:to] = rng.choice(_TOKENS)
        elif way == "double":
            out[at:at] = out[at:to] * rng.choice((1, 2, 50))
        elif rng.randrange(5) == 0:
            del out[at:]
    return bytes(out)


def _too_slow(_signal, _frame):
    msg = f"a file took more than {_SLOWEST_S} s"
    raise TimeoutError(msg)


def _whole(job, name, data):
    """Read and prepare a job with this file in it."""
    inputs = read_job("job.toml", {**job, name: data})
    prepare(inputs.survey, inputs.settings, inputs.decisions, inputs.numbers)


def _reader(job, name, key, how):
    """The way to read one file: by its reader, or with its whole job."""

    def read(data):
        if not key:
            read_job("job.toml", {**job, name: data})
            return
        for inner, content in opened(data, name=name).files:
            read_listed(content, name=inner, key=key, how=how)

    return read


def run(fmt, seconds, seed):
    """Try files until the time is over; what is tried depends on the seed alone."""
    rng = random.Random(seed)  # noqa: S311 - the same faults each time
    job, name, key, good = SEEDS[fmt]()
    how = How(kinds=parse_kinds(kinds_text()), zone=zoneinfo.ZoneInfo("UTC"), datum_operation="")
    read = _reader(job, name, key, how)
    _whole(job, name, good)
    found = {"tried": 0, "refused": 0, "slowest_s": 0.0, "faults": []}
    signal.signal(signal.SIGALRM, _too_slow)
    end = time.monotonic() + seconds
    while time.monotonic() < end and len(found["faults"]) < _ENOUGH:
        data, begun = broken(good, rng), time.monotonic()
        signal.alarm(_SLOWEST_S)
        try:
            read(data)
            if found["tried"] % _WHOLE == 0:
                _whole(job, name, data)
        except RouteprepError:
            found["refused"] += 1
        except Exception:  # noqa: BLE001 - that is what is looked for
            fault = {"number": found["tried"], "traceback": traceback.format_exc()[-3000:]}
            found["faults"].append(fault)
        finally:
            signal.alarm(0)
        found["slowest_s"] = max(found["slowest_s"], round(time.monotonic() - begun, 2))
        found["tried"] += 1
    return found | {"most_mb": round(most_mb())}


if __name__ == "__main__":
    warnings.simplefilter("error")
    sys.stdout.write(json.dumps(run(sys.argv[1], float(sys.argv[2]), int(sys.argv[3]))))
