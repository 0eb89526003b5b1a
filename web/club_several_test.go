package web

import (
	"context"
	"fmt"
	"net/http"
	"testing"

	"pryday/scheduler"
	"pryday/store"
)

// TestAddressesInAnotherOfOnesClubs follows addresses of one club while looking at another, as
// somebody who belongs to both, and as somebody who does not.
func TestAddressesInAnotherOfOnesClubs(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	err := c.store.InClub(context.Background(), c.other, func(tx *store.Tx) error {
		_, err := tx.AddMember(context.Background(), scheduler.Member{Name: "Brida there", Email: "BRIDA@example.org", Role: scheduler.Keeper})
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	v := c.visit("Quarry")
	h, _ := c.boxNamed("Q11")
	b := c.as("Brida")
	elsewhere := fmt.Sprintf("/?club=%d", c.other)
	b.get("/").says(http.StatusOK, "Old Mill Beekeepers", "To Elsewhere")
	b.get(elsewhere).says(http.StatusOK, "Elsewhere", "Brida there", "To Old Mill Beekeepers")
	b.get("/").says(http.StatusOK, "Brida there") // it stays so
	for _, path := range []string{visitPath(v.UID), "/hive/" + itoa(h.ID), fmt.Sprintf("/apiary/%d", v.ApiaryID)} {
		b.get(elsewhere)
		b.get(path).says(http.StatusOK, "Brida Okonjo", "To Elsewhere")
	}
	b.get(elsewhere)
	b.follow(visitPath(v.UID)+"/finish", fields("sequence", fmt.Sprint(v.Sequence), "sure", "yes")).says(http.StatusOK, "is done")
	c.as("Corin").get(elsewhere).says(http.StatusNotFound)
	c.as("Dorrit").get(visitPath(v.UID)).says(http.StatusNotFound)
}
