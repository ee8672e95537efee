"""The command itself: one line on standard output, this machine only, TLS where asked for."""

from __future__ import annotations

import shutil
import socket
import ssl
import subprocess
from pathlib import Path

import pytest

from dictation.cli.app import run
from tests.review.conftest import reviewing
from tests.review.test_access import SPOKEN
from tests.review.written import visit_in


def answer(address: str, path: str, context: ssl.SSLContext | None = None) -> str:
    """First lines of what a request for ``path`` is answered with."""
    host, port = address.split("//")[1].split("/", maxsplit=1)[0].rsplit(":", 1)
    with socket.create_connection((host, int(port)), timeout=20) as plain:
        stream = context.wrap_socket(plain, server_hostname=host) if context else plain
        stream.sendall(f"GET {path} HTTP/1.0\r\nHost: {host}:{port}\r\n\r\n".encode())
        received = b""
        while piece := stream.recv(65536):
            received += piece
    return received.decode()


def test_the_address_with_the_token_is_the_only_line_on_standard_output(tmp_path: Path) -> None:
    with reviewing(visit_in(tmp_path, *SPOKEN)) as address:
        assert address.startswith("http://127.0.0.1:")
        path = address[address.index("/enter") :]
        assert "200 OK" in answer(address, path)
        assert "403" in answer(address, "/")


def test_each_time_there_is_another_token(tmp_path: Path) -> None:
    folder = visit_in(tmp_path, *SPOKEN)
    with reviewing(folder) as first, reviewing(folder) as second:
        tokens = [address.split("token=")[1] for address in (first, second)]
    assert tokens[0] != tokens[1]
    assert all(len(token) >= 32 for token in tokens)


def test_it_is_not_on_the_network_unless_asked_for(tmp_path: Path) -> None:
    with reviewing(visit_in(tmp_path, *SPOKEN)) as address:
        port = int(address.rsplit(":", 1)[1].split("/")[0])
        with pytest.raises(OSError, match="refused"):
            socket.create_connection((_other_address(), port), timeout=5)


def _other_address() -> str:
    """Another address of this machine: all of 127.0.0.0/8 is here, and only 127.0.0.1 is served."""
    return "127.0.0.2"


@pytest.mark.skipif(shutil.which("openssl") is None, reason="openssl is not installed")
def test_with_a_certificate_it_is_served_over_tls(tmp_path: Path) -> None:
    certificate, key = tmp_path / "cert.pem", tmp_path / "key.pem"
    make = ["openssl", "req", "-x509", "-newkey", "rsa:2048", "-nodes", "-days", "2"]
    make += ["-subj", "/CN=crush", "-addext", "subjectAltName=IP:127.0.0.1"]
    made = [*make, "-keyout", str(key), "-out", str(certificate)]
    subprocess.run(made, check=True, capture_output=True)
    folder = visit_in(tmp_path / "visit", *SPOKEN)
    options = ("--tls-cert", str(certificate), "--tls-key", str(key))
    with reviewing(folder, *options) as address:
        assert address.startswith("https://127.0.0.1:")
        trusting = ssl.create_default_context(cafile=str(certificate))
        entered = answer(address, address[address.index("/enter") :], trusting)
        assert "200 OK" in entered
        assert "; Secure" in entered


def test_on_a_shared_network_without_a_certificate_it_is_told(tmp_path: Path) -> None:
    folder = visit_in(tmp_path, *SPOKEN)
    with reviewing(folder, "--host", "127.0.0.2") as address:
        assert address.startswith("http://127.0.0.2:")
    from dictation.review.serve import Wanted

    assert Wanted("0.0.0.0").shared
    assert Wanted("192.0.2.7").shared
    assert not Wanted("127.0.0.1").shared
    assert not Wanted("::1").shared


@pytest.mark.parametrize(
    ("options", "code", "words"),
    [
        (["--tls-cert", "cert.pem"], 2, "--tls-key"),
        (["--tls-cert", "none.pem", "--tls-key", "none.pem"], 3, "none.pem"),
        (["--host", "192.0.2.7"], 4, "cannot be had"),
        (["--port", "99999999"], 2, "port"),
    ],
)
def test_what_cannot_be_served_ends_in_one_sentence(
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    options: list[str],
    code: int,
    words: str,
) -> None:
    folder = visit_in(tmp_path, *SPOKEN)
    assert run(["review", str(folder), "--no-browser", *options]) == code
    told = capsys.readouterr()
    assert told.out == ""
    assert words in told.err.splitlines()[-1]
    assert "Traceback" not in told.err


def test_a_folder_without_a_visit_is_told(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["review", str(tmp_path / "none"), "--no-browser"]) == 3
    assert "holds no visit" in capsys.readouterr().err
