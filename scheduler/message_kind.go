package scheduler

// MessageKind is what a message is about.
type MessageKind string

// The kinds of message.
const (
	DigestMessage   MessageKind = "digest"     // visits to come in some days
	DayMessage      MessageKind = "day"        // the visit is today
	OverdueMessage  MessageKind = "overdue"    // boxes past their due day with no visit near
	EscalateMessage MessageKind = "escalation" // to organisers, once a week: where nobody answers, what locks
	AskMessage      MessageKind = "ask"        // did you go?
	MovedMessage    MessageKind = "moved"      // a visit that people had seen moved or was cancelled
	SignInMessage   MessageKind = "sign-in"
	InviteMessage   MessageKind = "invitation"
	ReplyMessage    MessageKind = "reply"  // what a member wrote back, to organisers
	AnswerMessage   MessageKind = "answer" // what is true now, to a member who answered by mail

	NewAddressMessage MessageKind = "new-address" // to the address that a member asks to have
	OldAddressMessage MessageKind = "old-address" // to the address that a member had
)
