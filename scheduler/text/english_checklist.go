package text

// checklistEnglish is what the checklist says. Ways of working are common
// practice, no source, except where a line of advice/checklist.go names one.
var checklistEnglish = map[string]string{
	"period.open":         "no end set",
	"period.open.reason":  "%s; no end set",
	"period.until":        "until %s",
	"period.until.reason": "until %s: %s",

	"stack.box": "%s (%s)",

	"do.standstill":  "Do not go: this apiary is under an order (%s).",
	"why.standstill": "Nothing may be opened, moved or taken away until the inspector lifts it.",

	"do.weather":  "Lift lids only above %s; take frames out only above %s, dry and without much wind.",
	"why.weather": "Brood chills in minutes, and cold propolis is hard and brittle: wood breaks before it lets go.",

	"do.weather.any":  "Any weather will do: no hive is opened.",
	"why.weather.any": "An outside look does no harm in the cold.",

	"do.outside":              "Look at every hive from outside: flight, entrances, stands, lids, weights, straps.",
	"why.outside.build-up":    "A quiet entrance on a flying day says which colony needs a look first.",
	"why.outside.flow":        "Heavy stacks lean; a crowded front can mean a swarm is near.",
	"why.outside.late-summer": "Fighting at an entrance means robbing: then open nothing here today.",
	"why.outside.autumn":      "What is loose now blows off in winter.",
	"why.outside.winter":      "Nothing is opened in winter; the outside tells enough.",

	"do.leave-alone":  "Leave %s shut (%s).",
	"why.leave-alone": "Someone had a reason; opening it undoes their work.",

	"do.stack":  "%s: is the stack as recorded? From the bottom: %s.",
	"why.stack": "A box that was swapped without a note carries another box's dates.",

	"do.lid":  "Lid off, then the inner cover: loosen all corners before you lift, and set it down with the bees upwards.",
	"why.lid": "An inner cover pulled up on one side takes the top bars with it.",

	"do.excluder":  "Lift the excluder flat, look for the queen on it, scrape it, look for bent wires.",
	"why.excluder": "A bent excluder lets the queen through and glues fast to the bars.",

	"do.joint":               "%s: break its joint at every corner before lifting. How hard was it? Answer before scraping.",
	"do.joint.shut":          "%s: try its joint at every corner. If it does not give, leave it shut, and those below it too, and record that.",
	"why.joint":              "How hard it was sets the day of its next opening.",
	"why.joint.odds":         "It is due: wait longer and it may not come apart with a hive tool.",
	"why.joint.longest-wait": "It has waited as long as the club lets a box wait.",
	"why.joint.required":     "Every box is opened once in this season.",
	"why.joint.above":        "It comes off for a box below; its seal starts anew, so it counts as an opening.",

	"do.end-frame":  "Loosen and take out an end frame first; set it aside in the shade. How hard was the worst frame?",
	"why.end-frame": "With one frame out the others have room, and nobody rolls the queen.",

	"do.gaps":  "Measure with pegs or a ruler: %s. Bee space is %s to %s.",
	"why.gaps": "A gap off bee space is glued or built up again whatever you scrape.",

	"do.rests":  "Scrape the frame rests clean, into the tub.",
	"why.rests": "A thick rest lifts the frames and closes the space above them.",

	"do.scrape":          "Scrape propolis and brace comb from joints, bars and walls into the tub. All, part or none?",
	"why.scrape":         "What stays on is a start for the next seal, and what drops draws pests.",
	"why.scrape.robbing": "What stays on is a start for the next seal. Leave no honey or wax in the open: it starts robbing.",

	"do.condition":  "Anything warped, cracked, rotten, loose, broken or missing?",
	"why.condition": "It goes on the list of parts to bring and on the winter bench.",

	"do.brood": "While frames are out, look at the brood. Sunken, holed, ropy, chalky or foul: close up, move nothing, " +
		"tell the bee inspector.",
	"why.brood": "Some brood diseases must be reported by law, and tools and frames carry them on.",

	"do.pests":      "Look for wax moth (webs, tunnels) and hive beetle (running from light, slimy comb).",
	"do.pests.moth": "Look for wax moth: webs and tunnels in comb that bees do not cover.",
	"why.pests":     "Both breed in comb that too few bees cover. Hive beetle must be reported in some places: ask your inspector.",

	"do.close":  "Close up: boxes square on each other, no frame left out, lid weighted or strapped.",
	"why.close": "A skewed box leaks, and the bees glue every gap it opens.",

	"do.entrance.build-up":     "%s: take the mouse guard off, clear dead bees from the entrance.",
	"why.entrance.build-up":    "Pollen comes in now, and dead bees block the way.",
	"do.entrance.flow":         "%s: entrance open to the width that the colony uses, grass cut in front.",
	"why.entrance.flow":        "A crowded entrance costs foraging time and air.",
	"do.entrance.late-summer":  "%s: narrow the entrance.",
	"why.entrance.late-summer": "A short front is easier to hold against robbers and wasps.",
	"do.entrance.autumn":       "%s: mouse guard on, entrance clear.",
	"why.entrance.autumn":      "Mice move in with the first cold nights.",
	"do.entrance.winter":       "%s: mouse guard still on, entrance free of dead bees and snow.",
	"why.entrance.winter":      "The cluster needs air; nothing else is touched in winter.",

	"last.never":         "never opened since it was set up on %s",
	"last.joint":         "%s: joint %s (%s)",
	"last.frames":        "worst frame %s (%s)",
	"last.shut":          "%s: left shut",
	"last.scraped":       "scraped: %s",
	"last.note":          "note: %s",
	"last.condition":     "%s: %s",
	"last.condition.box": "%s: %s (%s)",
	"last.repaired":      "%s, repaired since",
	"last.cause":         "likely: %s. Cure: %s",

	"found.condition": "%s",
	"found.gap":       "%s %s (%s)",
	"found.peg":       "%s: %s (%s)",

	"found.stuck-joint":  "its joint was stuck",
	"found.stuck-frames": "a frame was stuck",

	"trend.narrowing": "%s: narrower by %s a year",
	"trend.widening":  "%s: wider by %s a year",
}
