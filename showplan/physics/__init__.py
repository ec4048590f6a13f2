"""Published formulas: numbers and numpy arrays in and out, units in every name. No Django, no Scene.

Arguments are assumed to lie in the domain each docstring states; `catalogue.evaluate` checks it.
"""
