package web

import (
	"context"
	"crypto/hmac"
	"crypto/sha256"
	"crypto/subtle"
	"encoding/base32"
	"net/http"
	"slices"
	"strings"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
)

// setupView is the one form of an installation without an organiser.
type setupView struct {
	Club, Name, Email string
	Units             text.Units
	Apiary            apiaryFields
	Form              hivesForm
	Later             bool // the apiary comes later
	Kinds             []choiceName
	Today             string
	Problems          map[string]text.Text
}

// SetupAddress is the address at which the first organiser begins, the same on
// each start until there is one; empty from then on.
func (s *Server) SetupAddress(ctx context.Context) (string, error) {
	needed, err := s.needsOrganiser(ctx)
	if err != nil || !needed {
		return "", err
	}
	keys, err := s.setupKeys(ctx)
	if err != nil {
		return "", err
	}
	return s.cfg.PublicURL.JoinPath("setup", setupToken(keys.Signing())).String(), nil
}

// setupKeys are the installation's, so that every daemon knows the token and
// none keeps it.
func (s *Server) setupKeys(ctx context.Context) (*store.Keys, error) {
	return s.cfg.Store.Keys(ctx, "set-up")
}

func setupToken(key []byte) string {
	mac := hmac.New(sha256.New, key)
	mac.Write([]byte("first organiser"))
	return strings.ToLower(base32.StdEncoding.WithPadding(base32.NoPadding).EncodeToString(mac.Sum(nil)[:20]))
}

// needsOrganiser reports whether no club has an organiser yet.
func (s *Server) needsOrganiser(ctx context.Context) (bool, error) {
	ids, err := s.cfg.Store.ClubIDs(ctx)
	if err != nil {
		return false, err
	}
	for _, id := range ids {
		found := false
		err := s.cfg.Store.InSnapshot(ctx, id, func(tx *store.Tx) error {
			members, err := tx.Members(ctx)
			for _, m := range members {
				found = found || m.Role == scheduler.Organiser
			}
			return err
		})
		if err != nil || found {
			return false, err
		}
	}
	return true, nil
}

// maySetUp returns nil for the right token while there is no organiser. Once there
// is one, no token is right, and whoever mistyped or kept one is told where to go.
func (s *Server) maySetUp(r *http.Request) error {
	needed, err := s.needsOrganiser(r.Context())
	if err != nil {
		return err
	}
	if !needed {
		return newProblem(http.StatusGone, "problem.set-up-already")
	}
	keys, err := s.setupKeys(r.Context())
	if err != nil {
		return err
	}
	if !slices.ContainsFunc(keys.Valid(), func(key []byte) bool {
		return subtle.ConstantTimeCompare([]byte(setupToken(key)), []byte(r.PathValue("token"))) == 1
	}) {
		return newProblem(http.StatusNotFound, "problem.nothing-here")
	}
	return nil
}

func (s *Server) askSetup(w http.ResponseWriter, r *http.Request) error {
	if err := s.maySetUp(r); err != nil {
		return err
	}
	v := setupView{Units: text.UnitsForBrowser(r.Header.Get("Accept-Language")), Apiary: newApiaryFields(&scheduler.Apiary{}, stranger(r)), Form: hivesForm{Hives: "2", Boxes: "2"}}
	v.Apiary.Latitude, v.Apiary.Longitude, v.Apiary.Elevation = "", "", ""
	v.Apiary.Place.Near = nearBrowser(r, &scheduler.Member{}, "")
	return s.showSetup(w, r, http.StatusOK, v)
}

func (s *Server) showSetup(w http.ResponseWriter, r *http.Request, status int, v setupView) error {
	p := apiaryRecords{club: &scheduler.Club{}, say: stranger(r)}
	v.Kinds, v.Today = p.kinds(), p.club.Today(s.now()).String()
	return s.show(w, r, status, "setup", view{say: p.say, Title: p.say.Say("page.setup.title"), Page: v})
}

// setUp makes the club, its first organiser and, unless that waits, its first
// apiary with hives, and signs the organiser in.
func (s *Server) setUp(w http.ResponseWriter, r *http.Request) error {
	s.settingUp.Lock() // a form sent twice makes one club
	defer s.settingUp.Unlock()
	if err := s.maySetUp(r); err != nil {
		return err
	}
	f, err := readForm(w, r)
	if err != nil {
		return err
	}
	clubName := f.name("club", 80)
	member := scheduler.Member{Name: f.name("your_name", 80), Email: address(f, "email"), Role: scheduler.Organiser, Units: text.Millimetres, Language: chosen(stranger(r))}
	if f.values.Get("units") == string(text.Inches) {
		member.Units = text.Inches
	}
	var apiary scheduler.Apiary
	var hives hivesForm
	var place placeChoice
	later, ask := f.has("later"), false
	if !later {
		if place, ask, err = readPlace(f, nearBrowser(r, &scheduler.Member{}, ""), stranger(r)); err != nil {
			return err
		}
	}
	if !later && !ask {
		readApiary(f, &apiary)
		today := apiary.Today(s.now())
		hives = readHives(f, &scheduler.Club{}, today)
		apiary.Hives = hives.draw(&apiary, stranger(r), today)
	}
	if ask || !f.ok() {
		if ask { // the form was not sent off yet: only the place counts
			f.only("place")
			hives = echoHives(f)
		}
		v := setupView{
			Club: f.values.Get("club"), Name: f.values.Get("your_name"), Email: f.values.Get("email"), Units: member.Units,
			Apiary: f.echoApiary(&apiary, stranger(r)), Form: hives, Later: later, Problems: f.Problems,
		}
		v.Apiary.Place = place
		v.Apiary.Place.Map = spotFor(f, nil, false)
		return s.showSetup(w, r, f.status(), v)
	}
	person, first, err := s.foundClub(r.Context(), clubName, member, apiary, later)
	if err != nil {
		return err
	}
	signIn, err := s.cfg.Store.BeginSignIn(r.Context(), person, store.BySetUp, s.device(r))
	if err != nil {
		return err
	}
	if err := s.begin(w, r, person, signIn); err != nil {
		return err
	}
	say := text.In(member.Language, member.Units)
	said := notice{Text: say.Say("page.setup.said", clubName)}
	if first != nil {
		said.Lines = append(said.Lines, say.Say("page.setup.first-visit", text.Full(first.On)))
	}
	if later {
		return s.done(w, r, "/", said)
	}
	said.Lines = append(said.Lines, say.Say("page.setup.next"))
	return s.done(w, r, "/links", said)
}

// foundClub makes the club whole or not at all, and returns its first visit.
func (s *Server) foundClub(ctx context.Context, name string, member scheduler.Member, apiary scheduler.Apiary, later bool) (person int64, first *scheduler.Visit, err error) {
	_, err = s.cfg.Store.FoundClub(ctx, name, func(tx *store.Tx) error {
		first = nil
		id, err := tx.AddMember(ctx, member)
		if err != nil {
			return err
		}
		m, err := tx.Member(ctx, id)
		if err != nil {
			return err
		}
		person = m.PersonID
		if err := tx.Audit(ctx, store.AuditEntry{MemberID: id, Action: "set up", Subject: name}); err != nil || later {
			return err
		}
		a := apiary
		a.ID, a.Keepers = 1, []int64{id}
		if _, err := tx.Import(ctx, &scheduler.Club{Members: []scheduler.Member{*m}, Apiaries: []scheduler.Apiary{a}}); err != nil {
			return err
		}
		made, err := tx.ReplanAll(ctx, a.Today(s.now()))
		if err == nil && len(made.Plan.Visits) > 0 {
			first = &made.Plan.Visits[0]
		}
		return err
	})
	return person, first, err
}
