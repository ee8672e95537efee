"""Which reckoning made the lines of an exam: a digest of all that they depend on.

Nobody has to remember to raise a number: a changed rule, curve or word is another reckoning, and
what was kept under the old one is made again.
"""

from __future__ import annotations

import functools
import hashlib
from pathlib import Path

import dictation
import grammar

SOURCES = (
    (grammar, ("**/*.py", "*.lark", "*.toml")),
    (
        dictation,
        (
            "visit/*.py",
            "records/*.py",
            "records/practice/*.py",
            "audio/samples.py",
            "recognition/protocol.py",
            "errors.py",
        ),
    ),
)
"""Packages, and their files from which an exam and its line are made."""


def sources() -> tuple[Path, ...]:
    """The files, in order."""
    found: list[Path] = []
    for package, patterns in SOURCES:
        root = Path(str(package.__file__)).parent
        found += sorted({path for pattern in patterns for path in root.glob(pattern)})
    return tuple(found)


@functools.cache
def reckoning() -> str:
    """The digest, reckoned once a process."""
    digest = hashlib.sha256()
    for path in sources():
        digest.update(path.name.encode())
        digest.update(path.read_bytes())
    return digest.hexdigest()[:32]
