package web

import (
	"fmt"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
)

// endCalendar revokes one of a member's calendar addresses, for an organiser: a
// phone was lost, or an address went to others.
func (c *memberChange) endCalendar() (notice, error) {
	id := c.form.id("link")
	err := c.in(func(tx *store.Tx) error {
		link, err := tx.Link(c.ctx, id)
		if err != nil {
			return err
		}
		if link.MemberID != c.member.ID {
			return fmt.Errorf("calendar address %d of another member: %w", id, store.ErrNotFound)
		}
		if link.RevokedAt.IsZero() && !c.form.has("sure") {
			return revokeQuestion(link)
		}
		if err := c.by.note(c.r, tx, "revoke calendar address", text.New("audit.about.role", c.member.Name, trailOf(link, scheduler.NewNames(c.club)))); err != nil {
			return err
		}
		return tx.RevokeLink(c.ctx, id)
	})
	return notice{Text: c.say.Say("page.links.said-revoked")}, err
}
