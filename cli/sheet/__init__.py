"""The printable sheet: one self-contained HTML page made from the plan.

It may import :mod:`cultures`, :mod:`cli.screens` and :mod:`cli.drawing`. It hands out the page and
what puts into the record that it was told; ``templates`` holds its HTML and its style sheet.
"""
