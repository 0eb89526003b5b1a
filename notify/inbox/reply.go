package inbox

import (
	"context"
	"errors"
	"strings"
	"time"

	"pryday/scheduler"
	"pryday/scheduler/owed"
	"pryday/store"
)

// replied does what a person's words say where they leave no doubt, and tells
// the member what is true then. All else that was written is passed on to the
// organisers, each in a message of its own, or kept for the messages page.
func (h *handling) replied(ctx context.Context) (store.MailOutcome, error) {
	about, err := h.about(ctx)
	if err != nil {
		return "", err
	}
	says, more := answerIn(h.note.Body, h.member.Name)
	v := oneOf(about)
	if says != "" && v != nil && strings.EqualFold(h.mail.From.Address, h.member.Email) {
		return h.said(ctx, says, more || len(h.mail.Files) > 0, v)
	}
	items := []owed.Item{{Kind: scheduler.ReplyMessage, Because: owed.BecauseReplied, MailID: h.in.ID}}
	for i, v := range about {
		it := owed.Item{
			Kind: scheduler.ReplyMessage, Because: owed.BecauseReplied, MailID: h.in.ID,
			VisitID: v.ID, VisitUID: v.UID, ApiaryID: v.ApiaryID, VisitOn: v.On,
		}
		if i == 0 {
			items, h.note.VisitID = nil, v.ID
		}
		items = append(items, it)
	}
	forwarded, err := h.tx.CountMail(ctx, h.member.ID, h.Now().Add(-24*time.Hour), store.MailForwarded)
	if err != nil {
		return "", err
	}
	if forwarded >= forwardsADay {
		h.note.Detail = whyTooMany
		return store.MailKept, nil
	}
	sent, err := h.tellOrganisers(ctx, items)
	if err != nil {
		return "", err
	}
	if sent == 0 {
		h.note.Detail = whyNobodyToTell
		return store.MailKept, nil
	}
	return store.MailForwarded, nil
}

// said takes or leaves the visit that a member's words are about. What else
// they wrote goes to the organisers.
func (h *handling) said(ctx context.Context, says saying, more bool, v *visitTold) (outcome store.MailOutcome, err error) {
	h.note.VisitID = v.ID
	if h.club, err = h.tx.Outline(ctx); err != nil {
		return "", err
	}
	because := h.obstacle(v.VisitRecord, v.day)
	outcome = store.MailTold
	if because == "" {
		if outcome, err = h.change(ctx, v.VisitRecord, says, "reply"); err != nil {
			return "", err
		}
		because = map[saying]string{accepted: owed.AnswerGoing, declined: owed.AnswerNotGoing}[says]
	} else {
		h.note.Detail = because
	}
	told, err := h.tellMember(ctx, because, v.VisitRecord, v.day)
	if err != nil {
		return "", err
	}
	if !told && outcome == store.MailTold {
		outcome = store.MailKept
	}
	if more {
		err = h.passOn(ctx, v.VisitRecord)
	}
	return outcome, err
}

// visitTold is a visit with the day on which a message said that it is; zero
// where it said none.
type visitTold struct {
	*store.VisitRecord
	day scheduler.Date
}

// about is what the message told that a mail answers: the visits in it.
func (h *handling) about(ctx context.Context) (told []visitTold, err error) {
	if h.in.MessageID == 0 {
		return nil, nil
	}
	m, err := h.tx.Message(ctx, h.in.MessageID)
	if err != nil {
		return nil, err
	}
	seen := map[string]bool{"": true}
	for _, it := range m.Items {
		if seen[it.VisitUID] {
			continue
		}
		seen[it.VisitUID] = true
		v, err := h.tx.VisitByUID(ctx, it.VisitUID)
		if errors.Is(err, store.ErrNotFound) {
			continue
		}
		if err != nil {
			return nil, err
		}
		told = append(told, visitTold{v, it.VisitOn})
	}
	return told, nil
}

// oneOf is the visit that "I'll go" is about: the open one, or else the only
// one, unless somebody was asked whether they went. Nil where that is not plain.
func oneOf(about []visitTold) (one *visitTold) {
	for i := range about {
		switch {
		case about[i].Status == scheduler.Unanswered:
			return nil
		case !about[i].Status.Open():
		case one != nil:
			return nil
		default:
			one = &about[i]
		}
	}
	if one == nil && len(about) == 1 {
		one = &about[0]
	}
	return one
}
