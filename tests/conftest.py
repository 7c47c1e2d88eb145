"""What all tests share."""

from hypothesis import settings

# The same examples on every machine and at every run; time limits are the test runner's matter.
settings.register_profile("routeprep", deadline=None, derandomize=True, print_blob=True)
settings.load_profile("routeprep")
