"""The two ways in which a run can fail for the person who started it."""


class BadInputError(Exception):
    """What was given cannot be used: the message says what was found, what is allowed, and a way out."""


class PluginError(Exception):
    """A plugin is missing, broken, or gave something that cannot be used: the message names it."""
