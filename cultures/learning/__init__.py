"""What a keeper's own counts say: from the priors of the data to posteriors, with their error.

It may import replay and everything below. It hands out estimates with the reason beside each,
and the room replayed with the values that are the keeper's own.
"""
