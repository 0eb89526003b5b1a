package owed

// The named reasons of what is owed because of a mail that came in: a reply
// that is passed on, and what a member is told who answered by mail or by
// calendar: what is noted now, or why nothing is.
const (
	BecauseReplied   = "member-replied"
	AnswerGoing      = "answered-going"
	AnswerNotGoing   = "answered-not-going"
	AnswerStranger   = "answered-from-another-address" // than the member's, by whoever it was passed on to
	AnswerMoved      = "answered-another-day"          // the visit is on another day than the calendar knew
	AnswerOver       = "answered-too-late"             // its day is over
	AnswerCancelled  = "answered-a-cancelled-visit"
	AnswerDone       = "answered-a-done-visit"
	AnswerUnknown    = "answered-no-visit" // it is not on record
	AnswerRepeating  = "answered-one-of-several-days"
	AnswerMaybe      = "answered-maybe" // which is neither
	AnswerUnclear    = "answered-unclearly"
	AnswerAnotherDay = "proposed-another-day"
)
