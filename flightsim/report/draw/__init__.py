"""Pictures. The only room that imports matplotlib."""
