"""The commands of the command line, by subject. :mod:`wheelend.cli` puts them together."""
