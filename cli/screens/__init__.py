"""One module for each screen of text, at most 80 columns wide.

It may import :mod:`cultures`, and knows no options and no files. It hands out text.
"""
