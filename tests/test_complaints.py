"""What owners say: each sentence leads to its complaint, none to the opposite, and what is not clear is asked back."""

import pytest

from detentlib.argue.faults.finder import SYMPTOMS
from detentlib.argue.faults.words import opposites, table, understood

# sentences as owners write them, by the complaint that they mean
SAID = {
    "weak": (
        "The detent is really weak.",
        "The blade opens far too easily",
        "there's hardly any snap",
        "It feels light in the hand, no resistance at all",
        "not enough detent for my taste",
        "it's not strong enough",
        "Detent feels mushy.",
        "The detent is too soft",
        "My wife says it has a weak detent",
        "it opens too easy",
        "Barely any detent",
        "the detent needs to be stronger",
        "the detent is a bit light",
        "poor retention, no click",
        "there's almost no detent on this one",
        "the blade comes out with the slightest touch",
        "I wish the detent was stronger",
    ),
    "got weaker": (
        "it got weaker over the last few months",
        "The detent used to be much stronger",
        "Has lost its snap",
        "It's not as strong as it used to be",
        "the detent is weaker than when it was new",
        "It doesn't snap anymore",
        "The detent has worn out after a year",
        "after two years it has become soft",
        "I think I bent the bar",
        "It was stronger when I bought it",
        "lost tension over time",
        "detent gets weaker every week",
        "it no longer snaps like it did",
        "the snap has gone",
        "the detent isn't what it used to be",
        "after cleaning the detent is weaker than before",
    ),
    "falls open": (
        "It falls open when I hold it upside down",
        "I can shake it open",
        "the blade won't stay shut",
        "the knife opens by itself",
        "flops open if I turn it tip down",
        "I can open it with a flick of the wrist, no button",
        "Blade doesn't stay closed",
        "If you shake it the blade comes out",
        "It just drops open",
        "blade falls open on its own",
        "It opens when I turn it over",
        "gravity opens it",
        "it can be shaken open",
    ),
    "opens in the pocket": (
        "It slides open in my pocket",
        "It came open in my pocket twice",
        "found it half open in my jeans",
        "the knife opens in the bag",
        "In my pocket it falls open",
        "doesn't stay shut in the pocket",
        "I reached into my pocket and it was open",
        "slides out in the pocket",
        "opens up in my bag",
        "it opens while I carry it",
        "blade comes out in pocket",
    ),
    "falls open after a knock": (
        "It opens when I drop it",
        "If I drop it, it opens",
        "pops open when it's bumped",
        "falls open after a knock on the bench",
        "a tap on the table and it comes open",
        "opens on impact",
        "dropped it and it flew open",
        "knocked it on the table and it popped open",
        "when dropped, the blade swings open",
        "a bump opens it",
        "dropping it makes it open",
    ),
    "will not flick": (
        "won't flip",
        "It fails to flip",
        "The flipper doesn't fire the blade",
        "It only opens halfway when I flick it",
        "can't flick it open",
        "it stops halfway when I flip it",
        "needs a wrist to get it open",
        "flipping is lazy",
        "will not deploy reliably",
        "it never opens fully on the first flip",
        "flicking it only gets it partway",
        "I can't get it to flip",
        "It's slow to open",
        "fails to deploy",
        "gets stuck half way when I flip it",
    ),
    "too stiff": (
        "It is too stiff for my thumb",
        "really hard to open",
        "hurts my thumb",
        "it takes too much force to get it going",
        "the detent is too strong",
        "I need both hands to open it",
        "my thumb is sore from opening it",
        "it is difficult to open",
        "too tight to open",
        "My thumb hurts after opening it",
        "it is very hard to get open",
        "it needs a lot of force to open",
        "opening takes both hands",
        "way too strong",
        "it got stiffer",
        "it's a thumb buster",
        "takes two thumbs to get it going",
        "the tab slips off my finger because it's so heavy to push",
    ),
    "hard to close": (
        "hard to close",
        "it will not drop shut",
        "It won't fall shut when I unlock it",
        "the action is slow",
        "I have to push it closed",
        "the pivot is too tight",
        "It's stiff to close",
        "the blade drags all the way",
        "closing is hard",
        "the blade doesn't swing freely",
        "it does not drop shut by gravity",
        "sluggish action",
        "The blade falls shut slowly",
        "it needs a push to close",
        "the swing feels slow",
        "doesn't fall shut when I release the lock",
    ),
    "gritty": (
        "feels gritty",
        "it's scratchy when it opens",
        "there is grit in it",
        "the opening is rough",
        "It grinds",
        "not smooth at all",
        "sounds like sand in there",
        "crunchy when opening",
        "it squeaks",
        "rough action",
        "gritty when I close it",
        "feels like sand in the pivot",
    ),
    "two-stage": (
        "I feel two clicks",
        "It stops early and then snaps",
        "two stage opening",
        "it catches first, then goes",
        "there's a double click on opening",
        "moves a bit and then snaps",
        "it gives a little and then gets hard",
        "double snap",
        "two bumps when I open it",
        "opens in two steps",
        "early obstruction and then it goes",
        "there's a click, then another click a bit later",
        "I feel a bump before it lets go",
    ),
    "no draw-in": (
        "late drop",
        "it does not pull itself shut",
        "I have to push the last bit",
        "It doesn't close all the way",
        "stays open a crack",
        "the blade stops just short of closed",
        "The ball drops in late",
        "won't snap shut",
        "does not close by itself the last bit",
        "it hangs just before it is shut",
        "the detent doesn't pull the blade in",
        "late draw-in",
        "stays open a tiny crack",
        "needs a push at the end to close fully",
        "I must press it for the last few degrees",
        "stops a few degrees before it is closed",
        "won't snap home",
    ),
    "rests off the stop": (
        "up and down play when shut",
        "the blade moves up and down when closed",
        "it rattles when closed",
        "blade is loose when shut",
        "there is play when closed",
        "the tip sticks out",
        "does not rest on the stop",
        "there's a gap at the stop pin",
        "The blade rattles in the handle when closed",
        "tip is proud when closed",
        "blade moves when it's shut",
        "it has play in the closed position",
        "rattles in the pocket",
        "the blade does not touch the stop pin",
    ),
    "loose pivot": (
        "the pivot is loose",
        "blade wobbles",
        "side to side play",
        "the blade has some play",
        "pivot screw keeps backing out",
        "blade is loose",
        "There's side play",
        "my pivot keeps coming loose",
        "blade wiggles left and right",
        "the blade is wobbly",
        "lateral movement in the blade",
    ),
    "blade off centre": (
        "blade is off centre",
        "the blade isn't centered",
        "it rubs the liner",
        "the blade sits to one side",
        "Centering is off",
        "blade touches the scale",
        "blade is not centered",
        "The blade leans to the left",
        "blade rubs on one side",
        "off-center blade",
        "it's closer to the left liner",
        "blade sits closer to one liner",
    ),
    "ball fell out": (
        "the ball fell out",
        "the ball is missing",
        "I lost the detent ball",
        "the ball has come out",
        "ball is loose",
        "the little ball is gone",
        "ball dropped out when I cleaned it",
        "there's no ball in the lock bar",
        "the ball spins",
        "missing ball",
    ),
    "wears a groove": (
        "there is a groove in the tang",
        "the ball digs into the blade",
        "the ball scratches the tang",
        "a line on the blade where the ball runs",
        "wears a track into the tang",
        "the ball has cut a groove into the tang",
        "there is a wear line on the tang",
        "scratch marks on the tang from the ball",
        "the ball wore a trench",
    ),
    "clicks near open": (
        "it clicks when it is nearly open",
        "a second click near the end",
        "there's a clunk just before it's fully open",
        "drags near open",
        "I hear a click just before it locks",
        "there's a bump just before it opens fully",
        "clicks at the very end of opening",
        "two clicks, the second when almost open",
        "it drags near the end",
    ),
    "lock stick": (
        "lock stick",
        "the lock is sticky",
        "it's hard to unlock",
        "the lock is hard to release",
        "lock bar is stuck",
        "I can't get it unlocked",
        "the lock sticks",
        "I can hardly push the lock over",
        "Unlocking it is hard",
        "the liner lock is too stiff to release",
        "lock is hard to disengage",
        "the liner is hard to push over",
        "takes two hands to unlock",
    ),
    "lock rock": (
        "lock rock",
        "the blade rocks when locked open",
        "there's up and down play",
        "blade play when open",
        "it wobbles when it's open",
        "up/down play",
        "blade rocks in the lock",
        "blade moves when it is locked open",
        "there is vertical play",
        "blade rocks up and down when open",
    ),
    "lock does not hold": (
        "the lock slips",
        "the lock doesn't hold",
        "it folded on my fingers",
        "lock fails under load",
        "it doesn't lock up",
        "The lock lets go",
        "it closed on my finger",
        "the lock doesn't engage",
        "lock gives when I press on the spine",
        "it unlocks by itself",
        "lock slipped when I pushed on the back",
    ),
}

BOTH = {
    "It won't flip and it feels gritty": ("will not flick", "gritty"),
    "too stiff, and the blade is off centre": ("too stiff", "blade off centre"),
    "The detent is weak and it rattles when shut.": ("weak", "rests off the stop"),
    "two clicks, and the ball digs a groove in the tang": ("two-stage", "wears a groove"),
    "It's hard to unlock but otherwise it falls open": ("lock stick", "falls open"),
    "it isn't gritty, but it won't drop shut": ("hard to close",),
    "not weak, just hard to close": ("hard to close",),
    "It closes fine but is hard to open": ("too stiff",),
    "It opens fine but is hard to close": ("hard to close",),
}

# not to be guessed: too little said, contradicting itself, denied, or of another matter
UNCLEAR = (
    "it's loose",
    "the action is bad",
    "something is wrong with the detent",
    "it feels different",
    "not weak",
    "it isn't stiff",
    "it does not fall open",
    "weak but too stiff",
    "the clip is bent",
    "the edge is dull",
    "the steel rusts",
    "purple",
    "",
    "the",
    "it opens",
    "it closes",
    "nice knife, no complaints",
    "tight",
    "the lock",
    "can you fix it",
    "I can barely open it",
    "closing it is a fight",
    "the blade won't open",
    "strong detent",
    "it snaps shut too hard",
    "no lock rock",
    "the blade does not drop",
    "hard to open in the pocket",
)

# what the same motion cannot be: a sentence of the one must not lead to the other
OPPOSITE = (
    ("weak", "too stiff"),
    ("got weaker", "too stiff"),
    ("falls open", "too stiff"),
    ("falls open", "will not flick"),
    ("opens in the pocket", "too stiff"),
    ("falls open after a knock", "too stiff"),
    ("falls open after a knock", "no draw-in"),
    ("weak", "will not flick"),
    ("hard to close", "weak"),
    ("hard to close", "too stiff"),
    ("no draw-in", "clicks near open"),
    ("no draw-in", "hard to close"),
    ("lock stick", "lock does not hold"),
    ("lock stick", "too stiff"),
    ("lock rock", "loose pivot"),
    ("lock rock", "rests off the stop"),
    ("two-stage", "clicks near open"),
)


@pytest.mark.parametrize(("complaint", "sentence"), [(name, each) for name, said in SAID.items() for each in said])
def test_a_sentence_leads_to_its_complaint(complaint, sentence):
    found = understood(sentence)
    assert found.complaints == (complaint,)
    assert (found.why, found.questions) == ("", ())


def test_there_are_sentences_for_every_complaint():
    assert set(SAID) == set(SYMPTOMS) == set(table()["complaint"])
    assert sum(map(len, SAID.values())) >= 80
    assert min(map(len, SAID.values())) >= 5
    assert {name for pair in OPPOSITE for name in pair} <= set(SYMPTOMS)


@pytest.mark.parametrize(("sentence", "meant"), BOTH.items())
def test_two_complaints_in_one_sentence_are_both_heard(sentence, meant):
    assert understood(sentence).complaints == meant


@pytest.mark.parametrize("sentence", UNCLEAR)
def test_what_is_not_clear_is_asked_back(sentence):
    found = understood(sentence)
    assert found.complaints == ()
    assert found.why
    assert 1 <= len(found.questions) <= 3


def test_no_sentence_leads_to_the_opposite():
    other = {pair for one, two in OPPOSITE for pair in ((one, two), (two, one))}
    led = {(meant, found) for meant, said in SAID.items() for each in said for found in understood(each).complaints}
    assert led & other == set()
    assert {frozenset((name, each)) for name in SYMPTOMS for each in opposites(name)} <= {
        frozenset(pair) for pair in OPPOSITE
    }


@pytest.mark.parametrize(
    ("complaint", "words"),
    [(name, each) for question in table()["question"] for name, each in question["answers"].items()],
)
def test_every_answer_to_a_question_leads_to_its_complaint(complaint, words):
    assert understood(words).complaints == (complaint,)


def test_every_complaint_is_an_answer_and_every_word_of_the_table_leads_to_its_own():
    assert {name for question in table()["question"] for name in question["answers"]} == set(SYMPTOMS)
    wrong = [
        (name, each)
        for name, about in table()["complaint"].items()
        for each in (name, *about["words"])
        if understood(each).complaints != (name,)
    ]
    assert wrong == []


@pytest.mark.parametrize(
    ("sentence", "meant"),
    [("grity", "gritty"), ("the blade wobbels", "loose pivot"), ("WON’T FLICK!!", "will not flick"), (None, None)],
)
def test_a_slip_of_the_pen_is_forgiven(sentence, meant):
    assert understood(sentence).complaints == ((meant,) if meant else ())
