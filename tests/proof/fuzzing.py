"""Break files at random and read them as a job would: run by ``test_fuzz.py``, a process a format.

Usage, in the folder ``tests``: python -m proof.fuzzing FORMAT SECONDS SEED.  Prints one JSON object: how many files were tried,
how many were refused, the most memory used [MB], the slowest file [s], and every file that made
anything but a sentence, as its seed number with the traceback.
"""

import json
import random
import resource
import signal
import sys
import time
import traceback
import warnings

from proof.fuzz_seeds import SEEDS

from routeprep.errors import RouteprepError
from routeprep.job import prepare
from routeprep.readers.jobfile import read_job

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


def broken(data, rng):
    """The file with a few random faults: bytes changed, cut, doubled, or a token put in."""
    out = bytearray(data)
    for _ in range(rng.choice((1, 1, 2, 4, 16))):
        at = rng.randrange(len(out) + 1)
        to = min(len(out), at + rng.choice((1, 1, 2, 8, 64, 1024)))
        way = rng.randrange(6)
        if way == 0:
            out[at:to] = rng.randbytes(to - at)
        elif way == 1:
            del out[at:to]
        elif way == 2:  # noqa: PLR2004 - one of six ways
            out[at:at] = rng.choice(_TOKENS)
        elif way == 3:  # noqa: PLR2004
            out[at:to] = rng.choice(_TOKENS)
        elif way == 4:  # noqa: PLR2004
            out[at:at] = out[at:to] * rng.choice((1, 2, 50))
        elif rng.random() < 0.2:  # noqa: PLR2004
            del out[at:]
    return bytes(out)


def _too_slow(_signal, _frame):
    msg = f"a file took more than {_SLOWEST_S} s"
    raise TimeoutError(msg)


def run(fmt, seconds, seed):
    """Try files until the time is over; what is tried depends on the seed alone."""
    rng = random.Random(seed)  # noqa: S311 - faults are to be the same each time
    job, name, good = SEEDS[fmt]()
    tried = refused = 0
    slowest_s, faults = 0.0, []
    signal.signal(signal.SIGALRM, _too_slow)
    end = time.monotonic() + seconds
    while time.monotonic() < end and len(faults) < 5:  # noqa: PLR2004 - enough to look at
        files = {**job, name: broken(good, rng)}
        begun = time.monotonic()
        signal.alarm(_SLOWEST_S)
        try:
            inputs = read_job("job.toml", files)
            if tried % 20 == 0:
                prepare(inputs.survey, inputs.settings, inputs.decisions, inputs.numbers)
        except RouteprepError:
            refused += 1
        except Exception:  # noqa: BLE001 - that is what is looked for
            faults.append({"number": tried, "traceback": traceback.format_exc()[-3000:]})
        finally:
            signal.alarm(0)
        slowest_s = max(slowest_s, time.monotonic() - begun)
        tried += 1
    most_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    return {
        "tried": tried,
        "refused": refused,
        "most_mb": round(most_mb),
        "slowest_s": round(slowest_s, 2),
        "faults": faults,
    }


if __name__ == "__main__":
    warnings.simplefilter("error")
    print(json.dumps(run(sys.argv[1], float(sys.argv[2]), int(sys.argv[3]))))
