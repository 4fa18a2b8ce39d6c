"""What the page says in place of the commands of a terminal, which nobody types with wet hands."""

from __future__ import annotations

import re

from cultures.journal.events import EVENTS

#: Words of the journal that are no events.
_OTHERS = ("done", "due", "show", "import", "count-helper")
_WORDS = "|".join(sorted((*EVENTS, *_OTHERS), key=len, reverse=True))
_TYPED = rf"'?(?:livefood [a-z][\w-]*(?: (?:{_WORDS}))?|journal (?:{_WORDS})\b)"
#: What the page itself can do, or what is as clear without the command.
_SAID = {
    r":? *(?:livefood )?journal undo --line (\d+)": r", take back line \1 on the Notes page",
    rf" \((?:{_TYPED}|--[a-z])[^()]*\)": "",
    r" See 'livefood shortfalls'": " See the page Ahead",
    r"(until it is noted): journal \w+ '[^']*'": r"\1",
    r": livefood journal move '[^']*' TANK": ", with Move on the page Fry",
    r"; see 'livefood [a-z]+'": "",
    r" and note: livefood journal temperature .*? (\S+ °[CF])":
        r" and note \1 under Temperature on the page To do",
    r"(once it is there): livefood add vessel [^)]*":
        r"\1, put it into the room file at the computer",
    r" If nobody fed: livefood journal skip round --at \"[^\"]*\", and so for each round\.":
        " That nobody fed is noted at the computer.",
    r"(If so|Then): livefood journal failed (?:'[^']*'|\S+)": r"\1 say so on the page To do",
    r"(do not swim yet|on another day than was reckoned): livefood journal"
    r" (?:not_swimming|eggs_hatched) [^.;]*": r"\1, say so on the page Fry",
    r"(once it is warm): livefood journal temperature [^)]*":
        r"\1, note it under Temperature on the page To do",
    r" with 'journal lost [^']*'": " under Lost on the page Fry",
    r"'journal spawn' notes what has": "say that they have",
    r",? with 'journal wetted [^']*' --on DAY": " on the page Fry",
    r": journal wetted '[^']*' --on DAY": ", on the page Fry",
    r"'journal wetted [^']*', with --on DAY": "it on the page Fry, with the day",
    r"'journal spawn [^']*'": "it on the page Fry",
    r"(?:, or )'journal drop [^']*'(?: when it is not to come)?": ", or that it is not to come",
}  # fmt: skip
#: A command, or an option of one, that is left.
_LEFT = re.compile(rf"{_TYPED}|(?<![\w-])--[a-z]")
#: Where the part of a sentence begins that a command stands in, and where it ends.
_PART, _END = re.compile(r"[:;,(] "), re.compile(r"[.;](?= |$)")


#: How a message of the page says which line stands in the way.
TAKE_BACK = re.compile(r"take back line (\d+) on the Notes page")


def on_page(text: str) -> str:
    """A message without commands: what the page can do itself, or that the computer can.

    Examples:
        >>> on_page("MW-1 was discarded (line 5); if that was a mistake: journal undo --line 5")
        'MW-1 was discarded (line 5); if that was a mistake, take back line 5 on the Notes page'
        >>> on_page("Put them in on Tue; for another day: journal wetted 'b' --on DAY.")
        'Put them in on Tue; for another day, on the page Fry.'
        >>> on_page('Fed? If nobody fed: livefood journal skip round --at "Sun 7:30", and so for'
        ...         ' each round.')
        'Fed? That nobody fed is noted at the computer.'
    """
    for typed, said in _SAID.items():
        text = re.sub(typed, said, text)
    while (found := _LEFT.search(text)) is not None:
        starts = [part.start() for part in _PART.finditer(text, 0, found.start() + 1)]
        end = _END.search(text, found.end())
        rest = text[end.start() :] if end else ""
        lead = text[: starts[-1]] if starts else ""
        text = (
            f"{lead or 'This is done'} {'(at the computer)' if lead else 'at the computer'}{rest}"
        )
    return text
