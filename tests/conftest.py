"""Property tests try the same examples every time, so that a change and not chance decides whether they pass."""

from hypothesis import settings

settings.register_profile("same", derandomize=True)
settings.load_profile("same")
