package inbox

import (
	"cmp"
	"context"
	"errors"
	"strings"
	"time"

	"pryday/scheduler"
	"pryday/scheduler/owed"
	"pryday/store"
)

// uidSuffix is what a calendar's UID of a visit ends in; notify/calendar
// writes it.
const uidSuffix = "@pryday"

// answered does what a calendar's answer says: accepted is "I'll go", declined
// is "I can't". Where that does not hold any more the member is told what
// does. A note that came with it goes to the organisers.
func (h *handling) answered(ctx context.Context, a *Answer) (store.MailOutcome, error) {
	h.note.AnsweredAt, h.note.Body = a.Stamp, h.quoted.ownWords(a.Note)
	says := a.Says(h.member.Email)
	v, outcome, because, err := h.take(ctx, a, says)
	if err != nil {
		return "", err
	}
	if v != nil {
		h.note.VisitID = v.ID
	}
	h.note.Detail = cmp.Or(because, string(says))
	if because != "" {
		outcome = store.MailTold
		if told, err := h.tellMember(ctx, because, v, a.day); err != nil {
			return "", err
		} else if !told {
			outcome = store.MailKept
		}
	}
	if h.note.Body != "" {
		err = h.passOn(ctx, v)
	}
	return outcome, err
}

// take changes who goes as a calendar says. Where it cannot, because says why.
func (h *handling) take(ctx context.Context, a *Answer, says saying) (v *store.VisitRecord, outcome store.MailOutcome, because string, err error) {
	uid, ours := strings.CutSuffix(a.UID, uidSuffix)
	if !ours {
		return nil, "", owed.AnswerUnknown, nil
	}
	v, err = h.tx.VisitByUID(ctx, uid)
	if errors.Is(err, store.ErrNotFound) {
		return nil, "", owed.AnswerUnknown, nil
	}
	if err != nil {
		return nil, "", "", err
	}
	if overtaken, err := h.overtaken(ctx, v, a); overtaken || err != nil {
		return v, store.MailNoChange, "", err
	}
	if h.club, err = h.tx.Outline(ctx); err != nil {
		return v, "", "", err
	}
	day := a.Day(h.club.ZoneOf(h.member))
	if day == 0 { // what the member's calendar was told last
		if day, err = h.tx.ToldDay(ctx, h.member.ID, v.ID); err != nil {
			return v, "", "", err
		}
	}
	switch {
	case !a.isOf(h.member.Email) && !strings.EqualFold(h.mail.From.Address, h.member.Email):
		because = owed.AnswerStranger
	case a.Repeating:
		because = owed.AnswerRepeating
	case a.Method == "COUNTER" && v.Status.Open():
		because = owed.AnswerAnotherDay
	default:
		because = h.obstacle(v, day)
	}
	if because != "" {
		return v, "", because, nil
	}
	switch says {
	case accepted, declined:
		outcome, err = h.change(ctx, v, says, "calendar")
		return v, outcome, "", err
	case tentative:
		return v, "", owed.AnswerMaybe, nil
	}
	return v, "", owed.AnswerUnclear, nil
}

// overtaken reports whether a later answer of the same member came first: mail
// does not arrive in the order in which it was written.
func (h *handling) overtaken(ctx context.Context, v *store.VisitRecord, a *Answer) (bool, error) {
	before, err := h.tx.InboundMails(ctx, store.InboundMailFilter{MemberID: h.member.ID, VisitID: v.ID, Limit: 20})
	for i := range before {
		if before[i].AnsweredAt.After(a.Stamp) {
			return true, err
		}
	}
	return false, err
}

// obstacle says why an answer that was given for a day, where that is known,
// cannot be taken; empty when it can.
func (h *handling) obstacle(v *store.VisitRecord, day scheduler.Date) (because string) {
	switch {
	case v.Status == scheduler.Done:
		return owed.AnswerDone
	case v.Status == scheduler.Cancelled:
		return owed.AnswerCancelled
	case !v.Status.Open(), v.On < h.club.Today(h.Civil()):
		return owed.AnswerOver
	case day != 0 && day != v.On:
		return owed.AnswerMoved
	}
	return ""
}

// change takes or leaves a visit as the buttons do; by is how the answer came.
// A visit that somebody changes at this very moment is looked at again by the
// job's next run.
func (h *handling) change(ctx context.Context, v *store.VisitRecord, says saying, by string) (outcome store.MailOutcome, err error) {
	today, action := h.club.Today(h.Civil()), ""
	switch {
	case says == accepted && v.IsTakenBy(h.member.ID), says == declined && v.HasRefused(h.member.ID):
		return store.MailNoChange, nil
	case says == accepted:
		action, outcome = "go on visit", store.MailGoing
		_, err = h.tx.TakeVisit(ctx, v.ID, v.Sequence, h.member.ID, today)
	default:
		action, outcome = "leave visit", store.MailNotGoing
		_, err = h.tx.LeaveVisit(ctx, v.ID, v.Sequence, h.member.ID, today)
	}
	if err != nil {
		return "", err
	}
	now, err := h.tx.Visit(ctx, v.ID)
	if err != nil {
		return "", err
	}
	h.tx.Knows(h.member.ID, now.Visit, nil, today)
	return outcome, h.tx.Audit(ctx, store.AuditEntry{
		MemberID: h.member.ID, Action: action, Subject: scheduler.NewNames(h.club).Apiary(v.ApiaryID) + ", " + v.On.String() + " (by " + by + ")",
	})
}

// tellMember owes the member a mail that says what is true now, but to one who
// gets too many of them. It holds no invitation, so that no calendar answers
// it again.
func (h *handling) tellMember(ctx context.Context, because string, v *store.VisitRecord, was scheduler.Date) (told bool, err error) {
	n, err := h.tx.CountMail(ctx, h.member.ID, h.Now().Add(-24*time.Hour), store.MailTold, store.MailGoing, store.MailNotGoing, store.MailNoChange)
	if err != nil || n >= answersADay || h.in.Sender == "" {
		return false, err
	}
	it := owed.Item{Kind: scheduler.AnswerMessage, Because: because, MailID: h.in.ID}
	if v != nil {
		it.VisitID, it.VisitUID, it.ApiaryID = v.ID, v.UID, v.ApiaryID
		if v.Status.Open() {
			it.VisitOn = v.On
		}
		it.WasOn = was
	}
	_, err = h.tx.Owe(ctx, []owed.Message{{
		Key: owed.AnswerKey(h.in.ID), Kind: scheduler.AnswerMessage, MemberID: h.member.ID,
		On: scheduler.DateOf(h.Civil().UTC()), Reason: because, Items: []owed.Item{it},
	}}, time.Time{})
	return true, err
}

// passOn tells the organisers what the member wrote beside an answer.
func (h *handling) passOn(ctx context.Context, v *store.VisitRecord) error {
	it := owed.Item{Kind: scheduler.ReplyMessage, Because: owed.BecauseReplied, MailID: h.in.ID}
	if v != nil {
		it.VisitID, it.VisitUID, it.ApiaryID, it.VisitOn = v.ID, v.UID, v.ApiaryID, v.On
	}
	_, err := h.tellOrganisers(ctx, []owed.Item{it})
	return err
}
