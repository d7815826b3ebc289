"""Ball flight and protection zones of an indoor golf hitting bay.

The walk, one direction: scenario -> bay and launches -> flights -> first contacts -> outcomes -> rates -> report.
Each room of the package is one step of it; `flightsim.study.run.walk` calls them in order.
"""

__version__ = "0.1.0"
