"""YAML to checked models in SI units, with errors that name file, line, key and a way out."""
