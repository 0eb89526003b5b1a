package web

import (
	"net/http"
	"slices"
	"strings"
	"testing"

	"github.com/google/uuid"

	"pryday/scheduler"
)

// Each thing that can happen is told what it means before it is saved, is noted on the hive,
// and gone once it is undone.
func TestWhatHappensToColonies(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	b := c.as("Ansel")
	h, box := c.boxNamed("Q11")
	quarry, other := c.club().Apiaries[1], &c.club().Apiaries[1].Hives[1]
	orchard := c.club().Apiaries[0]
	path, on := hivePath(h.ID), today-3
	for _, tt := range []struct {
		what         scheduler.Fate
		form         []string
		means, noted string
	}{
		{scheduler.Swarmed, []string{"alone_days", "28"}, "It is left alone until Friday 25 June 2027", "The colony swarmed."},
		{scheduler.Requeened, []string{"alone_days", "0", "note", "marked blue"}, "learned anew", "A new queen came in. marked blue"},
		{scheduler.Split, []string{"box", itoa(box.ID), "name", "Elm", "apiary", itoa(quarry.ID), "queen", "goes"}, "It was split: Q11 went to Elm.", "It was split: Q11 went to Elm."},
		{scheduler.Moved, []string{"apiary", itoa(orchard.ID)}, "It was moved from Quarry to Orchard.", "It was moved from Quarry to Orchard."},
		{scheduler.Sold, []string{"rest", "along", "whom", "Ulf"}, "The colony was sold: Ulf has it.", "The hive ended."},
		{scheduler.Died, []string{"rest", "stay"}, "Without bees nothing seals", "No bees live here since"},
		{scheduler.Died, []string{"rest", "new", "new_on", (today + 30).String()}, "From Thursday 1 July 2027 on the boxes age again", "A new colony is expected on"},
		{scheduler.Died, []string{"rest", "store"}, "Into the store: Q11", "The hive ended."},
	} {
		t.Run(string(tt.what)+" "+strings.Join(tt.form, " "), func(t *testing.T) {
			b.get(path+"/colony").says(http.StatusOK, "What happened to")
			form := b.get(path + "/colony/" + string(tt.what))
			values := fields(append([]string{"id", form.field("id"), "on", on.String()}, tt.form...)...)
			asked := b.post(path+"/colony/"+string(tt.what), values).says(http.StatusOK, "This is what it means", tt.means)
			if !strings.Contains(asked.body, `name="id" value="`+values.Get("id")+`"`) {
				t.Error("the form lost its id")
			}
			if _, now := c.club().HiveByID(h.ID); len(now.Events) > 0 {
				t.Fatal("saved before it was agreed to")
			}
			values.Set("sure", "yes")
			b.follow(path+"/colony/"+string(tt.what), values).says(http.StatusOK, "Noted: ", tt.noted, "29 May 2027")
			_, now := c.club().HiveByID(h.ID)
			for i := len(now.Events) - 1; i >= 0; i-- {
				b.follow(path+"/undo-event", fields("event", now.Events[i].ID)).says(http.StatusOK, "Undone: ")
			}
			if _, now := c.club().HiveByID(h.ID); len(now.Events) > 0 || len(now.Boxes) != len(h.Boxes) || now.RetiredOn != 0 {
				t.Errorf("undone, it is %+v", now)
			}
		})
	}
	b.get("/audit").says(http.StatusOK, "note what happened to a hive", "undo what happened to a hive")

	t.Run("united", func(t *testing.T) {
		values := fields("id", uuid.NewString(), "on", on.String(), "other", itoa(other.ID), "takes", "here", "queen", "stays", "alone_days", "14")
		at := path + "/colony/united"
		b.post(at, values).says(http.StatusOK, "number them as they stand", "Next: what it means")
		values.Set("ordered", "yes")
		all := append(append([]scheduler.Box{}, h.Boxes...), other.Boxes...)
		for i := range all {
			values.Set("place-"+itoa(all[i].ID), "1")
		}
		b.post(at, values).says(http.StatusUnprocessableEntity, "a place of its own")
		for i := range all {
			values.Set("place-"+itoa(all[i].ID), itoa(int64(len(all)-i)))
		}
		b.post(at, values).says(http.StatusOK, "This is what it means", "It was united: ")
		values.Set("sure", "yes")
		b.follow(at, values).says(http.StatusOK, "It was united: ")
		_, now := c.club().HiveByID(h.ID)
		if len(now.Boxes) != len(all) || now.Boxes[0].ID != all[len(all)-1].ID {
			t.Errorf("the stack is %v", stackIDs(now))
		}
		b.get(hivePath(other.ID)).says(http.StatusOK, "Retired on 29 May 2027", "It was united: ")
		b.get(boxPath(other.Boxes[0].ID)).says(http.StatusOK, "was united with another hive")
		_, gone := c.club().HiveByID(other.ID)
		b.post(path+"/box-move", fields("box", itoa(other.Boxes[0].ID), "to", "store", "on", today.String()))
		b.post(hivePath(other.ID)+"/undo-event", fields("event", gone.Events[0].ID)).says(http.StatusConflict, "has gone elsewhere since")
		b.get(hivePath(other.ID)).says(http.StatusOK, "Why it cannot be undone", "has gone elsewhere since")
	})
}

// What cannot have happened is said at its field, and loses nothing that was typed.
func TestWhatCannotHaveHappenedToAColony(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	b := c.as("Ansel")
	h, _ := c.boxNamed("Q11")
	for _, tt := range []struct {
		what  string
		form  []string
		wrong string
	}{
		{"swarmed", []string{"on", "2031-05-01"}, "is still to come"},
		{"swarmed", []string{"on", "1926-05-01"}, "stood in the records"},
		{"swarmed", []string{"on", "1 May"}, "1 May"},
		{"swarmed", []string{"on", today.String(), "alone_days", "999"}, "999"},
		{"died", []string{"on", today.String(), "rest", "burn"}, "Say what becomes of the boxes"},
		{"died", []string{"on", today.String(), "rest", "new"}, "Give the day on which the new colony"},
		{"died", []string{"on", today.String(), "rest", "new", "new_on", (today + 900).String()}, "too far ahead"},
		{"split", []string{"on", today.String(), "name", "", "box", "1", "queen", "stays"}, "must not be empty"},
		{"united", []string{"on", today.String(), "other", itoa(h.ID), "queen", "stays"}, "Choose the other hive"},
		{"moved", []string{"on", today.String(), "apiary", "999999"}, "Choose another apiary"},
		{"new-colony", []string{"on", today.String()}, "There are bees in"},
	} {
		t.Run(tt.what+" "+tt.wrong, func(t *testing.T) {
			values := fields(append([]string{"id", uuid.NewString(), "note", "seen by Ulf"}, tt.form...)...)
			got := b.post(hivePath(h.ID)+"/colony/"+tt.what, values).says(http.StatusUnprocessableEntity, "Not saved yet.", tt.wrong)
			got.holds("seen by Ulf")
			if _, now := c.club().HiveByID(h.ID); len(now.Events) > 0 {
				t.Error("something was saved")
			}
		})
	}
}

// TestWhyAHiveIsLeftAloneIsSaidToTheReader: what one member noted in English, another
// reads in German, and it comes back as it was when it was taken out.
func TestWhyAHiveIsLeftAloneIsSaidToTheReader(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	b := c.as("Ansel")
	h, _ := c.boxNamed("Q11")
	path := hivePath(h.ID)
	b.follow(path+"/colony/swarmed", fields("id", uuid.NewString(), "on", today.String(), "alone_days", "20", "sure", "yes")).says(http.StatusOK, "young queen after a swarm")
	b.follow(path+"/leave", fields("from", (today+60).String(), "reason", "queen cells")).says(http.StatusOK, "queen cells")
	c.speaks("Ansel", "de")
	b.get(path).says(http.StatusOK, "junge Königin nach einem Schwarm")
	b.get(path+"/change").says(http.StatusOK, "junge Königin nach einem Schwarm", "queen cells")

	_, was := c.club().HiveByID(h.ID)
	out := b.follow(path+"/leave", fields("remove", "0", "from", today.String())).says(http.StatusOK)
	if strings.Contains(out.text(), "junge Königin") {
		t.Error("it was not taken out")
	}
	b.follow(path+"/leave", fields("from", out.field("from"), "until", out.field("until"), "reason", out.field("reason"), "after", out.field("after")))
	if _, now := c.club().HiveByID(h.ID); !slices.Equal(now.LeaveAlone, was.LeaveAlone) || now.LeaveAlone[0].After != scheduler.Swarmed {
		t.Errorf("put back, it is left alone %+v, was %+v", now.LeaveAlone, was.LeaveAlone)
	}
}
