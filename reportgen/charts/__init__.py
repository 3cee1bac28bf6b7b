"""Figures of a report: one theme, one function a figure; data in, Altair chart out.

Every function takes frozen data and gives a chart that `theme.spec` turns into Vega-Lite JSON text.
Functions give None where a figure would have nothing to show.
"""
