package text

// cautionEnglish are the cautions, in our own words. They defer to whoever
// has the say: local law, the inspector, a vet, a physician.
var cautionEnglish = map[string]string{
	"caution.order": "This apiary is under an order: nothing is opened or moved until the inspector lifts it.",
	"caution.brood": "Brood looked wrong here last time. Open it last, with clean tools; if it still does, close up, move nothing " +
		"and tell the bee inspector.",
	"caution.left-shut": "A box was left shut last time. Never force it: broken wood and angry bees help nobody. Leave it shut again " +
		"and record that, or come back on a warm day with a second person.",
	"caution.lifting":         "Heavy: %s.",
	"caution.lifting.general": "A full box is heavier than it looks: close to the body, no twisting, two people or frames out first.",
	"caution.alone": "You go alone: tell someone where and until when, carry a phone that works there, and leave what needs two " +
		"for a day with two.",
	"caution.fire": "Dry season: a smoker is an open fire. Check for a fire ban, light it on bare ground, keep water beside it, " +
		"put it out and carry it home cold.",
	"caution.robbing": "Robbing season: open briefly, one hive at a time, cover what stands open, spill no honey.",
	"caution.stings": "Stings: veil and gloves on before the lid. Trouble breathing, swelling away from the sting, dizziness or an " +
		"itching rash: call emergency services at once; use an adrenaline auto-injector if one was prescribed. " +
		"Whoever has reacted badly before asks a physician before going.",
	"caution.brittle":   "Cold propolis is brittle and tools slip: eyes away from the tool, hand never in front of it.",
	"caution.treatment": "Treatments: only what is registered where you are, as its label says, with its gloves and waiting times. Ask your inspector or vet.",
	"caution.heat":      "A suit in summer: drink before you are thirsty, go early in the day, stop when you feel unwell.",
	"caution.tools":     "Hive tools and frame nails cut: keep a first-aid kit in the car and tetanus protection up to date; ask a physician.",
	"caution.law":       "Registration, moving hives, notifiable diseases and treatment records follow local law; it stands above this list.",
	"caution.who-decides": "This list is common practice, not advice on your case: the bee inspector, a vet or a physician decides " +
		"where it matters.",
}
