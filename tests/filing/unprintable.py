"""The tests' settings on a machine whose press does not work."""

from tests.settings import *  # noqa: F403

RESTORE_PROOFS = ["tests.factories.filing.jammed_press"]
