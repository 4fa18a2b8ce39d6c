"""Pictures of the room as SVG, the same on the phone and on paper.

It may import :mod:`cultures`, what a command was set to, and :mod:`cli.screens`. It hands out
drawn pictures, with the courses behind them; ``templates`` holds their frame and their looks.
"""
