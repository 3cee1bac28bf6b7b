"""Take in a spreadsheet as its owner keeps it: what was understood, what is asked, and the tables that come of it."""
