# Prints the events of a calendar as python3-icalendar reads them.
import json
import sys

from icalendar import Calendar

out = []
for e in Calendar.from_ical(sys.stdin.buffer.read()).walk("VEVENT"):
    assert not e.errors, e.errors
    when = lambda name: e[name].dt.strftime("%Y%m%d")
    out.append([str(e["UID"]), when("DTSTART"), when("DTEND"), str(e["STATUS"]), str(e["LOCATION"]), str(e["SUMMARY"]),
                str(e["DESCRIPTION"]), str(e["SEQUENCE"]), e["DTSTAMP"].dt.strftime("%Y%m%dT%H%M%SZ")])
json.dump(out, sys.stdout)
