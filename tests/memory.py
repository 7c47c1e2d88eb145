"""The most memory that this process has used since its program began."""

import re
from pathlib import Path

_STATUS = Path("/proc/self/status")


def most_mb():
    """Highest resident memory [MB].

    Not ``ru_maxrss``: that one is handed on by the process that started this one.
    """
    kb = re.search(r"VmHWM:\s+(\d+) kB", _STATUS.read_text())[1]
    return int(kb) / 1024
