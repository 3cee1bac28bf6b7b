"""Property tests try the same examples every time, so that a change and not chance decides whether they pass."""

import signal

from hypothesis import settings

settings.register_profile("same", derandomize=True, deadline=None)  # no test asserts on time
settings.load_profile("same")
signal.signal(signal.SIGINT, signal.default_int_handler)  # shells have it ignored by what runs in their background


def pytest_addoption(parser):
    """Let more spoilt workbooks be tried than usual."""
    parser.addoption("--seeds", dest="seeds", type=int, help="workbooks that are spoilt at random")


def pytest_collection_modifyitems(items):
    """Begin with the files that have long tests, so that two processors end together."""
    long = {item.path for item in items if item.get_closest_marker("slow")}
    items.sort(key=lambda item: item.path not in long)
