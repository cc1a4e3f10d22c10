"""What is raised when the scenario cannot be put in."""


class DemoBroken(Exception):
    """A step of the scenario was refused; names the step and the answer."""
