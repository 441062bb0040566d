"""Property tests of the physics draw the same examples on every run, however slow the machine."""

from hypothesis import settings

settings.register_profile("physics", deadline=None, derandomize=True)
settings.load_profile("physics")
