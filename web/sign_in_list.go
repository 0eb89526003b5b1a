package web

import (
	"net/http"
	"strings"
	"time"

	"pryday/scheduler/text"
	"pryday/store"
)

// signInsView is where a person is signed in, by what they can sign in, and how
// to end it.
type signInsView struct {
	SignIns  []signInLine
	Keys     []keyLine
	Passkeys bool // can be made here
	Problem  text.Text
	Ends     store.Everywhere // as it was chosen
}

type signInLine struct {
	ID     int64
	Device string
	Way    text.Text
	Began  string
	Seen   string
	From   string
	Here   bool
}

type keyLine struct {
	ID     int64
	Device string
	Made   string
	Used   string // empty for never
}

// wayTexts say how somebody signed in.
var wayTexts = map[store.SignInWay]string{
	store.ByMail: "page.sign-ins.way.mail", store.ByPasskey: "page.sign-ins.way.passkey",
	store.BySetUp: "page.sign-ins.way.set-up", store.Before: "page.sign-ins.way.before",
}

func (s *Server) signIns(w http.ResponseWriter, r *http.Request, who *visitor) error {
	return s.showSignIns(w, r, who, http.StatusOK, signInsView{})
}

func (s *Server) showSignIns(w http.ResponseWriter, r *http.Request, who *visitor, status int, v signInsView) error {
	club, m, err := s.ownRecord(r, who)
	if err != nil {
		return err
	}
	say := speaker(club, m.ID)
	signIns, err := s.cfg.Store.SignIns(r.Context(), who.PersonID, sessionDays*24*time.Hour)
	if err != nil {
		return err
	}
	for _, i := range signIns {
		v.SignIns = append(v.SignIns, signInLine{
			ID: i.ID, Device: say.Tell(deviceText(i.Browser, i.System)), Way: text.New(wayTexts[i.Way]),
			Began: stamp(say, i.BeganAt), Seen: stampDay(say, i.SeenAt), From: i.Source, Here: i.ID == who.signIn,
		})
	}
	keys, err := s.cfg.Store.Passkeys(r.Context(), who.PersonID)
	if err != nil {
		return err
	}
	for i := range keys {
		v.Keys = append(v.Keys, newKeyLine(say, &keys[i]))
	}
	v.Passkeys = s.passkeys != nil
	return s.showTo(w, r, who, club, status, "sign-ins", say.Say("page.sign-ins.title"), v)
}

func newKeyLine(say *text.Speaker, k *store.Passkey) keyLine {
	browser, system, _ := strings.Cut(k.Label, "/")
	line := keyLine{ID: k.ID, Device: say.Tell(deviceText(browser, system)), Made: stampDay(say, k.CreatedAt)}
	if k.UsedAt != nil {
		line.Used = stampDay(say, *k.UsedAt)
	}
	return line
}

// endSignIn ends one of the person's own sign-ins.
func (s *Server) endSignIn(w http.ResponseWriter, r *http.Request, who *visitor) error {
	id := parseID(r.PathValue("id"))
	if id == who.signIn {
		return s.signOut(w, r)
	}
	f, err := readForm(w, r)
	if err != nil {
		return err
	}
	if !f.has("sure") {
		return s.askSelf(w, r, who, "page.sign-ins.title", f, &question{text.New("page.question.end-sign-in")}, "/sign-ins")
	}
	if err := s.cfg.Store.EndSignIn(r.Context(), who.PersonID, id); err != nil {
		return err
	}
	return s.done(w, r, "/sign-ins", notice{Text: s.reader(r).Say("page.sign-ins.ended")})
}

// signOutEverywhere ends whatever lets somebody act as the person. Whoever has
// passkeys says whether those end too: one comes back with them.
func (s *Server) signOutEverywhere(w http.ResponseWriter, r *http.Request, who *visitor) error {
	f, err := readForm(w, r)
	if err != nil {
		return err
	}
	ends := store.Everywhere{Passkeys: f.values.Get("passkeys") == "end", Calendars: f.has("calendars")}
	if !ends.Passkeys && f.values.Get("passkeys") != "keep" {
		keys, err := s.cfg.Store.Passkeys(r.Context(), who.PersonID)
		if err != nil {
			return err
		}
		if len(keys) > 0 {
			return s.showSignIns(w, r, who, http.StatusUnprocessableEntity, signInsView{Problem: text.New("page.sign-ins.choose"), Ends: ends})
		}
	}
	if !f.has("sure") {
		return s.askSelf(w, r, who, "page.sign-ins.title", f, &question{text.New("page.question.sign-out-everywhere")}, "/sign-ins")
	}
	if err := s.cfg.Store.SignOutEverywhere(r.Context(), who.PersonID, ends); err != nil {
		return err
	}
	return s.signOut(w, r)
}
