"""What holds for all tests: the profiles of hypothesis, and no profile of the user's own mill."""

import os

from hypothesis import HealthCheck, settings

settings.register_profile("dev", max_examples=60, deadline=None)
settings.register_profile(
    "ci", max_examples=100, deadline=None, suppress_health_check=[HealthCheck.too_slow]
)
settings.register_profile(
    "soak", max_examples=5000, deadline=None, suppress_health_check=[HealthCheck.too_slow]
)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "dev"))

# The person who runs the tests may have a profile at the default place; the tests must not see it.
os.environ["XDG_CONFIG_HOME"] = os.path.join(os.path.dirname(__file__), "no-such-folder")  # noqa: PTH118, PTH120
