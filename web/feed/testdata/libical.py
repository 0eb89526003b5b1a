# Prints what libical finds wrong with a calendar: what it could not read, and
# what RFC 5545 and RFC 5546 do not allow of the calendar's method.
import sys

import gi

gi.require_version("ICalGLib", "3.0")
from gi.repository import ICalGLib  # noqa: E402

text = sys.stdin.buffer.read().decode()
calendar = ICalGLib.Component.new_from_string(text)
if calendar is None:
    sys.exit("libical reads no calendar")
ICalGLib.Component.check_restrictions(calendar)
if n := calendar.count_errors():
    for line in calendar.as_ical_string().splitlines():
        if "XLIC" in line.upper() or "X-LIC" in line.upper():
            print(line)
    sys.exit(f"libical has {n} findings")
kind = ICalGLib.ComponentKind.VEVENT_COMPONENT
print(calendar.count_components(kind))
