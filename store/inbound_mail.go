package store

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"pryday/scheduler"
)

// MailPurpose is what the signed address is for that a mail came to.
type MailPurpose string

// The purposes of signed addresses.
const (
	ReplyMail    MailPurpose = "reply"    // answers to a mail
	BounceMail   MailPurpose = "bounce"   // reports that a mail came back
	CalendarMail MailPurpose = "calendar" // a calendar's answers to invitations
)

// MailOutcome is what became of a mail that came in; empty while it waits.
type MailOutcome string

// The outcomes.
const (
	MailReturned  MailOutcome = "returned"  // one of ours came back, or was delayed
	MailGoing     MailOutcome = "going"     // its writer goes on the visit now
	MailNotGoing  MailOutcome = "not-going" // its writer is off the visit now
	MailNoChange  MailOutcome = "no-change" // a calendar answered, and it was so already
	MailTold      MailOutcome = "told"      // a calendar answered what does not hold any more; its writer was told what does
	MailForwarded MailOutcome = "forwarded" // to the organisers
	MailKept      MailOutcome = "kept"      // for the messages page, as nobody could be told
	MailAutomatic MailOutcome = "automatic" // a program wrote it, and nobody answers programs
)

// InboundMail is one mail that came in to a signed address.
type InboundMail struct {
	ID         int64
	ClubID     int64
	Digest     []byte // 32 bytes, of what it says and where it came to
	Purpose    MailPurpose
	MemberID   int64
	MessageID  int64  // of ours that it answers; 0 for none or one that was cleared
	Address    string // the signed one that it came to
	Sender     string // of the envelope; empty for the null sender
	Raw        []byte // nil once it was cleared, and in lists
	ReceivedAt time.Time
	Outcome    MailOutcome // empty until it is handled
	HandledAt  time.Time   // zero until then
	MailContent
}

// MailContent is what was read in a mail, as the messages page shows it.
type MailContent struct {
	Detail     string    // what was done or reported, in words or one of the reasons of package inbox
	VisitID    int64     // 0 for none
	AnsweredAt time.Time // when a calendar says that its answer was given; zero for none
	FromName   string
	FromEmail  string
	Subject    string
	Body       string // the text, without what it quotes
}

const selectMail = `
	SELECT i.id, i.club_id, i.digest, i.purpose, i.member_id, coalesce(i.message_id, 0), i.address, i.sender, %s, i.received_at,
	       i.outcome, i.handled_at, i.detail, coalesce(i.visit_id, 0), i.answered_at, i.from_name, i.from_email, i.subject, i.body
	  FROM inbound_mail i `

func scanMail(row pgx.CollectableRow) (m InboundMail, err error) {
	var handled, answered *time.Time
	err = row.Scan(&m.ID, &m.ClubID, &m.Digest, &m.Purpose, &m.MemberID, &m.MessageID, &m.Address, &m.Sender, &m.Raw, &m.ReceivedAt,
		&m.Outcome, &handled, &m.Detail, &m.VisitID, &answered, &m.FromName, &m.FromEmail, &m.Subject, &m.Body)
	m.HandledAt, m.AnsweredAt = orZero(handled), orZero(answered)
	return m, err
}

// TakeMail stores a mail that came in, with the job of reading it. One with a
// known digest changes nothing. ErrNotFound when the member has left.
func (tx *Tx) TakeMail(ctx context.Context, m InboundMail) (id int64, isNew bool, err error) {
	err = tx.tx.QueryRow(ctx, `
		INSERT INTO inbound_mail (club_id, digest, purpose, member_id, message_id, address, sender, raw)
		VALUES ($1, $2, $3, $4, (SELECT id FROM message WHERE id = $5), $6, $7, $8)
		ON CONFLICT (club_id, digest) DO NOTHING RETURNING id`,
		tx.club, m.Digest, m.Purpose, m.MemberID, m.MessageID, validText(m.Address, 400), validText(m.Sender, 400), m.Raw).Scan(&id)
	switch {
	case errors.Is(err, pgx.ErrNoRows):
		return 0, false, nil
	case code(err) == foreignKeyViolation:
		err = ErrNotFound
	}
	var begun pgx.Tx
	if err == nil {
		begun, err = tx.tx.begun(ctx)
	}
	if err == nil {
		_, err = tx.jobs.InsertTx(ctx, begun, ReadMailArgs{Club: tx.club, Mail: id}, nil)
	}
	return id, true, tx.wrap(err, "store a mail from member %d", m.MemberID)
}

// InboundMail reads one mail with its text, and keeps others from handling it
// until the transaction ends.
func (tx *Tx) InboundMail(ctx context.Context, id int64) (*InboundMail, error) {
	rows, err := tx.tx.Query(ctx, fmt.Sprintf(selectMail, "i.raw")+`WHERE i.id = $1 FOR UPDATE`, id)
	if err != nil {
		return nil, tx.wrap(err, "read inbound mail %d", id)
	}
	m, err := pgx.CollectExactlyOneRow(rows, scanMail)
	if err != nil {
		return nil, tx.wrap(err, "read inbound mail %d", id)
	}
	return &m, nil
}

// InboundMailFilter narrows InboundMails; zero fields do not narrow.
type InboundMailFilter struct {
	MemberID int64
	VisitID  int64
	Before   int64 // ids below this one
	Limit    int   // 0 takes 100
}

// InboundMails lists what came in, the newest first, without the raw text.
func (tx *Tx) InboundMails(ctx context.Context, f InboundMailFilter) ([]InboundMail, error) {
	narrowed := filter{id: `i.id`}
	if f.MemberID != 0 {
		narrowed.by(`i.member_id = $%d`, f.MemberID)
	}
	if f.VisitID != 0 {
		narrowed.by(`i.visit_id = $%d`, f.VisitID)
	}
	if f.Before != 0 {
		narrowed.by(`i.id < $%d`, f.Before)
	}
	rows, err := tx.tx.Query(ctx, fmt.Sprintf(selectMail, "NULL::bytea")+narrowed.clause(f.Limit), narrowed.args...)
	if err != nil {
		return nil, tx.wrap(err, "list the mails that came in")
	}
	out, err := pgx.CollectRows(rows, scanMail)
	return out, tx.wrap(err, "list the mails that came in")
}

// CountMail counts what came in from a member since an instant, and came to one
// of the outcomes; to any when none is given.
func (tx *Tx) CountMail(ctx context.Context, member int64, since time.Time, outcomes ...MailOutcome) (n int, err error) {
	err = tx.tx.QueryRow(ctx, `
		SELECT count(*) FROM inbound_mail
		 WHERE member_id = $1 AND received_at >= $2 AND ($3::text[] IS NULL OR outcome = ANY($3))`,
		member, since, outcomes).Scan(&n)
	return n, tx.wrap(err, "count the mails from member %d", member)
}

// MailHandled notes what became of a mail.
func (tx *Tx) MailHandled(ctx context.Context, id int64, outcome MailOutcome, c MailContent) error {
	var answered *time.Time
	if !c.AnsweredAt.IsZero() {
		answered = &c.AnsweredAt
	}
	return tx.one(ctx, fmt.Sprintf("note what became of inbound mail %d", id), `
		UPDATE inbound_mail SET outcome = $2, handled_at = now(), detail = $3, visit_id = nullif($4, 0), answered_at = $5,
		       from_name = $6, from_email = $7, subject = $8, body = $9 WHERE id = $1`,
		id, outcome, validText(c.Detail, 2000), c.VisitID, answered, validText(c.FromName, 200), validText(c.FromEmail, 320),
		validText(c.Subject, 1000), validText(c.Body, 100_000))
}

// ToldDay is the day on which a member last heard that a visit is; zero when
// the member never heard of it, or heard last that it is over.
func (tx *Tx) ToldDay(ctx context.Context, member, visit int64) (on scheduler.Date, err error) {
	err = tx.tx.QueryRow(ctx, `SELECT max(on_day) FROM told WHERE member_id = $1 AND visit_id = $2`, member, visit).Scan(&on)
	return on, tx.wrap(err, "read what member %d was told of visit %d", member, visit)
}

// ClearMail empties the texts of handled mails that came in before textsUntil,
// and forgets those from before rowsUntil.
func (tx *Tx) ClearMail(ctx context.Context, textsUntil, rowsUntil time.Time) error {
	_, err := tx.tx.Exec(ctx, `DELETE FROM inbound_mail WHERE outcome <> '' AND received_at < $1`, rowsUntil)
	if err == nil {
		_, err = tx.tx.Exec(ctx, `
			UPDATE inbound_mail SET raw = NULL, body = '', subject = '', from_name = '', from_email = ''
			 WHERE outcome <> '' AND received_at < $1 AND (raw IS NOT NULL OR body <> '')`, textsUntil)
	}
	return tx.wrap(err, "clear old mails")
}
