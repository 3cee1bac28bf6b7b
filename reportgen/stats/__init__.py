"""The methods, one a file: arrays of numbers go in, estimates and comparisons come out."""
