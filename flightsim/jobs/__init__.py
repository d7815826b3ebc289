"""A command from start to files, one file each: read, compute, write, tell."""
