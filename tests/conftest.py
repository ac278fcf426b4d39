"""What every test may ask for: the engine under the suite, a mail server, a Redis server, a browser.

The suite runs on one engine at a time: COOP_TEST_ENGINE=sqlite (the default) or postgresql. A PostgreSQL server is
found and started here when no address stands in COOP_DATABASE_URL.
"""

import contextlib
import os
import signal
from collections.abc import Iterator
from typing import Any

import pytest
from hypothesis import settings as hypothesis_settings

from deploy import engines
from tests.engines.smtp import Postbox, smtp

ENGINE = os.environ.get("COOP_TEST_ENGINE", "sqlite")
_servers = contextlib.ExitStack()

hypothesis_settings.register_profile("desk", deadline=None, max_examples=50)
hypothesis_settings.register_profile("ci", deadline=None, print_blob=True)
hypothesis_settings.load_profile("ci" if os.environ.get("CI") else "desk")


def pytest_configure(config: pytest.Config) -> None:
    # asked to end, the suite ends as after Ctrl-C, which takes servers and folders down
    signal.signal(signal.SIGTERM, signal.default_int_handler)
    if ENGINE not in ("sqlite", "postgresql"):
        raise pytest.UsageError(f"COOP_TEST_ENGINE={ENGINE}: write sqlite or postgresql")
    if ENGINE == "postgresql":
        try:
            _use_postgresql()
        except LookupError as missing:
            raise pytest.UsageError(f"{missing}; deploy/test installs it, or set COOP_TEST_POSTGRESQL_URL") from missing


def pytest_unconfigure(config: pytest.Config) -> None:
    _servers.close()


def _use_postgresql() -> None:
    """The first process starts the server; those it starts find the address in their environment."""
    from django.conf import settings

    from coop import conf

    url = os.environ.get("COOP_DATABASE_URL")
    if not url:
        url = os.environ["COOP_DATABASE_URL"] = _servers.enter_context(engines.postgres())
        _servers.callback(os.environ.pop, "COOP_DATABASE_URL", None)
        parsed = conf.parse_database(url)
        del parsed["OPTIONS"]
        settings.DATABASES["default"].update(parsed)


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Benchmarks only when asked for; tests of one engine, or that start a server on one, only in its own run."""
    asked = config.getoption("markexpr") or ""
    kept: list[pytest.Item] = []
    left: list[pytest.Item] = []
    for item in items:
        if "browser_name" in getattr(item, "fixturenames", ()) and not item.get_closest_marker("browser"):
            raise pytest.UsageError(
                f"{item.nodeid} asks for the browser's `page`: mark it, or name the fixture otherwise"
            )
        elsewhere = any(item.get_closest_marker(name) and name != ENGINE for name in ("sqlite", "postgresql"))
        unasked = item.get_closest_marker("scale") and "scale" not in asked
        (left if elsewhere or unasked else kept).append(item)
    if left:
        config.hook.pytest_deselected(items=left)
        items[:] = kept


def pytest_terminal_summary(terminalreporter: Any, exitstatus: int, config: pytest.Config) -> None:
    """What was skipped, by name and counted, as the last thing said."""
    skipped = sorted({report.nodeid for report in terminalreporter.stats.get("skipped", [])})
    if skipped:
        terminalreporter.section(f"{len(skipped)} SKIPPED on {ENGINE}")
        for name in skipped:
            terminalreporter.line(name)


@pytest.hookimpl(trylast=True)
def pytest_sessionfinish(session: pytest.Session, exitstatus: int) -> None:
    """Where nothing may be skipped, a skip fails the run. (In the process that reports, not in its workers.)"""
    reporter = session.config.pluginmanager.get_plugin("terminalreporter")
    if os.environ.get("COOP_TEST_NO_SKIP") and reporter and reporter.stats.get("skipped") and not exitstatus:
        session.exitstatus = pytest.ExitCode.TESTS_FAILED


@pytest.fixture(scope="session")
def engine() -> str:
    return ENGINE


@pytest.fixture(scope="session")
def redis_url() -> Iterator[str]:
    """A real Redis server of this session's own."""
    try:
        with engines.redis() as url:
            yield url
    except LookupError as missing:
        pytest.skip(str(missing))


@pytest.fixture
def postbox() -> Iterator[Postbox]:
    """A real mail server on loopback, without Django pointed at it."""
    with smtp() as box:
        yield box


@pytest.fixture
def mailing(postbox: Postbox, settings: Any) -> Postbox:
    """The same, with Django sending to it."""
    settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    settings.EMAIL_HOST, settings.EMAIL_PORT = "127.0.0.1", postbox.port
    settings.EMAIL_HOST_USER = settings.EMAIL_HOST_PASSWORD = ""
    settings.EMAIL_USE_TLS = settings.EMAIL_USE_SSL = False
    return postbox


@pytest.fixture(scope="session")
def browser_type_launch_args(browser_type_launch_args: dict[str, Any]) -> dict[str, Any]:
    """The machine's own Chromium, headless, and quiet on the network."""
    found = engines.find_chromium()
    if found is None:
        pytest.skip("Chromium is not installed")
    return {
        **browser_type_launch_args,
        "executable_path": str(found),
        "args": list(engines.CHROMIUM_ARGS),
        "headless": True,
    }


@pytest.fixture(scope="session")
def browser_context_args(browser_context_args: dict[str, Any]) -> dict[str, Any]:
    return {**browser_context_args, "locale": "en-GB", "timezone_id": "Europe/Paris"}
