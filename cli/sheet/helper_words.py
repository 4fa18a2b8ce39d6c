"""The standing words of the helper's sheet: house rules in plain language."""

from __future__ import annotations

from cultures.foods.food import BRINE_SHRIMP, DRY

BLANKS = (
    "Whom to ask first (name, telephone):",
    "And if nobody answers:",
    "Where the key, the torch and the fuse box are:",
)
HOW = (
    "Rinse your hands with plain water before, and wash them with soap after.",
    "Do the steps from the top; tick the boxes as you go.",
    (
        "Stir a cup before each tank; draw the amount with the syringe (what has"
        ' "about" before it with a beaker), give it slowly where the fry are.'
    ),
    "Look at every tank: air bubbling, fry swimming, water clear.",
    "Tank water is taken from the tank with the jug, never with a hand in it.",
)
#: What is explained only where it is fed.
OF_FOODS = {
    BRINE_SHRIMP: (
        "Nauplii are newly hatched brine shrimp, orange specks in a labelled jar {where}."
        " Stir the jar, take what is written, pour it through the finest sieve"
        " over the sink, rinse what is in the sieve with fresh water, wash it into the nauplii cup"
        " with tank water, fill the cup to what is written, and put the jar back."
    ),
    DRY: (
        "An envelope holds the dry food of one round, and each paper twist in it that of one tank;"
        " its name is on the twist."
    ),
}
#: Where the jars of nauplii stand, by whether there is a fridge for them.
JARS = {True: "in the fridge", False: "with air bubbling through it"}
#: For the keeper: what is behind a box that the helper left empty.
UNTICKED = (
    "When you are back: a box without a tick counts as done until you note otherwise (livefood"
    " journal due)."
)
#: What is on order and may come on a day of the absence.
PARCEL = "A parcel may come on "
TAKE_IN = ". Take it in, leave it closed and dry, and tell the keeper."
#: On the helper's page, where what is on paper does no more for the fish.
PAPER_IS_OLD = "Much has changed: go by this page, and no longer by the sheet on paper of "
LEAVE_ALONE = (
    (
        "The bottles and cones with air and salt water, and the tin of eggs: nothing is to be"
        " set or drawn off. (Where a step takes nauplii out of a jar, take what it says.)"
    ),
    "Heaters, filters, air pumps and every plug. Water near a plug: touch neither, and call.",
    "The culture boxes between rounds: do not stir, water or feed them.",
    "The tanks: no water change, no cleaning, no moving of fish.",
    (
        "More food than is written here. Food left over spoils the water, which harms"
        " fry more than hunger."
    ),
)
IF_WRONG = (
    (
        "If a cup was too small or a round too late, go on with the next one as written, and"
        " never double it."
    ),
    "No air bubbles, cloudy or smelling water, many dead fry: do not feed that tank, and call.",
    "A culture box with mould: leave it closed where it stands, and leave that food out.",
)
MAINS = "Water and mains: dry hands at every plug, and keep your hands out of the tanks."

SOAK = " and put each twist to soak in a little tank water, in its own small cup"
FIRST_FOOD = (
    " get their first food today: look whether they swim freely; if not yet, leave that tank out"
)
OPEN_BOX = ": open it away from your face, wipe a clean finger along {}"
CLOSE_BOX = ", rinse the finger in the {} cup, close the box"
#: By which tool an amount is measured, as it is said.
WITH = {
    "syringe": " with the syringe", "cup": " with the measuring cup", "": " with a jug or a beaker",
}  # fmt: skip
SIEVE_EELS = (
    " from the neck{with_it}, pour it through the fine sieve into a clean glass, pour the"
    " vinegar from the glass back into the bottle, rinse the eels in the sieve well with clean"
    " water, and wash them into their cup"
)
SIEVE = (
    "{with_it}, pour it through the fine sieve into a clean glass, pour the water from the"
    " glass back into the culture, rinse what is in the sieve well with clean water, and wash it"
    " into its cup"
)
#: A swipe that goes only a part of the way, by its quarters.
_PART = {1: "a quarter", 2: "half", 3: "three quarters"}


def times(swipes: float) -> str:
    """How often a finger is wiped along, in whole swipes and one that goes less far.

    Examples:
        >>> times(0.5), times(1), times(2.25)
        ('once, half as far', 'once', '2 times and once more a quarter as far')
    """
    whole, quarters = divmod(round(swipes * 4), 4)
    often = "once" if whole == 1 else f"{whole} times"
    if not quarters:
        return often
    part = f"{_PART[quarters]} as far"
    return f"{often} and once more {part}" if whole else f"once, {part}"
