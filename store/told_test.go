package store

import (
	"context"
	"fmt"
	"maps"
	"slices"
	"testing"

	"github.com/jackc/pgx/v5"

	"pryday/scheduler"
)

// toldIn says what members were told in names instead of ids.
func toldIn(c *scheduler.Club) (out []string) {
	names := scheduler.NewNames(c)
	for _, t := range c.Told {
		apiary := ""
		if a := c.Apiary(t.ApiaryID); a != nil {
			apiary = a.Name
		}
		out = append(out, fmt.Sprintf("%s %s %s%s %s %s", names.Member(t.MemberID), t.Kind, t.VisitUID, apiary, t.On, t.ToldOn))
	}
	slices.Sort(out)
	return out
}

// What members were told goes along with an export, so that whoever imports it
// mails nobody once more; what is known there and later stays.
func TestExportCarriesWhatMembersWereTold(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	export := func(s *Store, club int64) (c *scheduler.Club) {
		inClub(t, s, club, func(tx *Tx) (err error) {
			c, err = tx.Export(ctx)
			return err
		})
		return c
	}
	club := importSample(t, s)
	first := readClub(t, s, club)
	member, visit, apiary := first.Members[1].ID, first.Visits[0], first.Apiaries[1].ID
	inClub(t, s, club, func(tx *Tx) error {
		tx.Knows(member, visit, nil, today-2)
		_, err := tx.tx.Exec(ctx, `INSERT INTO told (club_id, member_id, about, apiary_id, kind, told_on)
			VALUES ($1, $2, 'overdue/' || $3::bigint, $3::bigint, 'overdue', $4)`, tx.club, member, apiary, today-1)
		return err
	})
	document := export(s, club)
	want := []string{
		fmt.Sprintf("Brida Okonjo moved %s %s %s", visit.UID, visit.On, today-2),
		fmt.Sprintf("Brida Okonjo overdue Quarry  %s", today-1),
	}
	if got := toldIn(document); !slices.Equal(got, want) {
		t.Fatalf("exported %q, want %q", got, want)
	}

	elsewhere := open(t)
	other, err := elsewhere.CreateClub(ctx, "Copy")
	if err != nil {
		t.Fatal(err)
	}
	bring := func() (got Imported) {
		inClub(t, elsewhere, other, func(tx *Tx) (err error) {
			got, err = tx.Import(ctx, document)
			return err
		})
		return got
	}
	bring()
	if got := toldIn(export(elsewhere, other)); !slices.Equal(got, want) {
		t.Errorf("imported %q, want %q", got, want)
	}
	copied := readClub(t, elsewhere, other)
	inClub(t, elsewhere, other, func(tx *Tx) error {
		tx.Knows(copied.Members[1].ID, copied.Visits[0], nil, today)
		return nil
	})
	if got := bring(); got.Changed() {
		t.Errorf("a second import changed %+v", got)
	}
	want[0] = fmt.Sprintf("Brida Okonjo moved %s %s %s", visit.UID, visit.On, today)
	if got := toldIn(export(elsewhere, other)); !slices.Equal(got, want) {
		t.Errorf("after a second import %q, want %q", got, want)
	}
}

// Whoever changes something knows of what planning moved with it, where they had
// heard of that before; of a visit that is over no day is left to hear of.
func TestWhoeverMovesAVisitKnowsOfTheOthers(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club := importSample(t, s)
	c := readClub(t, s, club)
	member, moved, heard, unheard := c.Members[1].ID, c.Visits[0], c.Visits[1], c.Visits[2]
	over := moved
	over.Status = scheduler.Done
	later := func(v scheduler.Visit) VisitChange {
		now := v
		now.On += 3
		return VisitChange{v, now}
	}
	inClub(t, s, club, func(tx *Tx) error {
		tx.Knows(member, heard, nil, today-5)
		tx.Knows(member, over, &Replanned{Changed: []VisitChange{later(heard), later(unheard)}}, today)
		rows, err := tx.tx.Query(ctx, `SELECT visit_id, on_day FROM told WHERE visit_id IS NOT NULL`)
		if err != nil {
			return err
		}
		told := map[int64]scheduler.Date{}
		var id int64
		var on *scheduler.Date
		_, err = pgx.ForEachRow(rows, []any{&id, &on}, func() error {
			told[id] = 0
			if on != nil {
				told[id] = *on
			}
			return nil
		})
		if want := map[int64]scheduler.Date{moved.ID: 0, heard.ID: heard.On + 3}; !maps.Equal(told, want) {
			t.Errorf("told %v, want %v", told, want)
		}
		return err
	})
}
