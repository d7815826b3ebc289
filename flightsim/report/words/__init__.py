"""Sentences and tables, for the terminal and the pages."""
