package text

// liftEnglish are the methods and the note.
var liftEnglish = map[string]string{
	"lift.alone":      "%s: up to about %s; one person can lift it, close to the body (recommended limit %s)",
	"lift.two-people": "%s: up to about %s, above the recommended limit of %s for one: two people, or frames out into an empty box",
	"lift.frames-out": "%s: up to about %s, more than twice the recommended limit of %s: do not lift it whole; frames out into an empty box",
	"lift.note": "Weights are guesses from the kind of box and the season. The limit is that of a smooth lift with a firm stand " +
		"(revised NIOSH lifting equation); prying a glued box is not one: break the joint all round before you lift, " +
		"and never lift and twist in one go.",
}
