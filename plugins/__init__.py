"""The plugins that come with flightsim. They use exactly the hooks that a stranger's plugin uses."""
