"""The command line."""

import gc

# A command lives for a moment and makes next to no cycles; looking for them every 700 objects, as
# Python does, costs it a twentieth of its time.
gc.set_threshold(50_000)
