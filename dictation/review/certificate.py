"""TLS with a certificate made for this run, of this machine's names, told by its fingerprint.

No browser knows it, so each warns once; whoever compares the fingerprint knows whom they talk to.
"""

from __future__ import annotations

import ipaddress
import ssl
import tempfile
from collections.abc import Iterable
from datetime import UTC, datetime, timedelta
from pathlib import Path

from dictation.errors import BadInputError

VALID = timedelta(days=7)
"""Longer than any visit; a clock that is a day wrong does no harm either."""


def tls(certificate: Path, key: Path) -> ssl.SSLContext:
    """TLS with a certificate and its key, in PEM files. Raises BadInputError."""
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.minimum_version = ssl.TLSVersion.TLSv1_2
    try:
        context.load_cert_chain(certificate, key)
    except (OSError, ssl.SSLError) as error:
        raise BadInputError(
            f"{certificate} cannot be used with {key} ({error}): give a PEM certificate and its"
            " key."
        ) from error
    return context


def tls_of_its_own(names: Iterable[str]) -> tuple[ssl.SSLContext, str]:
    """TLS with a new certificate for host names and addresses, and its SHA-256 fingerprint.

    The key is on the disk for the moment in which it is read, in a folder that nobody else opens.
    """
    # Here, not above: it takes a tenth of a second that only who shares the page need wait.
    from cryptography import x509
    from cryptography.hazmat.primitives import hashes, serialization
    from cryptography.hazmat.primitives.asymmetric import ec
    from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "hornsweep at the crush")])
    now = datetime.now(UTC)

    def named(host: str) -> x509.GeneralName:
        try:
            return x509.IPAddress(ipaddress.ip_address(host))
        except ValueError:
            return x509.DNSName(host)

    made = (
        x509.CertificateBuilder(name, name, key.public_key(), x509.random_serial_number())
        .not_valid_before(now - timedelta(days=1))
        .not_valid_after(now + VALID)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(x509.SubjectAlternativeName(map(named, names)), critical=False)
        .sign(key, hashes.SHA256())
    )
    pem = serialization.Encoding.PEM
    private = key.private_bytes(
        pem, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    )
    with tempfile.TemporaryDirectory() as folder:
        both = Path(folder) / "both.pem"
        both.write_bytes(private + made.public_bytes(pem))
        context = tls(both, both)
    return context, made.fingerprint(hashes.SHA256()).hex(":").upper()
