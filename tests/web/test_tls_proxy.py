"""Signing in and saving through a real proxy with TLS, set up as docs/how-to/let-the-phone-in.md has it."""

import http.client
import os
import re
import shutil
import socket
import sqlite3
import ssl
import subprocess
import sys
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from time import monotonic, sleep
from urllib.parse import urlencode

import pytest
from django.contrib.auth.hashers import PBKDF2PasswordHasher
from django.db import connection

ROOT = Path(__file__).parents[2]
NAME, PASSWORD = "Ansa Vell", "a reel is a reel is a reel"
GIVE_UP_S = 120
CONF = """
pid {folder}/pid; error_log {folder}/error.log; user root;
events {{}}
http {{
  access_log off;
  client_body_temp_path {folder}/body; proxy_temp_path {folder}/proxy; fastcgi_temp_path {folder}/f;
  uwsgi_temp_path {folder}/u; scgi_temp_path {folder}/s;
  server {{
    listen 127.0.0.1:{port} ssl;
    server_name bench.example;
    ssl_certificate {folder}/cert.pem; ssl_certificate_key {folder}/key.pem;
    {location}
  }}
}}
"""


@pytest.mark.django_db
def test_a_save_goes_through_a_real_proxy_with_tls(tmp_path: Path) -> None:
    nginx = shutil.which("nginx") or shutil.which("nginx", path="/usr/sbin")
    if not nginx or not shutil.which("openssl"):
        pytest.skip("nginx or openssl is not installed here")
    with _shop(tmp_path) as behind, _proxy(nginx, tmp_path, behind) as port:
        browser = Browser(tmp_path / "cert.pem", port)
        assert browser.ask("GET", "/sign-in/") == 200
        assert browser.ask("POST", "/sign-in/", {"username": NAME, "password": PASSWORD, "next": "/"}) == 302
        part = {"number": "T-114", "name": "Drag washer", "kind": "", "spot": "", "price_minor": "", "count": "3"}
        assert browser.ask("POST", "/shelf/add/", part, origin="https://elsewhere.example") == 403
        assert browser.ask("POST", "/shelf/add/", part) == 302, browser.said
        assert browser.ask("GET", "/shelf/") == 200 and "Drag washer" in browser.said
        assert browser.secure == {"csrftoken": True, "sessionid": True}
        assert "max-age=" in browser.headers["Strict-Transport-Security"]


class Browser:
    """Knows the shop's name and its certificate; keeps cookies, as pages and their forms want it."""

    def __init__(self, certificate: Path, port: int) -> None:
        self.cookies: dict[str, str] = {}
        self.secure: dict[str, bool] = {}
        self.headers, self.said = http.client.HTTPMessage(), ""
        self._trust, self._port = ssl.create_default_context(cafile=str(certificate)), port

    def ask(
        self, method: str, where: str, fields: Mapping[str, str] | None = None, origin: str = "https://bench.example"
    ) -> int:
        line = http.client.HTTPConnection("bench.example")
        plain = socket.create_connection(("127.0.0.1", self._port), timeout=GIVE_UP_S)
        line.sock = self._trust.wrap_socket(plain, server_hostname="bench.example")
        head = {"Cookie": "; ".join(f"{name}={value}" for name, value in self.cookies.items())}
        if fields:
            head |= {"Origin": origin, "Referer": f"{origin}{where}", "X-CSRFToken": self.cookies["csrftoken"]}
            head |= {"Content-Type": "application/x-www-form-urlencoded"}
        line.request(method, where, urlencode(fields) if fields else None, head)
        answer = line.getresponse()
        self.headers, self.said = answer.headers, answer.read().decode()
        for name, value, rest in re.findall(r"(\w+)=([^;]*);(.*)", "\n".join(answer.headers.get_all("Set-Cookie", []))):
            self.cookies[name], self.secure[name] = value, "Secure" in rest
        line.close()
        return answer.status


@contextmanager
def _shop(folder: Path) -> Iterator[int]:
    data = folder / "shop"
    data.mkdir()
    with sqlite3.connect(str(connection.settings_dict["NAME"])) as made, sqlite3.connect(data / "book.sqlite3") as copy:
        made.backup(copy)
        known = PBKDF2PasswordHasher().encode(PASSWORD, "salt" * 6, iterations=1)
        copy.execute(
            "INSERT INTO auth_user (password, is_superuser, username, first_name, last_name, email, is_staff, "
            "is_active, date_joined) VALUES (?, 1, ?, '', '', '', 1, 1, '2026-11-30')",
            [known, NAME],
        )
    kept = {name: text for name, text in os.environ.items() if not name.startswith(("DJANGO", "LEVELWIND"))}
    here = kept | {"LEVELWIND_DATA": str(data), "LEVELWIND_PROXY": "https://bench.example"}
    command = [sys.executable, "-m", "levelwind.cli", "open", "--port", "0"]
    with subprocess.Popen(command, env=here, stdout=subprocess.PIPE, text=True) as server:
        try:
            assert server.stdout
            found = re.search(r":(\d+)/", server.stdout.readline())
            assert found
            yield int(found[1])
        finally:
            server.terminate()


@contextmanager
def _proxy(nginx: str, folder: Path, behind: int) -> Iterator[int]:
    certificate = [
        "-keyout",
        folder / "key.pem",
        "-out",
        folder / "cert.pem",
        "-days",
        "2",
        "-subj",
        "/CN=bench.example",
    ]
    kind = ["-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:prime256v1", "-nodes"]
    named = ["-addext", "subjectAltName=DNS:bench.example"]
    subprocess.run(["openssl", "req", *kind, *certificate, *named], check=True, capture_output=True)
    said = (ROOT / "docs/how-to/let-the-phone-in.md").read_text(encoding="utf-8")
    location = re.search(r"```\w*\n(location.*?)```", said, re.DOTALL)
    assert location
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        port = one.getsockname()[1]
    conf = CONF.format(folder=folder, port=port, location=location[1].replace(":8017", f":{behind}"))
    (folder / "nginx.conf").write_text(conf)
    command = [nginx, "-e", "stderr", "-p", str(folder), "-c", str(folder / "nginx.conf"), "-g", "daemon off;"]
    with subprocess.Popen(command) as proxy:
        try:
            last = monotonic() + GIVE_UP_S
            while not _listens(port):
                assert proxy.poll() is None and monotonic() < last, (folder / "error.log").read_text()
                sleep(0.02)
            yield int(port)
        finally:
            proxy.terminate()


def _listens(port: int) -> bool:
    with socket.socket() as one:
        return one.connect_ex(("127.0.0.1", port)) == 0
