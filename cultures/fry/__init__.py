"""The fry: how eggs develop and a brood grows, what it eats and what it leaves in the water.

It may import foods, words and errors, and knows no room and no calendar. It hands out fry
classes with their sources, the ration, the diet, what less food makes of a fry, and ammonia.
"""
