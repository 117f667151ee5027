"""An independent reading of how dates are derived, in Python's standard library.

It shares no code with daemon/plan: cure is stepped by civil day, wear is solved in exact
fractions (and again, on shorter lives, stepped by the minute), gathering is tried out. Facts are
plain objects whose fields are named as in include/beadline/facts.h, rule.h and shop.h.
"""
