"""Where people come in: the command line and the pages."""
