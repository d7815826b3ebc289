"""Hooks, the plugin manager, and the border where what plugins return is checked."""
