package store

import (
	"context"
	"errors"
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

// AskAddress notes that a person is to have another address once that is
// confirmed, in place of what was asked for and not confirmed before. It returns
// the identifier to confirm it with. ErrTooMany.
func (tx *Tx) AskAddress(ctx context.Context, person int64, email string) (id string, err error) {
	email = normalEmail(email)
	id, hash := newToken()
	var noted *bool // nothing for no person
	err = tx.tx.QueryRow(ctx, `SELECT ask_address($1, $2, $3, $4, $5, $6, $7)`,
		person, email, hash, NewAddressLife, askedAnHour, askedADay, askedOfADay).Scan(&noted)
	switch {
	case err == nil && noted == nil:
		err = ErrNotFound
	case err == nil && !*noted:
		err = ErrTooMany
	}
	if err != nil {
		return "", tx.wrap(err, "ask for another address of person %d", person)
	}
	return id, nil
}

// WithdrawAddress takes back what was asked for and not confirmed.
func (tx *Tx) WithdrawAddress(ctx context.Context, person int64) error {
	_, err := tx.tx.Exec(ctx, `SELECT withdraw_address($1)`, person)
	return tx.wrap(err, "withdraw the new address of person %d", person)
}

// AskedAddress returns the change that waits for its confirmation; nil for none.
func (tx *Tx) AskedAddress(ctx context.Context, person int64) (*AddressChange, error) {
	c, err := tx.addressChange(ctx, `SELECT * FROM asked_address($1)`, person)
	if errors.Is(err, ErrNotFound) {
		return nil, nil
	}
	return c, err
}

// AddressChange reads a change by its identifier. ErrNotFound when there was
// never one, or it was cleared.
func (tx *Tx) AddressChange(ctx context.Context, id string) (*AddressChange, error) {
	return tx.addressChange(ctx, `SELECT * FROM address_change_of($1)`, hashToken(id))
}

func (tx *Tx) addressChange(ctx context.Context, call string, which any) (*AddressChange, error) {
	rows, err := tx.tx.Query(ctx, call, which)
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
	undo, hash := newToken()
	if c, old, err = tx.useAddressChange(ctx, id, false, hash); err != nil {
		return nil, "", "", err
	}
	return c, old, undo, nil
}

// UndoAddress gives a person the address of before. What was asked for since
// then ends with it, and so do the ways back to addresses that the person had
// later: they may be those of whoever took the address away. Errors are those
// of ConfirmAddress.
func (tx *Tx) UndoAddress(ctx context.Context, id string) (*AddressChange, error) {
	c, _, err := tx.useAddressChange(ctx, id, true, nil)
	return c, err
}

// useAddressChange uses one up and returns the address that it replaced. wayBack
// is the hash under which that one is kept.
func (tx *Tx) useAddressChange(ctx context.Context, id string, undo bool, wayBack []byte) (c *AddressChange, old string, err error) {
	if c, err = tx.AddressChange(ctx, id); err != nil {
		return nil, "", err
	}
	var before *string // nothing where it was used
	err = tx.tx.QueryRow(ctx, `SELECT use_address_change($1, $2, $3, $4)`, hashToken(id), undo, wayBack, OldAddressLife).Scan(&before)
	switch {
	case err == nil && before == nil:
		err = ErrTokenSpent
	case code(err) == uniqueViolation:
		err = ErrExists
	}
	if err != nil {
		return nil, "", tx.wrap(err, "use a change of address of person %d", c.PersonID)
	}
	return c, *before, nil
}
