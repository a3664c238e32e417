"""What to change in the drawing or the tooling to save machine time or hand work."""

from edgetime.estimating.advice.advise import Together, advise, follow, together
from edgetime.estimating.advice.proposal import Advice

__all__ = ["Advice", "Together", "advise", "follow", "together"]
