"""What each kind of case entry holds, in one place; every field beside the first ones may be missing in an older file.

open      schema, layout, rulebase {version, sha256}, software, nickname, words (the complaint as told), told_by
result    result, complaint, check (CHECK@PLACE), note, from (number of the `reading` entry), and the fields of MEASURED
reading   calculation, inputs [{name, value, unit, also, note}], values, limits [{name, value, unit, document, revision, entered,
          source, standing}], tables [{title, columns, rows}], says [text], results [text], check, and the fields of MEASURED
repair    remedy (REMEDY@PLACE), reason (why, against a warning), warning, note, found, left (as found, as left), off [text], on [text],
          procedure
exchange  exchange (CHECK@PLACE,PLACE: a check that exchanges a part, the two places), note
note      any of: note; safety; words (as said), left [words of it not understood], complaint (True: said of what is wrong); told_by;
          chosen, offered, reason (a check taken instead of the offered one); open (True: an open item); refit (CHECK@PLACE that left
          it to be made good); closes (number of the open item this ends);
          confirming (True: what was seen on the confirming run); same_person [names, all of one person]
warning   about (number of a repair), warning (what was said against it, where it was worked out after the repair was recorded)
accepted  note, problems: a person goes on although the chain of the file was broken before this entry
unit      unit (one of UNITS, or the reader's own word), text (part number, serial, times)
state     state {what: how it is now} (`trouble/aircraft_words.py`; an older file may use words of its own)
advice    rulebase {version, sha256}, state, top [[cause, responsible]], unmodelled, cost, check, minutes, information, value, why;
          runner_up (what the tool said)
access    now [access states]            decline   check, reason
correct   corrects (number), reason, result or withdrawn; check (where the check's place was wrong along with the result's)
recovered text (a torn last line)
drill     move, and what a trainee did at it (`training/work.py`): no fact of an aircraft, nothing reads it but the drill
"""

from __future__ import annotations

KINDS = (
    *("open", "result", "reading", "repair", "exchange", "note", "warning", "accepted", "unit", "state", "advice"),
    *("access", "decline", "correct", "recovered", "drill"),
)
# How a value was come by: what the inspector asks of every number.
MEASURED = {
    "reading": "the raw reading with its unit",
    "conditions": "rpm, mixture, engine and outside temperature at the reading",
    "procedure": "document, section and revision the check was done by",
    "tool": "the tool used, with its identity",
    "calibration": "when its calibration falls due",
    "limit": "the limit used, with its unit",
    "limit_document": "the document of the limit, with its revision",
}
CONFIRMING = "confirming_run"  # what results name as their check where they were seen on the run after a repair
UNITS = ("aircraft", "engine", "propeller", "left magneto", "right magneto", "harness", "plugs")

TAKEN_BACK = "taken back in the interview"  # the reason of a correction that takes an answer back while it is being asked
