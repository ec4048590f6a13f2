"""The demo tour: an invented show, its kit and three venues, the same on every machine."""

from showplan.services.demo.loading import DemoResult, load_demo

__all__ = ["DemoResult", "load_demo"]
