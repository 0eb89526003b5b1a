package store

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"
)

// How long mailed addresses work that change a person's e-mail address.
const (
	NewAddressLife = 24 * time.Hour     // the one that confirms a new address
	OldAddressLife = 7 * 24 * time.Hour // the one that brings the old address back
)

// How many changes may be asked for. The last bound keeps people from filling
// the mailbox of somebody who has nothing to do with it.
const (
	askedAnHour = 3 // for one person
	askedADay   = 6 // for one person
	askedOfADay = 3 // of one address, for whomever
)

// AddressChange is one mailed address that gives a person another e-mail
// address. It is known by an identifier that is kept hashed.
type AddressChange struct {
	PersonID  int64
	Email     string // that the person gets
	Undo      bool   // it was the person's before
	CreatedAt time.Time
	ExpiresAt time.Time
	Used      bool // or replaced by another one, or withdrawn
	Open      bool // neither used nor expired
}

const selectAddressChange = `
	SELECT person_id, email, undo, created_at, expires_at, used_at IS NOT NULL AS used,
	       used_at IS NULL AND expires_at > now() AS open FROM address_change `

// AskAddress notes that a person is to have another address once that is
// confirmed, in place of what was asked for and not confirmed before. It returns
// the identifier to confirm it with. ErrTooMany.
func (tx *Tx) AskAddress(ctx context.Context, person int64, email string) (id string, err error) {
	email = normalEmail(email)
	if _, err := tx.lockPerson(ctx, person); err != nil {
		return "", err
	}
	var often bool
	err = tx.tx.QueryRow(ctx, `
		SELECT count(*) FILTER (WHERE person_id = $1 AND created_at > now() - interval '1 hour') >= $3
		    OR count(*) FILTER (WHERE person_id = $1) >= $4
		    OR count(*) FILTER (WHERE lower(email) = lower($2)) >= $5
		  FROM address_change WHERE NOT undo AND created_at > now() - interval '1 day'`,
		person, email, askedAnHour, askedADay, askedOfADay).Scan(&often)
	if err == nil && often {
		err = ErrTooMany
	}
	if err != nil {
		return "", tx.wrap(err, "ask for another address of person %d", person)
	}
	if err := tx.WithdrawAddress(ctx, person); err != nil {
		return "", err
	}
	return tx.addAddressChange(ctx, person, email, false, NewAddressLife)
}

func (tx *Tx) addAddressChange(ctx context.Context, person int64, email string, undo bool, life time.Duration) (id string, err error) {
	id, hash := newToken()
	_, err = tx.tx.Exec(ctx, `
		INSERT INTO address_change (token_hash, person_id, email, undo, expires_at)
		VALUES ($1, $2, $3, $4, now() + $5::interval)`, hash, person, email, undo, life)
	return id, tx.wrap(err, "note a change of address of person %d", person)
}

// WithdrawAddress takes back what was asked for and not confirmed.
func (tx *Tx) WithdrawAddress(ctx context.Context, person int64) error {
	_, err := tx.tx.Exec(ctx, `
		UPDATE address_change SET used_at = now() WHERE person_id = $1 AND NOT undo AND used_at IS NULL`, person)
	return tx.wrap(err, "withdraw the new address of person %d", person)
}

// AskedAddress returns the change that waits for its confirmation; nil for none.
func (tx *Tx) AskedAddress(ctx context.Context, person int64) (*AddressChange, error) {
	c, err := tx.addressChange(ctx, `WHERE person_id = $1 AND NOT undo AND used_at IS NULL AND expires_at > now()`, person)
	if errors.Is(err, ErrNotFound) {
		return nil, nil
	}
	return c, err
}

// AddressChange reads a change by its identifier. ErrNotFound when there was
// never one, or it was cleared.
func (tx *Tx) AddressChange(ctx context.Context, id string) (*AddressChange, error) {
	return tx.addressChange(ctx, `WHERE token_hash = $1`, hashToken(id))
}

func (tx *Tx) addressChange(ctx context.Context, where string, which any) (*AddressChange, error) {
	rows, err := tx.tx.Query(ctx, selectAddressChange+where, which)
	if err != nil {
		return nil, tx.wrap(err, "read a change of address")
	}
	c, err := pgx.CollectExactlyOneRow(rows, pgx.RowToAddrOfStructByName[AddressChange])
	return c, tx.wrap(err, "read a change of address")
}

// ConfirmAddress gives a person the address that was asked for, and forgets
// that the one before was refused. It returns that one, and the identifier that
// brings it back. ErrTokenSpent, ErrNotFound; ErrExists when the address is
// another person's, which uses nothing up.
func (tx *Tx) ConfirmAddress(ctx context.Context, id string) (c *AddressChange, old, undo string, err error) {
	if c, old, err = tx.useAddressChange(ctx, id, false); err != nil {
		return nil, "", "", err
	}
	undo, err = tx.addAddressChange(ctx, c.PersonID, old, true, OldAddressLife)
	return c, old, undo, err
}

// UndoAddress gives a person the address of before. What was asked for since
// then ends with it, and so do the ways back to addresses that the person had
// later: they may be those of whoever took the address away. Errors are those
// of ConfirmAddress.
func (tx *Tx) UndoAddress(ctx context.Context, id string) (*AddressChange, error) {
	c, _, err := tx.useAddressChange(ctx, id, true)
	if err != nil {
		return nil, err
	}
	_, err = tx.tx.Exec(ctx, `
		UPDATE address_change SET used_at = now()
		 WHERE person_id = $1 AND used_at IS NULL AND (NOT undo OR created_at > $2)`, c.PersonID, c.CreatedAt)
	return c, tx.wrap(err, "end the later changes of address of person %d", c.PersonID)
}

// useAddressChange uses one up and returns the address that it replaced.
func (tx *Tx) useAddressChange(ctx context.Context, id string, undo bool) (c *AddressChange, old string, err error) {
	if c, err = tx.AddressChange(ctx, id); err != nil {
		return nil, "", err
	}
	if old, err = tx.lockPerson(ctx, c.PersonID); err != nil {
		return nil, "", err
	}
	err = tx.one(ctx, fmt.Sprintf("use a change of address of person %d", c.PersonID), `
		UPDATE address_change SET used_at = now()
		 WHERE token_hash = $1 AND undo = $2 AND used_at IS NULL AND expires_at > now()`, hashToken(id), undo)
	if errors.Is(err, ErrNotFound) {
		err = tx.wrap(ErrTokenSpent, "use a change of address of person %d", c.PersonID)
	}
	if err != nil {
		return nil, "", err
	}
	err = tx.one(ctx, fmt.Sprintf("change the address of person %d", c.PersonID),
		`UPDATE person SET email = $2, refused_at = NULL, refused_reply = NULL WHERE id = $1`, c.PersonID, c.Email)
	if code(err) == uniqueViolation {
		err = tx.wrap(ErrExists, "change the address of person %d", c.PersonID)
	}
	return c, old, err
}

// lockPerson keeps others from changing a person's address until the
// transaction ends, and returns the address.
func (tx *Tx) lockPerson(ctx context.Context, person int64) (email string, err error) {
	err = tx.tx.QueryRow(ctx, `SELECT email FROM person WHERE id = $1 FOR NO KEY UPDATE`, person).Scan(&email)
	return email, tx.wrap(err, "lock person %d", person)
}
