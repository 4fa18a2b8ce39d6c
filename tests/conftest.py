"""Profiles of Hypothesis: the suite as it is run each time, and a thorough run of it.

``python -m pytest --hypothesis-profile=thorough`` looks at many more examples where an example is
dear; see `tests.examples`. No example has a deadline by the clock: on a busy machine that would
say something of the machine.
"""

from __future__ import annotations

from hypothesis import settings

from tests.examples import THOROUGH

settings.register_profile("suite", settings(), deadline=None)
settings.load_profile("suite")
settings.register_profile("thorough", settings(), max_examples=THOROUGH)
