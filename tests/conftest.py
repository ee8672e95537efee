"""Options and settings that all tests share."""

from __future__ import annotations

import pytest


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--rewrite-golden",
        action="store_true",
        help="write the expected files of tests/visits anew; look at the difference before use",
    )


@pytest.fixture
def rewrite_golden(request: pytest.FixtureRequest) -> bool:
    return bool(request.config.getoption("--rewrite-golden"))
