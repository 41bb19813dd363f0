"""A body over the limit is let past without being kept, and the app still gets to say why; a smaller one arrives."""

import socket
from collections.abc import Iterable, Iterator
from http.client import HTTPConnection
from pathlib import Path
from threading import Event, Thread
from typing import Any

import pytest
from waitress.buffers import OverflowableBuffer
from waitress.server import create_server

from levelwind.cli.uploads import SparingChannel, clear_uploads

MOST = 1_000_000


def _app(environ: dict[str, Any], start: Any) -> Iterable[bytes]:
    body = environ["wsgi.input"].read()
    start("413 Too Large" if int(environ.get("CONTENT_LENGTH") or 0) >= MOST else "200 OK", [])
    return [f"{environ.get('CONTENT_LENGTH')} said, {len(body)} arrived".encode()]


@pytest.fixture
def port() -> Iterator[int]:
    server = create_server(_app, host="127.0.0.1", port=0, max_request_body_size=MOST)
    server.channel_class = SparingChannel
    over = Event()

    def serve() -> None:
        while not over.is_set():
            server.asyncore.loop(timeout=0.05, map=server._map, count=1)

    thread = Thread(target=serve, daemon=True)
    thread.start()
    yield server.effective_port
    over.set()
    thread.join(5)
    server.task_dispatcher.shutdown()
    server.close()


def test_a_body_over_the_limit_is_never_kept_and_is_answered_in_words(
    port: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    kept: list[int] = []
    keep = OverflowableBuffer.append
    monkeypatch.setattr(OverflowableBuffer, "append", lambda self, data: (kept.append(len(data)), keep(self, data))[1])
    connection = HTTPConnection("127.0.0.1", port, timeout=20)
    connection.request("POST", "/", body=b"x" * 5 * MOST)
    response = connection.getresponse()
    assert (response.status, response.read()) == (413, b"5000000 said, 0 arrived")
    assert max(kept) < 10_000
    connection.request("POST", "/", body=b"y" * 1000)
    assert connection.getresponse().read() == b"1000 said, 1000 arrived"


def test_who_asks_before_sending_is_told_at_once(port: int) -> None:
    head = "POST / HTTP/1.1\r\nHost: here\r\nContent-Length: 4000000000\r\nExpect: 100-continue\r\n\r\n"
    with socket.create_connection(("127.0.0.1", port), timeout=20) as line:
        line.sendall(head.encode())
        answer = b"".join(iter(lambda: line.recv(4096), b""))
    assert answer.startswith(b"HTTP/1.1 413 Too Large")
    assert answer.endswith(b"4000000000 said, 0 arrived")


def test_what_was_half_sent_is_removed_and_nothing_else(tmp_path: Path) -> None:
    for name in ("ab12.upload.mp4", "cd34.upload", "kept.mp4"):
        (tmp_path / name).write_bytes(b"x")
    clear_uploads(tmp_path)
    assert [path.name for path in tmp_path.iterdir()] == ["kept.mp4"]
