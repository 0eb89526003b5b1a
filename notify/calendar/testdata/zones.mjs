// Writes the rows of zones-RELEASE.csv: the instants of local times around clock changes, by the
// zone rules of ICU as node's Intl has them. testdata/testrun/renew-zones runs it.
// A time that a change leaves out is read with the offset before it, one that
// comes twice is the first (RFC 5545, 3.3.5).
const zones = ["Europe/Dublin", "Europe/Berlin", "Atlantic/Azores", "America/Toronto", "America/St_Johns", "America/Havana",
  "America/Santiago", "America/Asuncion", "America/Mexico_City", "America/Nuuk", "Africa/Cairo", "Africa/Casablanca", "Africa/Nairobi",
  "Asia/Jerusalem", "Asia/Beirut", "Asia/Kathmandu", "Australia/Sydney", "Australia/Lord_Howe", "Australia/Brisbane",
  "Pacific/Auckland", "Pacific/Chatham", "Pacific/Norfolk", "UTC"];
const minute = 60000, day = 1440 * minute;
for (const zone of zones) {
  const format = new Intl.DateTimeFormat("en-CA", { timeZone: zone, hourCycle: "h23", calendar: "gregory", numberingSystem: "latn",
    year: "numeric", month: "2-digit", day: "2-digit", hour: "2-digit", minute: "2-digit", second: "2-digit" });
  const offset = (t) => {
    const p = Object.fromEntries(format.formatToParts(t).map((x) => [x.type, +x.value]));
    return Date.UTC(p.year, p.month - 1, p.day, p.hour, p.minute, p.second) - t;
  };
  const instant = (wall) => {
    const offsets = [offset(wall - day), offset(wall + day)];
    const fit = offsets.map((o) => wall - o).filter((t) => offset(t) === wall - t).sort((a, b) => a - b);
    return fit.length ? fit[0] : wall - offsets[0];
  };
  const changes = [];
  for (let t = Date.UTC(2026, 0, 1); t < Date.UTC(2029, 0, 1); t += day) {
    if (offset(t) !== offset(t + day)) changes.push(t);
  }
  changes.push(Date.UTC(2027, 5, 15)); // a day without a change as well
  for (const t of changes) {
    const local = new Date(t + offset(t) + day / 2);
    const date = Date.UTC(local.getUTCFullYear(), local.getUTCMonth(), local.getUTCDate());
    for (let d = -1; d <= 1; d++) {
      for (const m of [0, 30, 75, 90, 120, 135, 150, 180, 195, 240, 600, 1410]) {
        const wall = date + d * day + m * minute;
        console.log([zone, new Date(wall).toISOString().slice(0, 16), new Date(instant(wall)).toISOString().slice(0, 16) + "Z"].join(","));
      }
    }
  }
}
