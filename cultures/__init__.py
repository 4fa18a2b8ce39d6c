"""The biology and the plan: what fry need, what live food gives, and what to do when."""
