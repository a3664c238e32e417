"""The feed at which a tool costs least, and the one at which it makes most."""

from edgetime.economics.best_feeds import economic_feed
from edgetime.economics.feed_study import Bound, FeedPoint, FeedStudy, Relation, StepFeed
from edgetime.economics.trials import Trial, read_trial

__all__ = [
    "Bound",
    "FeedPoint",
    "FeedStudy",
    "Relation",
    "StepFeed",
    "Trial",
    "economic_feed",
    "read_trial",
]
