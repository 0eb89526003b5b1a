package store

import (
	"context"
	"errors"
	"testing"
	"time"

	"github.com/google/uuid"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/testdata/testrun"
)

func TestMembers(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club := importSample(t, s)
	c := readClub(t, s, club)
	at := scheduler.ClockTime(6 * 60)
	m := scheduler.Member{
		Name: "Ceri Dun", Email: " ceri@example.org ", Phone: "+43 1 234-56", Role: scheduler.Keeper, Timezone: "Europe/Vienna", Language: "de", Units: text.Inches,
		Prefs: scheduler.Preferences{
			DaysBefore: []int{3}, SendAt: &at, Mute: []scheduler.MessageKind{scheduler.OverdueMessage}, PausedUntil: today + 9,
			VisitHours: &scheduler.HoursOfDay{From: 9 * 60, Until: 12 * 60},
			HoursADay:  4.5, VisitsAWeek: 2, Weekdays: 1<<0 | 1<<3,
		},
		NoGo: []scheduler.Period{{From: today, Reason: "leg in plaster"}},
	}
	inClub(t, s, club, func(tx *Tx) (err error) {
		m.ID, err = tx.AddMember(ctx, m)
		return err
	})
	inClub(t, s, club, func(tx *Tx) error {
		got, err := tx.Member(ctx, m.ID)
		if err != nil {
			return err
		}
		m.Email, m.PersonID = "ceri@example.org", got.PersonID
		if !equalJSON(got, &m) {
			t.Errorf("read %+v, want %+v", got, m)
		}
		return nil
	})
	t.Run("an address once a club", func(t *testing.T) {
		err := s.InClub(ctx, club, func(tx *Tx) error {
			_, err := tx.AddMember(ctx, scheduler.Member{Name: "Ceri", Email: "CERI@example.org", Role: scheduler.Keeper})
			return err
		})
		if !errors.Is(err, ErrExists) {
			t.Errorf("got %v", err)
		}
	})
	t.Run("a person of two clubs", func(t *testing.T) {
		other, err := s.CreateClub(ctx, "Second")
		if err != nil {
			t.Fatal(err)
		}
		inClub(t, s, other, func(tx *Tx) error {
			_, err := tx.AddMember(ctx, scheduler.Member{Name: "C. Dun", Email: "Ceri@Example.org", Role: scheduler.Organiser})
			return err
		})
		got, err := s.Memberships(ctx, "CERI@EXAMPLE.ORG")
		if err != nil || len(got) != 2 || got[0].ClubID != club || got[1].ClubName != "Second" || got[0].PersonID != got[1].PersonID {
			t.Errorf("memberships %+v: %v", got, err)
		}
	})
	t.Run("the last organiser stays one", func(t *testing.T) {
		for name, do := range map[string]func(*Tx) error{
			"leaving":       func(tx *Tx) error { return tx.RemoveMember(ctx, c.Members[0].ID) },
			"stepping down": func(tx *Tx) error { k := c.Members[0]; k.Role = scheduler.Keeper; return tx.UpdateMember(ctx, k) },
		} {
			if err := s.InClub(ctx, club, do); !errors.Is(err, ErrLastOrganiser) {
				t.Errorf("%s: %v", name, err)
			}
		}
	})
	t.Run("who left leaves the openings", func(t *testing.T) {
		openedByBrida := uuid.NewString()
		inClub(t, s, club, func(tx *Tx) error {
			o := scheduler.Opening{ID: openedByBrida, On: today, Joint: scheduler.Firm, Frames: scheduler.NotTried, By: c.Members[0].ID}
			o.NameOpener(scheduler.Opener{Member: c.Members[1].ID})
			_, err := tx.RecordOpening(ctx, c.Apiaries[1].Hives[0].Boxes[0].ID, o, today)
			return err
		})
		inClub(t, s, club, func(tx *Tx) error { return tx.RemoveMember(ctx, c.Members[1].ID) })
		after := readClub(t, s, club)
		b := after.Apiaries[0].Hives[0].Boxes[0]
		if len(b.Openings) != 3 || b.Openings[0].By != 0 {
			t.Errorf("openings %+v", b.Openings)
		}
		// Who opened a box that another wrote down is then unknown, not the other.
		for b := range eachBox(after) {
			for _, o := range b.Openings {
				if o.ID == openedByBrida && (o.By != c.Members[0].ID || o.OpenedBy() != (scheduler.Opener{})) {
					t.Errorf("opened by %+v, written down by %d", o.OpenedBy(), o.By)
				}
			}
		}
		if _, err := s.PersonByEmail(ctx, "brida@example.org"); !errors.Is(err, ErrNotFound) {
			t.Errorf("a person of no club is still known: %v", err)
		}
	})
	t.Run("who left one of two clubs is still known", func(t *testing.T) {
		inClub(t, s, club, func(tx *Tx) error { return tx.RemoveMember(ctx, m.ID) })
		if _, err := s.PersonByEmail(ctx, "ceri@example.org"); err != nil {
			t.Error(err)
		}
	})
}

func TestSignIn(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	importSample(t, s)
	p, err := s.PersonByEmail(ctx, "ansel@EXAMPLE.org")
	if err != nil {
		t.Fatal(err)
	}
	token, err := s.NewSignIn(ctx, p.ID, time.Hour)
	if err != nil {
		t.Fatal(err)
	}
	for range 2 {
		if got, err := s.PeekSignIn(ctx, token); err != nil || got.ID != p.ID {
			t.Errorf("looked at: %+v, %v", got, err)
		}
	}
	if got, _, err := s.UseSignIn(ctx, token, Device{}); err != nil || got != p.ID {
		t.Errorf("used: %d, %v", got, err)
	}
	short, err := s.NewSignIn(ctx, p.ID, time.Microsecond)
	if err != nil {
		t.Fatal(err)
	}
	for name, test := range map[string]struct {
		token string
		want  error
	}{"used": {token, ErrTokenSpent}, "too old": {short, ErrTokenSpent}, "never given out": {"abc", ErrNotFound}} {
		if _, _, err := s.UseSignIn(ctx, test.token, Device{}); !errors.Is(err, test.want) {
			t.Errorf("use one %s: %v", name, err)
		}
		if _, err := s.PeekSignIn(ctx, test.token); !errors.Is(err, test.want) {
			t.Errorf("look at one %s: %v", name, err)
		}
	}
	if _, err := s.NewSignIn(ctx, 1<<40, time.Hour); !errors.Is(err, ErrNotFound) {
		t.Errorf("for nobody: %v", err)
	}

	if err := s.MarkRefused(ctx, p.ID, "Ansel@example.org", "550 gone"); err != nil {
		t.Fatal(err)
	}
	got, err := s.Person(ctx, p.ID)
	if err != nil || got.RefusedReply != "550 gone" || got.RefusedAt.IsZero() {
		t.Errorf("person %+v: %v", got, err)
	}
	if err := s.ClearRefused(ctx, p.ID); err != nil {
		t.Fatal(err)
	}
	if got, err := s.Person(ctx, p.ID); err != nil || !got.RefusedAt.IsZero() {
		t.Errorf("person %+v: %v", got, err)
	}
}

func TestPasskeys(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	importSample(t, s)
	p, err := s.PersonByEmail(ctx, "ansel@example.org")
	if err != nil {
		t.Fatal(err)
	}
	key := Passkey{PersonID: p.ID, Credential: []byte{1, 2, 3}, Data: []byte(`{"counter": 0}`), Label: "phone"}
	id, err := s.AddPasskey(ctx, key)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.AddPasskey(ctx, key); !errors.Is(err, ErrExists) {
		t.Errorf("the same again: %v", err)
	}
	if person, signIn, err := s.UsePasskey(ctx, id, []byte(`{"counter": 1}`), Device{}); err != nil || person != p.ID || signIn == 0 {
		t.Fatalf("signed %d in by %d: %v", person, signIn, err)
	}
	got, err := s.PasskeyByCredential(ctx, key.Credential)
	if err != nil || got.ID != id || got.UsedAt == nil || string(got.Data) != `{"counter": 1}` {
		t.Errorf("found %+v: %v", got, err)
	}
	if err := s.RemovePasskey(ctx, p.ID+1, id); !errors.Is(err, ErrNotFound) {
		t.Errorf("removed by another person: %v", err)
	}
	if err := s.RemovePasskey(ctx, p.ID, id); err != nil {
		t.Error(err)
	}
	if _, _, err := s.UsePasskey(ctx, id, key.Data, Device{}); !errors.Is(err, ErrNotFound) {
		t.Errorf("a removed one signs in: %v", err)
	}
	if keys, err := s.Passkeys(ctx, p.ID); err != nil || len(keys) != 0 {
		t.Errorf("left %+v: %v", keys, err)
	}
}

func TestForgetSessions(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	kept := s.Sessions()
	for token, life := range map[string]time.Duration{"over": -time.Second, "on": time.Hour, "ended": time.Hour} {
		if err := kept.Commit(token, []byte(token), time.Now().Add(life)); err != nil {
			t.Fatal(err)
		}
	}
	if err := kept.Commit("on", []byte("changed"), time.Now().Add(time.Hour)); err != nil {
		t.Fatal(err)
	}
	if err := kept.Delete("ended"); err != nil {
		t.Fatal(err)
	}
	for token, want := range map[string]string{"over": "", "on": "changed", "ended": "", "unknown": ""} {
		if data, found, err := kept.Find(token); string(data) != want || found != (want != "") || err != nil {
			t.Errorf("%s: %q, %t: %v", token, data, found, err)
		}
	}
	if err := s.ForgetSessions(ctx); err != nil {
		t.Fatal(err)
	}
	if left := rowsOf(t, s, `SELECT token FROM sessions`); len(left) != 1 || left[0] != "on" {
		t.Errorf("left %q", left)
	}
}

// TestTwoOrganisersStepDown in the same moment: the second waits for the first,
// and stays one.
func TestTwoOrganisersStepDown(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club := importSample(t, s)
	waits := someoneWaits(t, s)
	both := readClub(t, s, club).Members[:2]
	inClub(t, s, club, func(tx *Tx) error {
		both[1].Role = scheduler.Organiser
		return tx.UpdateMember(ctx, both[1])
	})
	stepDown := func(m scheduler.Member) func(*Tx) error {
		m.Role = scheduler.Keeper
		return func(tx *Tx) error { return tx.UpdateMember(ctx, m) }
	}
	second := make(chan error, 1)
	inClub(t, s, club, func(tx *Tx) error {
		if err := stepDown(both[0])(tx); err != nil {
			return err
		}
		if _, err := tx.FeedVersion(ctx); err != nil { // what was put off goes along
			return err
		}
		go func() { second <- s.InClub(ctx, club, stepDown(both[1])) }()
		testrun.Until(t, "the second waits", func() bool {
			if len(second) > 0 {
				t.Fatal("the second did not wait")
			}
			return waits()
		})
		return nil
	})
	if err := <-second; !errors.Is(err, ErrLastOrganiser) {
		t.Errorf("the second: %v", err)
	}
}
