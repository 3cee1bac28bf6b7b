"""Property tests try the same examples every time, so that a change and not chance decides whether they pass."""

from hypothesis import settings

settings.register_profile("same", derandomize=True, deadline=None)  # no test asserts on time
settings.load_profile("same")


def pytest_addoption(parser):
    """Let more spoilt workbooks be tried than usual."""
    parser.addoption("--seeds", dest="seeds", type=int, default=2000, help="workbooks that are spoilt at random")
