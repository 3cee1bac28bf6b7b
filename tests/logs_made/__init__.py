"""Logs as growers may keep them, drawn at random, each with the truth that it holds.

A trial is drawn with known values (`trial.py`), its values are placed on carriers (`layouts.py`),
habits are put over that (`habits.py`), and files are written (`writers.py`). `making.made(seed)`
does all of it but the writing. Nothing here knows how the program reads a log. `owner.py` answers
the program's questions, `variants.py` changes a log.
"""
