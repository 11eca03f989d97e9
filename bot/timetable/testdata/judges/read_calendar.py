"""Reads the calendars named on the command line with two Python libraries.

vobject parses and validates each; recurring_ical_events expands each over the
years 2020 to 2039. Prints one JSON object for each file, in order: "refused"
says which reader refused it and why, or else "events" holds what was read. It
fails only if it cannot do its work at all.
"""

import datetime
import json
import sys

import icalendar
import recurring_ical_events
import vobject


def utc(t):
    return t.astimezone(datetime.timezone.utc).strftime("%Y-%m-%dT%H:%M:%SZ")


def text(component, name):
    child = getattr(component, name, None)
    return child.value if child is not None else ""


def validated(data):
    calendars = list(vobject.readComponents(data))
    if len(calendars) != 1:
        raise ValueError("%d calendars" % len(calendars))
    calendars[0].validate(raiseException=True)
    return [
        {
            "uid": text(e, "uid"),
            "start": utc(e.dtstart.value),
            "end": utc(e.dtend.value),
            "status": text(e, "status"),
            "sequence": int(text(e, "sequence")),
            "summary": text(e, "summary"),
            "description": text(e, "description"),
            "url": text(e, "url"),
        }
        for e in calendars[0].vevent_list
    ]


def expanded(data):
    calendar = icalendar.Calendar.from_ical(data)
    found = recurring_ical_events.of(calendar).between((2020, 1, 1), (2040, 1, 1))
    return [
        {
            "uid": str(e["UID"]),
            "start": utc(e["DTSTART"].dt),
            "end": utc(e["DTEND"].dt),
            "status": str(e["STATUS"]),
            "sequence": int(e["SEQUENCE"]),
            "summary": str(e["SUMMARY"]),
            "description": str(e.get("DESCRIPTION", "")),
            "url": str(e.get("URL", "")),
        }
        for e in found
    ]


READERS = {"vobject": validated, "recurring_ical_events": expanded}


def main(reader, paths):
    for path in paths:
        with open(path, encoding="utf-8", newline="") as f:
            data = f.read()
        try:
            answer = {"events": READERS[reader](data)}
        except Exception as problem:  # whatever a reader raises is its verdict
            answer = {"refused": "%s: %s" % (type(problem).__name__, problem)}
        print(json.dumps(answer))


main(sys.argv[1], sys.argv[2:])
