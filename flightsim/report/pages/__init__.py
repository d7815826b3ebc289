"""Pages and folders of results, written whole or not at all."""
