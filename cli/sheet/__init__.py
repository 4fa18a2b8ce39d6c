"""The printable sheet: one self-contained HTML page drawn from the plan."""
