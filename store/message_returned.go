package store

import (
	"context"
	"fmt"
	"strings"
)

// IsMessageID reports whether a mail's Message-ID is that of one of the club's
// messages.
func (tx *Tx) IsMessageID(ctx context.Context, id string) (ours bool, err error) {
	made, _, _ := strings.Cut(id, "@")
	err = tx.tx.QueryRow(ctx, `SELECT EXISTS (SELECT FROM message WHERE message_id = $1)`, validText(made, 200)).Scan(&ours)
	return ours, tx.wrap(err, "look for a message by its id")
}

// MessageReturned notes that a message came back. What is known to have failed
// stays so, whatever comes later.
func (tx *Tx) MessageReturned(ctx context.Context, id int64, how Return, reply string) error {
	return tx.one(ctx, fmt.Sprintf("note that message %d came back", id), `
		UPDATE message SET
			returned_at = CASE WHEN returned = 'failed' AND $2 <> 'failed' THEN returned_at ELSE now() END,
			returned_reply = CASE WHEN returned = 'failed' AND $2 <> 'failed' THEN returned_reply ELSE $3 END,
			returned = CASE WHEN returned = 'failed' THEN returned ELSE $2 END
		 WHERE id = $1`, id, string(how), validText(reply, 2000))
}

// AllCameBack reports whether the newest n messages that went to a member's
// present address all came back failed.
func (tx *Tx) AllCameBack(ctx context.Context, member int64, n int) (all bool, err error) {
	err = tx.tx.QueryRow(ctx, `
		SELECT count(*) FILTER (WHERE returned = 'failed') = $2
		  FROM (SELECT g.returned
		          FROM message g JOIN member m ON m.id = g.member_id JOIN LATERAL club_person(m.person_id) p ON true
		         WHERE g.member_id = $1 AND g.state = 'sent' AND lower(g.address) = lower(p.email)
		         ORDER BY g.id DESC LIMIT $2) newest`, member, n).Scan(&all)
	return all, tx.wrap(err, "look at what came back from member %d", member)
}
