"""Lines of strace are read for what they are."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.tracing import reaches_out, written


@pytest.mark.parametrize(
    ("line", "out"),
    [
        ('{sa_family=AF_INET, sin_port=htons(80), sin_addr=inet_addr("127.0.0.1")}', False),
        ('{sa_family=AF_INET, sin_port=htons(53), sin_addr=inet_addr("127.0.0.53")}', True),
        ('{sa_family=AF_INET, sin_port=htons(443), sin_addr=inet_addr("192.0.2.7")}', True),
        ('{sa_family=AF_INET, sin_port=htons(0), sin_addr=inet_addr("0.0.0.0")}', True),
        (
            "{sa_family=AF_INET6, sin6_port=htons(80), sin6_flowinfo=htonl(0), "
            'inet_pton(AF_INET6, "::1", &sin6_addr), sin6_scope_id=0}',
            False,
        ),
        (
            "{sa_family=AF_INET6, sin6_port=htons(80), sin6_flowinfo=htonl(0), "
            'inet_pton(AF_INET6, "2001:db8::7", &sin6_addr), sin6_scope_id=0}',
            True,
        ),
        ('{sa_family=AF_UNIX, sun_path="/run/user/1000/pulse/native"}', False),
        ('{sa_family=AF_UNIX, sun_path="/run/systemd/resolve/io.systemd.Resolve"}', True),
        ("{sa_family=AF_NETLINK, nl_pid=0, nl_groups=00000000}", False),
        ("{sa_family=AF_UNSPEC, sa_data=...}", False),
        ("{sa_family=AF_BLUETOOTH, sa_data=...}", True),
    ],
)
def test_an_address_is_here_or_beyond(line: str, out: bool) -> None:
    for call, result in (("connect", "0"), ("connect", "-1 ENETUNREACH (...)"), ("bind", "0")):
        assert reaches_out(f"{call}(8<socket:[18466]>, {line}, 16) = {result}") is out
    assert reaches_out(f'sendto(8<socket:[1]>, "x"..., 50, MSG_NOSIGNAL, {line}, 16) = 50') is out
    assert reaches_out(f"connect(8<socket:[1]>, {line}, 16 <unfinished ...>") is out


@pytest.mark.parametrize(
    ("line", "path"),
    [
        ('openat(AT_FDCWD</w>, "a", O_RDONLY|O_CLOEXEC) = 3</w/a>', None),
        ('openat(AT_FDCWD</w>, "a", O_WRONLY|O_CREAT, 0666) = 3</w/a>', "/w/a"),
        ('openat(AT_FDCWD</w>, "a", O_RDWR) = -1 ENOENT (No such file or directory)', None),
        ('openat(6</h>, "id", O_WRONLY|O_CREAT, 0600) = 7</h/id>', "/h/id"),
        ('openat(AT_FDCWD</w>, "/t", O_RDWR|O_TMPFILE, 0600) = 3</t/#9>(deleted)', "/t/#9"),
        ('creat("/t/b", 0600) = 3</t/b>', "/t/b"),
        ('mkdir("/t/c", 0777) = 0', "/t/c"),
        ('mkdir("c", 0777) = 0', "/w/c"),
        ('mkdir("/t", 0777) = -1 EEXIST (File exists)', None),
        ('rename("/t/a", "/h/a") = 0', "/h/a"),
        ('renameat2(AT_FDCWD</w>, "a", 5</h>, "b", RENAME_NOREPLACE) = 0', "/h/b"),
        ('symlink("/t/a", "/h/l") = 0', "/h/l"),
    ],
)
def test_a_file_that_is_made_is_seen(line: str, path: str | None) -> None:
    assert written(line, Path("/w")) == (None if path is None else Path(path))
