"""Work in a copy of the process, so that its peak of memory is its own."""

import os
import struct
from collections.abc import Callable, Sequence


def apart(call: Callable[[], Sequence[float]]) -> tuple[tuple[float, ...], float]:
    """What `call` returns, and the peak memory in MB of the copy of the process that ran it."""
    reads, writes = os.pipe()
    child = os.fork()
    if not child:
        found = call()
        os.write(writes, struct.pack(f"{len(found)}d", *found))
        os._exit(0)
    os.close(writes)
    _, status, used = os.wait4(child, 0)
    assert status == 0
    with os.fdopen(reads, "rb") as told:
        data = told.read()
    return struct.unpack(f"{len(data) // 8}d", data), used.ru_maxrss / 1024
