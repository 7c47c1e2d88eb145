"""Every reader against files broken at random: a sentence or a result, never a traceback or hang.

Ten minutes in all.  Each format has its seeds, so that what is tried can be tried again with
``python -m proof.fuzzing FORMAT SECONDS SEED`` in the folder ``tests``.
"""

import json
import subprocess
import sys
from pathlib import Path

import pytest
from proof.fuzz_seeds import SEEDS

pytestmark = pytest.mark.proof

TESTS = Path(__file__).resolve().parent.parent
ALL_SECONDS = 600
MOST_MB = 500
SEED = 20261125


@pytest.mark.parametrize("fmt", sorted(SEEDS))
def test_broken_files_of_a_format_are_read_or_refused(fmt):
    """No file of this format makes anything but a sentence, quickly and in bounded memory."""
    seconds = ALL_SECONDS / len(SEEDS)
    command = [sys.executable, "-m", "proof.fuzzing", fmt, str(seconds), str(SEED)]
    done = subprocess.run(
        command, cwd=TESTS, capture_output=True, text=True,
        timeout=seconds + 120, check=False,
    )  # fmt: skip

    assert done.returncode == 0, done.stderr[-3000:]
    found = json.loads(done.stdout)
    assert found["faults"] == []
    assert found["most_mb"] < MOST_MB
    assert found["refused"] < found["tried"]
    assert found["tried"] > 20
