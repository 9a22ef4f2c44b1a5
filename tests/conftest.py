"""What every test shares."""

from __future__ import annotations

from hypothesis import settings

# A shared or busy machine must not turn a slow example into a failure.
settings.register_profile("steady", deadline=None)
settings.load_profile("steady")
