package notify_test

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"testing"

	"pryday/scheduler"
	"pryday/scheduler/owed"
	"pryday/store"
)

// A reply in plain words takes and leaves the visit as the buttons do; its
// writer is told what is true then, and whatever else was written reaches the
// organisers.
func TestRepliesInPlainWordsTakeVisits(t *testing.T) {
	t.Parallel()
	p := newPost(t)
	v := p.nobodyGoes(t, p.visit(t))
	to := replyAddress(t, p.remind(t, digest(v)))
	steps := []struct {
		text    string
		outcome store.MailOutcome
		goes    bool
		title   string // of the mail to the member
		passed  bool   // on to the organisers
	}{
		{"I'll go!", store.MailGoing, true, "you go", false},
		{"Yes, I’ll go, thanks.\n\nKay\n\n> Orchard", store.MailNoChange, true, "you go", false},
		{"Hi Mo,\n\nsorry, I can't.\nMy back hurts.", store.MailNotGoing, false, "you do not go", true},
		{"Ja, ich fahre hin", store.MailGoing, true, "you go", false},
		{"No, I can go on Sunday only", store.MailForwarded, true, "", true},
		{"Yes?", store.MailForwarded, true, "", true},
	}
	for _, step := range steps {
		in := p.comesIn(t, "kay@keepers.test", to, written(to, "Re: Orchard", step.text))
		now := p.visitNow(t, v.ID)
		if goes := slices.Contains(now.Taken, p.member); in.Outcome != step.outcome || in.VisitID != v.ID || goes != step.goes || now.On != v.On {
			t.Errorf("%q: %s (%s), goes %t on %s", step.text, in.Outcome, in.Detail, goes, now.On)
		}
		told, passed := false, false
		for _, l := range p.deliver(t) {
			told = told || l.To == "kay@keepers.test" && strings.HasSuffix(header(t, l, "Subject"), ": "+step.title)
			passed = passed || l.To == "mo@keepers.test"
		}
		if told != (step.title != "") || passed != step.passed {
			t.Errorf("%q: told %t, passed on %t", step.text, told, passed)
		}
	}
}

// Words that come too late, for another day, from somebody else, or that may
// say that somebody went, change nothing.
func TestRepliesThatChangeNothing(t *testing.T) {
	t.Parallel()
	p := newPost(t)
	v := p.nobodyGoes(t, p.visit(t))
	to := replyAddress(t, p.remind(t, digest(v)))
	fromLou := strings.Replace(written(to, "Re", "I'll go"), "Kay Orrin <kay@", "Lou Fenn <lou@", 1)
	if in := p.comesIn(t, "lou@keepers.test", to, fromLou); in.Outcome != store.MailForwarded || len(p.visitNow(t, v.ID).Who) != 0 {
		t.Errorf("from another address: %+v", in)
	}
	p.deliver(t)
	p.inClub(t, func(ctx context.Context, tx *store.Tx) error {
		_, err := tx.MoveVisit(ctx, v.ID, p.visitNow(t, v.ID).Sequence, v.On+2, p.today())
		return err
	})
	in := p.comesIn(t, "kay@keepers.test", to, written(to, "Re", "I'll go."))
	l := p.next(t)
	_, body := parts(t, l.Text)
	if in.Outcome != store.MailTold || in.Detail != owed.AnswerMoved || len(p.visitNow(t, v.ID).Taken) != 0 || !strings.Contains(body["text/plain"], "has moved since") {
		t.Errorf("for another day: %+v\n%s", in, body["text/plain"])
	}
	for _, tt := range []struct {
		status  scheduler.VisitStatus
		text    string
		outcome store.MailOutcome
	}{
		{scheduler.Unanswered, "Yes", store.MailForwarded},
		{scheduler.Missed, "I can't", store.MailTold},
		{scheduler.Done, "I'll go", store.MailTold},
	} {
		p.exec(t, fmt.Sprintf(`UPDATE visit SET status = '%s' WHERE id = %d`, tt.status, v.ID))
		if in := p.comesIn(t, "kay@keepers.test", to, written(to, "Re: "+string(tt.status), tt.text)); in.Outcome != tt.outcome || p.visitNow(t, v.ID).Status != tt.status {
			t.Errorf("%s: %+v", tt.status, in)
		}
	}
}
