package web

import (
	"context"
	"strings"
	"testing"

	"pryday/scheduler"
	"pryday/store"
)

func TestMembersAreInvitedChangedAndRemoved(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	ansel := c.as("Ansel")
	ansel.get("/members").says(200, "Brida Okonjo", "leads Quarry", "brida@example.org", "looks after no apiary yet").hides("Dorrit")
	ansel.follow("/members/invite", fields("name", "Ewan Hollis", "email", "ewan@example.org", "role", "keeper")).says(200, "Ewan Hollis is a member now")
	var invited []store.Message
	c.in(func(tx *store.Tx) (err error) {
		invited, err = tx.Messages(context.Background(), store.MessageFilter{Kind: scheduler.InviteMessage})
		return err
	})
	if len(invited) != 1 || invited[0].Address != "ewan@example.org" || invited[0].Reason != "invited by Ansel Whitlow" {
		t.Fatalf("invitations: %+v", invited)
	}
	ewan := itoa(invited[0].MemberID)
	ansel.post("/members/invite", fields("name", "Twice", "email", "EWAN@example.org")).says(409, "a member already")
	ansel.post("/members/invite", fields("name", " ", "email", "not an address")).says(422, "must not be empty", "is not an e-mail address")
	ansel.post("/members/invite", fields("name", "X", "email", "Y <y@example.org>")).says(422, "is not an e-mail address")

	ansel.follow("/members/"+ewan+"/role", fields("role", "organiser")).says(200, "Ewan Hollis is an organiser now", "Take it back")
	ansel.follow("/members/"+ewan+"/role", fields("role", "keeper")).says(200, "Ewan Hollis is a keeper now")
	ansel.follow("/members/"+ewan+"/invite", fields()).says(200, "is mailed an invitation")
	ansel.post("/members/"+itoa(c.member["Ansel"])+"/role", fields("role", "keeper")).says(409, "at least one organiser")
	ansel.post("/members/"+itoa(c.member["Ansel"])+"/remove", fields("sure", "yes")).says(409, "at least one organiser")

	ansel.post("/members/"+ewan+"/remove", fields()).says(422, "Take Ewan Hollis out of the club?")
	ansel.follow("/members/"+ewan+"/remove", fields("sure", "yes")).says(200, "no longer a member").hides("ewan@example.org")
	ansel.post("/members/"+ewan+"/role", fields("role", "keeper")).says(404)
	ansel.get("/audit").says(200, "kept for 4 years", "invite member", "Ewan Hollis as keeper", "change role", "remove member")
}

func TestAMembersDaysAwayMoveVisits(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	v := c.visit("Quarry")
	brida := itoa(c.member["Brida"])
	ansel := c.as("Ansel")
	ansel.follow("/members/"+brida+"/away", fields("from", (v.On-1).String(), "until", (v.On+20).String(), "reason", `<i>sea</i> & "sun"`)).
		says(200, "Added", `&lt;i&gt;sea&lt;/i&gt; &amp; &#34;sun&#34;`, "Quarry: the visit on").hides("<i>sea")
	if now := c.visit("Quarry"); now.On >= v.On-1 && now.On <= v.On+20 {
		t.Errorf("the visit stays on %s while its keeper is away", now.On)
	}
	c.as("Corin").get("/members").says(200, "Away:", "sea").hides("brida@example.org", "ansel@example.org", `/members/invite"`)
	ansel.follow("/members/"+brida+"/away", fields("remove", "0", "from", (v.On-1).String())).says(200, "Taken out")
	ansel.post("/members/"+brida+"/away", fields("remove", "0", "from", "2027-01-01")).says(409, "have changed")
	ansel.post("/members/"+brida+"/away", fields("from", "2027-07-09", "until", "2027-07-01")).says(422, "before the first")
}

func TestSignOutEverywhere(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	brida, ansel := c.as("Brida"), c.as("Ansel")
	brida.get("/members").says(200)
	path := "/members/" + itoa(c.member["Brida"]) + "/sign-out"
	ansel.post(path, fields()).says(422, "Sign Brida Okonjo out of this club on every device?")
	ansel.follow(path, fields("sure", "yes")).says(200, "signed out of this club everywhere")
	if got := brida.get("/members"); got.status != 303 {
		t.Errorf("Brida still gets in: %d", got.status)
	}
	ansel.get("/members").says(200)
}

func TestMembersAreTheOrganisersToChange(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	brida, corin := itoa(c.member["Brida"]), itoa(c.member["Corin"])
	for _, path := range []string{"/members/invite", "/members/" + corin + "/role", "/members/" + corin + "/remove", "/members/" + corin + "/away", "/members/" + corin + "/sign-out"} {
		form := fields("name", "Mallory", "email", "mallory@example.org", "role", "organiser", "sure", "yes", "from", "2027-07-01")
		c.as("Brida").post(path, form).says(403)
		if got := c.stranger().post(path, form); got.status != 303 {
			t.Errorf("a stranger at %s: %d", path, got.status)
		}
		if got := c.as("Ansel").send("POST", path, form, map[string]string{"Origin": "https://elsewhere.example"}); got.status != 403 {
			t.Errorf("a foreign origin at %s: %d", path, got.status)
		}
		if !strings.HasSuffix(path, "invite") {
			c.as("Dorrit").post(path, form).says(404)
		}
	}
	c.as("Brida").get("/members/" + corin).says(403)
	c.as("Dorrit").get("/members/" + corin).says(404)
	c.as("Ansel").get("/members/"+corin).says(200, "Corin Tasker", "A keeper", "Make Corin Tasker an organiser")
	c.as("Brida").post("/members/"+brida+"/role", fields("role", "organiser")).says(403)
	if n := len(c.club().Members); n != 3 {
		t.Errorf("%d members, want the 3 of before", n)
	}
}

func TestSeveralClubs(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	c.alsoElsewhere("Brida")
	brida := c.as("Brida")
	brida.get("/members").says(200, "Your clubs", "Old Mill Beekeepers you look at this one, as keeper", "Elsewhere")
	brida.get("/members?club="+itoa(c.other)).says(200, "Dorrit Vane", "Elsewhere you look at this one, as organiser", "Invite somebody")
	brida.get("/members").says(200, "Dorrit Vane") // it stays chosen
	c.as("Corin").get("/members?club=" + itoa(c.other)).says(404)
}
