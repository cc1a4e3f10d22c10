"""Reading: plans and versions as plain objects, and what a portfolio is held against."""

from plans.selectors.held import HeldPlan, PlacedCase, held_plan, placed_cases

__all__ = ["HeldPlan", "PlacedCase", "held_plan", "placed_cases"]
