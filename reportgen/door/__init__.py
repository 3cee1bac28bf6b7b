"""The door for scripts and notebooks: thin views of frozen values, with tables and charts."""
