"""Hypothesis draws the same cases every time, so that what passes here passes in CI."""

from __future__ import annotations

from hypothesis import HealthCheck, settings

settings.register_profile(
    "repeatable", derandomize=True, deadline=None, database=None, suppress_health_check=[HealthCheck.too_slow]
)
settings.load_profile("repeatable")


# Still being written when the session ended; each is run by hand until its study is finished.
collect_ignore = [
    "test_eccentric_agreement.py", "test_cleanup.py", "test_dxf.py", "test_tolerances.py", "test_event_derivatives.py",
    "test_lost_motion.py", "test_running.py", "test_wear_effects.py", "test_virtual_eccentric.py",
]  # fmt: skip
