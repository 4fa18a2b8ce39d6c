"""From needs to dated tasks: what to set, split, harvest and feed, and what will fall short."""
