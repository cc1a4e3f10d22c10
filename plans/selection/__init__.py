"""Which case goes to which slot: the best choice, how firm it is, what would help, and why there may be none.  Pure."""

from plans.selection.best import BrokenRule, Choice, Chosen, Standing, choose, choose_within_rules
from plans.selection.conflicts import Conflict, FixedFault, Impossible, RuleBound, TooFew, why_impossible
from plans.selection.evenness import evenest
from plans.selection.firmness import Loss, firmness
from plans.selection.helping import Help, IfGood, helps_most
from plans.selection.problem import ChoiceProblem, GroupRule, Pair, Weight
from plans.selection.program import SolverStopped

__all__ = [
    "BrokenRule",
    "Choice",
    "ChoiceProblem",
    "Chosen",
    "Conflict",
    "FixedFault",
    "GroupRule",
    "Help",
    "IfGood",
    "Impossible",
    "Loss",
    "Pair",
    "RuleBound",
    "SolverStopped",
    "Standing",
    "TooFew",
    "Weight",
    "choose",
    "choose_within_rules",
    "evenest",
    "firmness",
    "helps_most",
    "why_impossible",
]
