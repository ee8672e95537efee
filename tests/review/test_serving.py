"""The command itself: one line on standard output, this machine only, TLS where asked for."""

from __future__ import annotations

import os
import shutil
import signal
import socket
import ssl
import subprocess
import sys
import time
from contextlib import ExitStack, suppress
from pathlib import Path

import httpx2
import pytest
import segno

from dictation.cli.app import INTERRUPTED, run
from dictation.console.door import qr
from dictation.decide.record import Record
from dictation.review.app import application
from dictation.review.serve import Wanted, serving
from tests.review.conftest import reviewing
from tests.review.crush import at_the_crush
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


def test_what_others_can_reach_is_told_from_what_they_cannot() -> None:
    assert all(Wanted(host).shared for host in ("0.0.0.0", "192.0.2.7", "::"))
    assert not any(Wanted(host).shared for host in ("127.0.0.1", "127.0.0.2", "::1", "localhost"))


@pytest.mark.skipif(shutil.which("openssl") is None, reason="openssl is not installed")
def test_other_machines_are_served_over_tls_with_a_certificate_told_by_its_fingerprint(
    tmp_path: Path,
) -> None:
    """The fingerprint as openssl reckons it of the certificate that is served."""
    told: list[str] = []
    with reviewing(visit_in(tmp_path, *SPOKEN), "--host", "0.0.0.0", told=told) as address:
        assert address.startswith("https://")
        port = int(address.rsplit(":", 1)[1].split("/")[0])
        served = ssl.get_server_certificate(("127.0.0.1", port))
        certificate = tmp_path / "served.pem"
        certificate.write_text(served, encoding="ascii")
        trusting = ssl.create_default_context(cafile=str(certificate))
        local = f"https://localhost:{port}"
        assert "; Secure" in answer(local, address[address.index("/enter") :], trusting)
        with pytest.raises((OSError, AssertionError)):
            assert "HTTP/1.1 2" in answer(f"http://127.0.0.1:{port}", "/enter")
    asked = ["openssl", "x509", "-noout", "-fingerprint", "-sha256", "-in", str(certificate)]
    shown = subprocess.run(asked, check=True, capture_output=True, text=True).stdout
    assert shown.strip().split("=")[1] in "".join(told)


def test_an_address_lets_one_browser_in_and_that_one_stays(tmp_path: Path) -> None:
    with reviewing(visit_in(tmp_path, *SPOKEN)) as address, httpx2.Client() as first:
        assert first.get(address).status_code == 200
        assert httpx2.get(address).status_code == 403
        origin = address.split("/enter", maxsplit=1)[0]
        assert first.get(f"{origin}/").status_code == 200
        assert first.get(address).status_code == 200


@pytest.mark.skipif(sys.platform == "win32", reason="modes and BROWSER are of other systems")
@pytest.mark.parametrize("end", ["SIGINT", "SIGTERM", "SIGHUP"])
def test_the_token_is_on_no_command_line_and_in_no_file_that_others_can_read(
    tmp_path: Path, end: str
) -> None:
    seen, script = tmp_path / "seen", tmp_path / "browser"
    script.write_text(
        f'#!/bin/sh\necho "$@" > {seen}.part\n'
        f'stat -c %a "${{1#file://}}" >> {seen}.part\ncat "${{1#file://}}" >> {seen}.part\n'
        f"mv {seen}.part {seen}\n",
        encoding="utf-8",
    )
    script.chmod(0o755)
    folder = visit_in(tmp_path / "visit", *SPOKEN)
    command = [sys.executable, "-m", "dictation", "review", str(folder)]
    environment = {**os.environ, "BROWSER": f"{script} %s"}
    process = subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=environment)
    try:
        assert process.stdout is not None
        token = process.stdout.readline().strip().split("token=")[1]
        while not seen.exists():
            assert process.poll() is None
            time.sleep(0.05)
        arguments, mode, page = seen.read_text(encoding="utf-8").split("\n", 2)
        assert arguments.startswith("file://")
        assert token not in arguments
        assert mode == "600"
        assert token in page
    finally:
        process.send_signal(getattr(signal, end))
        process.wait(60)
    assert list(folder.glob(".open-*")) == []


@pytest.mark.parametrize(
    "half",
    [b"", b"GET / HT", b"GET / HTTP/1.1\r\nHost: 127.0", b"POST /act HTTP/1.1\r\nHost: {host}\r\n"
     b"Content-Length: 10\r\n\r\nabc", b"GET /x HTTP/1.1\r\nHost: {host}\r\n\r\nGET / HT"],
)  # fmt: skip
def test_who_says_half_of_something_is_hung_up_on(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, half: bytes
) -> None:
    monkeypatch.setattr("dictation.review.connection.WHOLE_WITHIN_S", 0.3)
    with (
        Record.amend(visit_in(tmp_path, *SPOKEN)) as record,
        serving(lambda gate: application(record, gate), Wanted(), lambda: None) as gate,
        socket.create_connection(("127.0.0.1", gate.port), timeout=20) as line,
    ):
        line.sendall(half.replace(b"{host}", f"127.0.0.1:{gate.port}".encode()))
        with suppress(ConnectionResetError):
            while line.recv(65536):
                pass


def test_who_follows_is_not_hung_up_on(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("dictation.review.connection.WHOLE_WITHIN_S", 0.1)
    with at_the_crush(tmp_path) as crush:
        assert crush.gate is not None
        with httpx2.Client(base_url=crush.gate.origin) as client:
            client.get(crush.gate.address)
            with client.stream("GET", "/events") as news:
                beats = (line for line in news.iter_lines() if line == "event: beat")
                assert [next(beats), next(beats)]


@pytest.mark.skipif(sys.platform == "win32", reason="there is no such signal")
@pytest.mark.parametrize("follows", [False, True])
def test_it_ends_when_it_is_interrupted_also_while_somebody_follows(
    tmp_path: Path, follows: bool
) -> None:
    folder = visit_in(tmp_path, *SPOKEN)
    command = [sys.executable, "-m", "dictation", "review", str(folder), "--no-browser"]
    process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    assert process.stdout is not None
    address = process.stdout.readline().strip()
    with httpx2.Client() as client, ExitStack() as stack:
        client.get(address)
        if follows:
            origin = address.split("/enter", maxsplit=1)[0]
            stack.enter_context(client.stream("GET", f"{origin}/events"))
        process.send_signal(signal.SIGINT)
        _, told = process.communicate(timeout=60)
    assert process.returncode == INTERRUPTED
    assert "Traceback" not in told


def test_a_visit_that_cannot_be_read_any_more_is_told_in_a_sentence(tmp_path: Path) -> None:
    folder = visit_in(tmp_path / "visit", *SPOKEN)
    with reviewing(folder) as address, httpx2.Client() as client:
        client.get(address)
        (folder / "visit.sqlite").write_bytes(b"no journal" * 1000)
        origin = address.split("/enter", maxsplit=1)[0]
        for path in ("/", "/changes?since=0"):
            told = client.get(f"{origin}{path}")
            assert told.status_code == 503
            assert "visit.sqlite" in told.text
            assert len(told.text.splitlines()) == 1


def test_the_qr_code_is_the_one_that_the_address_has() -> None:
    """Read back from its half blocks, module by module, beside a quiet margin."""
    address = "https://192.168.100.200:65535/enter?token=" + "a" * 32
    lines = qr(address).plain.split("\n")
    halves = {" ": (0, 0), "\u2580": (1, 0), "\u2584": (0, 1), "\u2588": (1, 1)}
    read = [[halves[c][half] for c in line] for line in lines for half in (0, 1)]
    size = len(read[0])
    assert size <= 80
    assert len(lines) <= 20
    modules = [list(row) for row in segno.make_qr(address, error="l").matrix_iter(border=2)]
    assert read[:size] == modules


@pytest.mark.parametrize(
    ("options", "code", "words"),
    [
        (["--tls-cert", "cert.pem"], 2, "--tls-key"),
        (["--tls-cert", "none.pem", "--tls-key", "none.pem"], 3, "none.pem"),
        (["--host", "192.0.2.7"], 4, "cannot be had"),
        (["--host", "no.such.name.invalid"], 4, "cannot be had"),
        (["--host", ""], 2, "needs an address"),
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


def test_an_address_without_the_page_that_it_is_of_is_told(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert run(["listen", "--host", "0.0.0.0"]) == 2
    assert "give --wall too" in capsys.readouterr().err
