"""The living foods: their parameters, and what a culture or a hatch gives when.

It may import words and errors, and knows no room: temperature, medium and times are given.
It hands out kinds with their sources, the models of worm cultures and hatches, and the size of
a hatch for a need.
"""
