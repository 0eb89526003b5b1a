package web

import (
	"context"
	"fmt"
	"net/http"
	"testing"

	"pryday/notify"
	"pryday/scheduler"
	"pryday/store"
)

// moved counts the mails about a changed visit that a member is owed.
func (c *testClub) moved(member string) int {
	c.t.Helper()
	n := 0
	c.in(func(tx *store.Tx) error {
		list, err := tx.Messages(context.Background(), store.MessageFilter{Kind: scheduler.MovedMessage, MemberID: c.member[member]})
		n = len(list)
		return err
	})
	return n
}

// Whoever changes a visit, on a page or from a mail, knows it; the others who
// had heard of it are told.
func TestNobodyIsMailedAboutTheirOwnChange(t *testing.T) {
	t.Parallel()
	for name, change := range map[string]func(*testClub, scheduler.Visit){
		"moved on a page": func(c *testClub, v scheduler.Visit) {
			to := scheduler.RainedOff(c.club(), &v, today, 1)[0]
			c.as("Brida").follow(visitPath(v.UID)+"/move", fields("sequence", fmt.Sprint(v.Sequence), "to", to.String()))
		},
		"moved from a mail": func(c *testClub, v scheduler.Visit) {
			to := scheduler.RainedOff(c.club(), &v, today, 1)[0]
			c.stranger().post(c.act(notify.RainedOffDeed, "Brida", v), fields("to", to.String())).says(http.StatusOK, "stays there")
		},
		"cancelled on a page": func(c *testClub, v scheduler.Visit) {
			c.as("Brida").follow(visitPath(v.UID)+"/cancel", fields("sequence", fmt.Sprint(v.Sequence), "sure", "yes"))
		},
	} {
		t.Run(name, func(t *testing.T) {
			c := serveClub(t)
			v := c.visit("Quarry")
			c.in(func(tx *store.Tx) error {
				_, err := tx.SetWho(context.Background(), v.ID, v.Sequence, []int64{c.member["Brida"], c.member["Corin"]}, today)
				return err
			})
			if _, err := c.notify.Decide(t.Context()); err != nil { // both hear that it is today
				t.Fatal(err)
			}
			for _, who := range []string{"Brida", "Corin"} {
				if on, ok := c.lastTold(who, v.UID); !ok || on != today {
					t.Fatalf("%s was told %v (%v) before the change", who, on, ok)
				}
			}
			change(c, c.visitByUID(v.UID).Visit)
			if _, err := c.notify.Decide(t.Context()); err != nil {
				t.Fatal(err)
			}
			if b, k := c.moved("Brida"), c.moved("Corin"); b != 0 || k != 1 {
				t.Errorf("mails about the change: %d to Brida, who made it, and %d to Corin; want 0 and 1", b, k)
			}
		})
	}
}
