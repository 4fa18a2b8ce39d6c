"""Profiles of Hypothesis: the suite as it is run each time, and a thorough run of its properties.

``python -m pytest --hypothesis-profile=thorough tests/properties`` looks at many more examples
where an example is dear; see `tests.examples`.
"""

from __future__ import annotations

from hypothesis import settings

from tests.examples import THOROUGH

settings.register_profile("thorough", max_examples=THOROUGH)
