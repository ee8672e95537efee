"""Serving the page: on this machine only, unless a shared network is asked for."""

from __future__ import annotations

import asyncio
import ipaddress
import secrets
import socket
import ssl
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import uvicorn

from dictation.decide.record import Record
from dictation.errors import BadInputError, MissingError, WrongUseError
from dictation.review.access import Gate
from dictation.review.app import application, offered

LOOPBACK = "127.0.0.1"
CLOSE_WITHIN_S = 1
"""Pages that follow are cut off after this long when the page is stopped."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """Where to serve, and for whom. ``port`` 0: a free one. ``who``: name that forms start with."""

    host: str = LOOPBACK
    port: int = 0
    certificate: Path | None = None
    key: Path | None = None
    who: str = ""

    @property
    def shared(self) -> bool:
        """Whether others on the network can reach it."""
        try:
            return not ipaddress.ip_address(self.host).is_loopback
        except ValueError:
            return self.host != "localhost"


def serve(record: Record, wanted: Wanted, ready: Callable[[str], None]) -> None:
    """Serve until stopped. ``ready`` is given the address, token included, once it answers.

    Raises WrongUseError or MissingError where the port cannot be had, BadInputError where the
    certificate cannot be used.
    """
    if (wanted.certificate is None) != (wanted.key is None):
        raise WrongUseError("A certificate needs its key: give --tls-cert and --tls-key together.")
    _check_certificate(wanted)
    listening = _listen(wanted)
    port = int(listening.getsockname()[1])
    secure = wanted.certificate is not None
    gate = Gate(secrets.token_urlsafe(24), port, _names(wanted), secure, wanted.who)
    config = uvicorn.Config(
        application(record, gate),
        log_level="critical",
        access_log=False,
        server_header=False,
        lifespan="off",
        ssl_certfile=wanted.certificate,
        ssl_keyfile=wanted.key,
        timeout_graceful_shutdown=CLOSE_WITHIN_S,
        ws="none",
    )
    scheme = "https" if secure else "http"
    address = f"{scheme}://{_shown(wanted)}:{port}/enter?token={gate.token}"
    server = uvicorn.Server(config)
    asyncio.run(_run(server, listening, lambda: ready(address)))


async def _run(server: uvicorn.Server, listening: socket.socket, ready: Callable[[], None]) -> None:
    serving = asyncio.create_task(server.serve([listening]))
    while not server.started and not serving.done():
        await asyncio.sleep(0.01)
    if server.started:
        ready()
        # The first completion builds the grammar; nobody should wait for that while typing.
        await asyncio.to_thread(offered, "")
    await serving


def _check_certificate(wanted: Wanted) -> None:
    if wanted.certificate is None:
        return
    try:
        ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER).load_cert_chain(wanted.certificate, wanted.key)
    except (OSError, ssl.SSLError) as error:
        raise BadInputError(
            f"{wanted.certificate} cannot be used with {wanted.key} ({error}): give a PEM"
            " certificate and its key."
        ) from error


def _listen(wanted: Wanted) -> socket.socket:
    family = socket.AF_INET6 if ":" in wanted.host else socket.AF_INET
    listening = socket.socket(family, socket.SOCK_STREAM)
    listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listening.bind((wanted.host, wanted.port))
    except OSError as error:
        listening.close()
        raise MissingError(
            f"{wanted.host} port {wanted.port} cannot be had ({error.strerror}): choose another"
            " with --port or --host."
        ) from error
    return listening


def _names(wanted: Wanted) -> frozenset[str]:
    """Host names under which the page may be asked for."""
    if not wanted.shared:
        return frozenset({"localhost"})
    machine = socket.gethostname().lower()
    return frozenset({"localhost", machine, f"{machine}.local", wanted.host.lower()})


def _shown(wanted: Wanted) -> str:
    """The host as others can use it in the address."""
    if wanted.host in ("0.0.0.0", "::"):
        return _own_address()
    return f"[{wanted.host}]" if ":" in wanted.host else wanted.host


def _own_address() -> str:
    """Address of this machine on its network; connecting a datagram socket sends nothing."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))
        except OSError:
            return socket.gethostname()
        return str(probe.getsockname()[0])
