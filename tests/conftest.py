"""The one option of the tests, --browser, lets those run that open a real JupyterLab in Chromium.

No test reads or writes what a learner keeps in notebooks/mine: all of them work in a folder of their own.
"""

import os

import pytest


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--browser", action="store_true", help="also open every notebook in a real JupyterLab in Chromium")


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    if config.getoption("--browser"):
        return
    skip = pytest.mark.skip(reason="opens a real JupyterLab in Chromium: runs with --browser, as .ci/run does")
    for item in items:
        if item.get_closest_marker("browser"):
            item.add_marker(skip)


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """What a test said aloud, such as a page that was tried twice; also when it ran in another process."""
    for report in (*terminalreporter.getreports("passed"), *terminalreporter.getreports("failed")):
        for name, words in report.user_properties:
            if name == "said":
                terminalreporter.write_line(str(words))


@pytest.fixture(scope="session", autouse=True)
def _own_folder(tmp_path_factory: pytest.TempPathFactory) -> None:
    os.environ["EVLAB_MINE"] = str(tmp_path_factory.mktemp("mine"))     # kernels started by the tests inherit it
