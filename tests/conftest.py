"""What all tests share."""

from hypothesis import settings

# The same examples on every machine and at every run, so that a hundred of each law would find no
# more on the second day than fifty do; time limits are the test runner's matter.
settings.register_profile(
    "routeprep", deadline=None, derandomize=True, max_examples=50, print_blob=True
)
settings.load_profile("routeprep")
