"""Take in a log as its owner keeps it: values placed in a few dimensions on a few carriers.

The stages are packages in this order: `cells` reads, `tables` finds tables, `carriers` lists labels
and value columns, `clues` says what they may mean, `readings` combines that into layouts,
`long_form` melts a table by a layout, `sheets` gives a trial workbook, `ledger` accounts for every
number, `read_back` sums up, `questions` asks what is open. `model` holds the types between them,
`settings` the file that keeps the answers.
"""
