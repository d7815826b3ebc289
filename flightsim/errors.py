"""The ways in which a run can end for the person who started it, other than well."""


class BadInputError(Exception):
    """What was given cannot be used: the message says what was found, what is allowed, and a way out."""


class PluginError(Exception):
    """A plugin is missing, broken, or gave something that cannot be used: the message names it."""


class TerminatedError(KeyboardInterrupt):
    """The system asks us to end: handled as Ctrl-C is, so that nothing half written stays behind."""
