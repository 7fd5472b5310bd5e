"""How fast the wire is, there and back.  By hand: `.venv/bin/python tests/benchmarks/wire.py`.

The server is `gatesim bench` in a process of its own, in the middle of a run; the client is a bare socket, so that what
is measured is the server.  Prints medians and 99th percentiles; nothing is judged here.
"""

from __future__ import annotations

import socket
import statistics
import struct
import subprocess
import sys
import time
from pathlib import Path

from gatesim.bench.wire import points as p

ROOT = Path(__file__).parents[2]
ROUNDS = 2_000
REQUESTS = {
    "80 discrete inputs": struct.pack(">BHH", 2, 0, 80),
    "23 input registers": struct.pack(">BHH", 4, 0, 23),
    "8 coils, the same": struct.pack(">BHHBB", 15, 0, 8, 1, 0),
    "47 holding registers, the same": struct.pack(">BHHB47H", 16, 0, 47, 94, *[0] * 47),
}


def asked(wire: socket.socket, pdu: bytes) -> float:
    """Seconds for one request and its answer."""
    begun = time.perf_counter()
    wire.sendall(struct.pack(">HHHB", 1, 0, len(pdu) + 1, 1) + pdu)
    said = wire.recv(512)
    took = time.perf_counter() - begun
    assert said[7] == pdu[0], said
    return took


def alive(wire: socket.socket, beat: int) -> None:
    """A heartbeat."""
    asked(wire, struct.pack(">BHH", 6, p.HEARTBEAT, beat & 0xFFFF))


def main() -> None:
    """Measure each request."""
    words = (sys.executable, "-m", "gatesim", "bench", "scenarios/first-look.scenario.yaml", "--once",
             "--listen", "127.0.0.1:0", "--late", "1 s", "--lost-after", "30 s", "-o", "/dev/null")
    with subprocess.Popen(words, cwd=ROOT, stderr=subprocess.PIPE, text=True) as server:
        assert server.stderr is not None
        port = int(server.stderr.readline().partition("127.0.0.1:")[2].partition(";")[0])
        with socket.create_connection(("127.0.0.1", port)) as wire:
            wire.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
            for beat in (1, 2):
                alive(wire, beat)
            took: dict[str, list[float]] = {name: [] for name in REQUESTS}
            for k in range(ROUNDS):
                if k % 50 == 0:
                    alive(wire, k + 3)
                for name, pdu in REQUESTS.items():
                    took[name].append(asked(wire, pdu) * 1e6)
        server.terminate()
    for name, found in took.items():
        late = sorted(found)[len(found) * 99 // 100]
        print(f"{name:<32} median {statistics.median(found):6.0f} us, 99 % {late:6.0f} us")


if __name__ == "__main__":
    main()
