package scheduler

// Told is the last thing that a member was told about one visit (VisitUID
// set), or about an apiary's overdue boxes or silence (Kind OverdueMessage or
// EscalateMessage, VisitUID empty).
type Told struct {
	MemberID int64
	Kind     MessageKind
	VisitUID string
	ApiaryID int64 // with an empty VisitUID: of the overdue boxes or the silence
	On       Date  // the visit's day as told; zero for cancelled, done, or overdue boxes
	ToldOn   Date  // the OwedMessage.On of the mail that told it
}
