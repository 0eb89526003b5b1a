// Prints the events of a calendar as ical.js reads them. The library's
// directory is the first argument.
const library = require(process.argv[2]);
const ICAL = library.default || library;
const text = require("fs").readFileSync(0, "utf8");
const calendar = new ICAL.Component(ICAL.parse(text));
const events = calendar.getAllSubcomponents("vevent").map((c) => {
  const e = new ICAL.Event(c, { strictExceptions: true });
  const day = (t) => t.toICALString().slice(0, 8);
  return [e.uid, day(e.startDate), day(e.endDate), c.getFirstPropertyValue("status"), e.location, e.summary, e.description,
    String(e.sequence), c.getFirstPropertyValue("dtstamp").toICALString()];
});
process.stdout.write(JSON.stringify(events));
