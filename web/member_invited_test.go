package web

import (
	"strings"
	"testing"

	"pryday/store"
)

func TestInvitationsAreAnswered(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	dorrit, brida := c.as("Dorrit"), c.as("Brida")
	form := fields("name", "Brida O.", "email", "brida@example.org", "role", "keeper")
	dorrit.follow("/members/invite", form).says(200, "is a member after saying yes", "Asked to join, no yes yet", "Brida O.")
	brida.get("/members?club=" + itoa(c.other)).says(404)
	brida.get("/?club="+itoa(c.id)).says(200, "You are asked to join another club")
	brida.get("/invitations").says(200, "Elsewhere", "Dorrit Vane asks you to join as keeper.").hides("dorrit@")
	c.as("Corin").get("/invitations").says(200, "No club waits for your answer.")
	c.as("Corin").post("/invitations/"+itoa(c.other)+"/accept", nil).says(404)

	brida.follow("/invitations/"+itoa(c.other)+"/decline", fields("sure", "yes")).says(200, "You do not join Elsewhere.")
	brida.post("/invitations/"+itoa(c.other)+"/accept", nil).says(404)
	dorrit.get("/members").says(200).hides("Brida")

	dorrit.follow("/members/invite", form).says(200, "Asked to join")
	invited := "/members/invited/" + itoa(c.person["Brida"])
	dorrit.follow(invited+"/again", nil).says(200, "is mailed an invitation")
	dorrit.follow(invited+"/withdraw", fields("sure", "yes")).says(200, "The invitation of Brida O. is taken back.").hides("Asked to join")
	brida.post("/invitations/"+itoa(c.other)+"/accept", nil).says(404)

	dorrit.follow("/members/invite", form)
	c.as("Ansel").post(invited+"/withdraw", nil).says(404) // another club's
	brida.follow("/invitations/"+itoa(c.other)+"/accept", nil).says(200, "You are a member of Elsewhere now.")
	brida.get("/members?club="+itoa(c.other)).says(200, "Dorrit Vane")
	dorrit.get("/members").says(200, "Brida O.").hides("Asked to join")
	err := c.store.InClub(t.Context(), c.other, func(tx *store.Tx) error {
		all, err := tx.Messages(t.Context(), store.MessageFilter{})
		for _, m := range all {
			if !strings.HasPrefix(m.Reason, store.InvitedBy) {
				t.Errorf("mailed %+v", m)
			}
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
}
