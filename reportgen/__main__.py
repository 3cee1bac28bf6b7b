"""Run the commands as `python -m reportgen`."""

from reportgen.cli import main

main(prog_name="reportgen")
