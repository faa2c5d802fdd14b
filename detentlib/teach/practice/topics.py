"""The topics that can be practised, in the order of the notebooks that teach them."""

import difflib

from .arms import ARMS
from .one import ONE
from .two import TWO

TOPICS = {topic.name: topic for topic in sorted((*ONE, *TWO, *ARMS), key=lambda topic: topic.notebook)}


def topic_named(name):
    """The Topic of this name, or the only one that begins like it; ValueError naming near ones.

    >>> topic_named("Who").name
    'who carries'
    >>> topic_named("handovr")
    Traceback (most recent call last):
    ValueError: there is no topic 'handovr' to practise; did you mean handover or sharing?
    """
    said = str(name).strip().casefold()
    found = [TOPICS[said]] if said in TOPICS else [topic for known, topic in TOPICS.items() if said and known.startswith(said)]
    if len(found) != 1:
        near = [topic.name for topic in found] or difflib.get_close_matches(said, TOPICS, 2, 0.4) or TOPICS
        raise ValueError(f"there is no topic {name!r} to practise; did you mean {' or '.join(near)}?")
    return found[0]
