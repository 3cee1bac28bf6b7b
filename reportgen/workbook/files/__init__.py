"""Kinds of files: each read into the same sheets of cells, hostile ones refused."""
