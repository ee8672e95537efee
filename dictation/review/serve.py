"""Serving pages: on this machine in clear, to any other machine over TLS only."""

from __future__ import annotations

import asyncio
import ipaddress
import socket
import ssl
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import uvicorn
from starlette.applications import Starlette

from dictation.decide.record import Record
from dictation.errors import MissingError, WrongUseError
from dictation.review.access import Gate, new_token
from dictation.review.app import application, offered
from dictation.review.certificate import tls, tls_of_its_own
from dictation.review.connection import WholeInTime

LOOPBACK = "127.0.0.1"
ENDS_IN_S = 0.2
"""Who follows is told that it is over, and has this long to take it in."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """Where to serve, and for whom. ``port`` 0: a free one. ``who``: name that forms start with.

    Without a certificate of the user's another machine is served with one made for the occasion.
    """

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


MakePages = Callable[[Gate], Starlette]


def serve(record: Record, wanted: Wanted, ready: Callable[[Gate], None]) -> None:
    """Serve the review page until stopped. ``ready`` is given the gate once it answers.

    Raises WrongUseError or MissingError where the port cannot be had, BadInputError where the
    certificate cannot be used.
    """
    server, listening, gate = _opened(lambda gate: application(record, gate), wanted)
    asyncio.run(_run(server, listening, lambda: ready(gate)))


@contextmanager
def serving(pages: MakePages, wanted: Wanted, over: Callable[[], None]) -> Iterator[Gate]:
    """Pages beside other work, from a thread of their own. ``over``: called before they end."""
    server, listening, gate = _opened(pages, wanted)
    thread = threading.Thread(
        target=lambda: asyncio.run(server.serve([listening])), name="pages", daemon=True
    )
    thread.start()
    try:
        yield gate
    finally:
        over()
        time.sleep(ENDS_IN_S)
        server.should_exit = True
        thread.join(1.0)


async def _run(server: uvicorn.Server, listening: socket.socket, ready: Callable[[], None]) -> None:
    serving = asyncio.create_task(server.serve([listening]))
    while not server.started and not serving.done():
        await asyncio.sleep(0.01)
    if server.started:
        ready()
        # The first completion builds the grammar; nobody should wait for that while typing, nor
        # for the thread when the page is stopped.
        threading.Thread(target=offered, args=("",), daemon=True).start()
    await serving


def _opened(pages: MakePages, wanted: Wanted) -> tuple[uvicorn.Server, socket.socket, Gate]:
    if (wanted.certificate is None) != (wanted.key is None):
        raise WrongUseError("A certificate needs its key: give --tls-cert and --tls-key together.")
    if not wanted.host:
        raise WrongUseError("--host needs an address: 0.0.0.0 for every one of this machine.")
    context, fingerprint = _tls(wanted)
    listening = _listen(wanted)
    port = int(listening.getsockname()[1])
    scheme = "http" if context is None else "https"
    gate = Gate(
        new_token(),
        port,
        _names(wanted),
        context is not None,
        wanted.who,
        origin=f"{scheme}://{_shown(wanted)}:{port}",
        shared=wanted.shared,
        fingerprint=fingerprint,
    )
    config = uvicorn.Config(
        pages(gate),
        http=WholeInTime,
        log_level="critical",
        access_log=False,
        server_header=False,
        lifespan="off",
        ssl_context_factory=None if context is None else lambda *_: context,
        timeout_graceful_shutdown=0,  # whatever is being saved is saved; who follows is cut off
        ws="none",
    )
    return uvicorn.Server(config), listening, gate


def _tls(wanted: Wanted) -> tuple[ssl.SSLContext | None, str]:
    """TLS where it is wanted or needed, and the fingerprint of a certificate made for it."""
    if wanted.certificate is not None and wanted.key is not None:
        return tls(wanted.certificate, wanted.key), ""
    if not wanted.shared:
        return None, ""
    return tls_of_its_own({_shown(wanted), *_names(wanted)})


def _listen(wanted: Wanted) -> socket.socket:
    family = socket.AF_INET6 if ":" in wanted.host else socket.AF_INET
    listening = socket.socket(family, socket.SOCK_STREAM)
    listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listening.bind((wanted.host, wanted.port))
        listening.listen()
    except (OSError, UnicodeError) as error:
        listening.close()
        raise MissingError(
            f"{wanted.host} port {wanted.port} cannot be had ({error}): choose another with --port"
            " or --host."
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
