"""The version of the program, from where the build takes it too."""

__version__ = "0.1.0"
