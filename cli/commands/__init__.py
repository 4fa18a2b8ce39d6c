"""One module for each command: options in, a screen or JSON out.

It may import everything; nothing imports it but the group that finds commands by name.
"""
