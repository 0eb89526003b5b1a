package web

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net"
	"net/http"
	"net/url"
	"strconv"
	"time"

	"github.com/go-webauthn/webauthn/protocol"
	"github.com/go-webauthn/webauthn/webauthn"

	"pryday/scheduler/text"
	"pryday/store"
)

// keyCeremony is where the session keeps what a passkey must answer.
const keyCeremony = "ceremony"

// ceremonyMinutes is how long a stranger's device may take to answer.
const ceremonyMinutes = 10

// maxPasskeys is how many keys one person may have.
const maxPasskeys = 20

// newPasskeys prepares for passkeys; nil where browsers do not offer them: at
// an address without a name, or without TLS away from this machine.
func newPasskeys(public *url.URL) (*webauthn.WebAuthn, error) {
	host := public.Hostname()
	if net.ParseIP(host) != nil || public.Scheme != "https" && host != "localhost" {
		return nil, nil
	}
	w, err := webauthn.New(&webauthn.Config{
		RPID: host, RPDisplayName: "Pryday", RPOrigins: []string{public.Scheme + "://" + public.Host},
		AuthenticatorSelection: protocol.AuthenticatorSelection{
			ResidentKey: protocol.ResidentKeyRequirementRequired, UserVerification: protocol.VerificationPreferred,
		},
	})
	if err != nil {
		return nil, fmt.Errorf("prepare passkeys for %s: %w", public, err)
	}
	return w, nil
}

// keyHolder is a person as the passkey library sees one.
type keyHolder struct {
	person *store.Person
	keys   []store.Passkey
}

// WebAuthnID says whose key it is, when a key signs in without an address.
func (k *keyHolder) WebAuthnID() []byte { return []byte(strconv.FormatInt(k.person.ID, 10)) }

// WebAuthnName is what the device lists the key under.
func (k *keyHolder) WebAuthnName() string { return k.person.Email }

// WebAuthnDisplayName is the same.
func (k *keyHolder) WebAuthnDisplayName() string { return k.person.Email }

// WebAuthnCredentials are the keys that the person has already.
func (k *keyHolder) WebAuthnCredentials() []webauthn.Credential {
	var out []webauthn.Credential
	for i := range k.keys {
		var c webauthn.Credential
		if json.Unmarshal(k.keys[i].Data, &c) == nil {
			out = append(out, c)
		}
	}
	return out
}

func (s *Server) keyHolder(ctx context.Context, person *store.Person) (*keyHolder, error) {
	keys, err := s.cfg.Store.Passkeys(ctx, person.ID)
	return &keyHolder{person, keys}, err
}

var errNoPasskeys = newProblem(http.StatusNotFound, "problem.no-passkeys")

// beginPasskey tells a signed-in person's device what key to make.
func (s *Server) beginPasskey(w http.ResponseWriter, r *http.Request, who *visitor) error {
	if s.passkeys == nil {
		return errNoPasskeys
	}
	holder, err := s.keyHolder(r.Context(), who.person)
	if err != nil {
		return err
	}
	if len(holder.keys) >= maxPasskeys {
		return newProblem(http.StatusConflict, "problem.too-many-passkeys")
	}
	options, ceremony, err := s.passkeys.BeginRegistration(holder, webauthn.WithExclusions(webauthn.Credentials(holder.WebAuthnCredentials()).CredentialDescriptors()))
	if err != nil {
		return fmt.Errorf("begin a passkey of person %d: %w", who.PersonID, err)
	}
	return s.beginCeremony(w, r, ceremony, options)
}

// addPasskey keeps the key that the device made.
func (s *Server) addPasskey(w http.ResponseWriter, r *http.Request, who *visitor) error {
	ceremony, err := s.ceremony(w, r)
	if err != nil {
		return err
	}
	holder, err := s.keyHolder(r.Context(), who.person)
	if err != nil {
		return err
	}
	key, err := s.passkeys.FinishRegistration(holder, *ceremony, r)
	if err != nil {
		return errPasskey(err)
	}
	data, err := json.Marshal(key)
	if err != nil {
		return err
	}
	_, err = s.cfg.Store.AddPasskey(r.Context(), store.Passkey{
		PersonID: who.PersonID, Credential: key.ID, Data: data, Label: deviceNames(s.device(r)),
	})
	if err != nil {
		return err
	}
	if err := s.leave(r, notice{Text: s.reader(r).Say("page.sign-ins.passkey-made")}); err != nil {
		return err
	}
	return answerJSON(w, map[string]string{"to": "/sign-ins"})
}

// removePasskey forgets one of a person's keys.
func (s *Server) removePasskey(w http.ResponseWriter, r *http.Request, who *visitor) error {
	f, err := readForm(w, r)
	if err != nil {
		return err
	}
	if !f.has("sure") {
		return s.askSelf(w, r, who, "page.sign-ins.title", f, &question{text.New("page.question.remove-passkey")}, "/sign-ins")
	}
	if err := s.cfg.Store.RemovePasskey(r.Context(), who.PersonID, f.id("passkey")); err != nil {
		return err
	}
	return s.done(w, r, "/sign-ins", notice{Text: s.reader(r).Say("page.sign-ins.passkey-gone")})
}

// beginPasskeySignIn asks a device for whichever key it has for this service.
func (s *Server) beginPasskeySignIn(w http.ResponseWriter, r *http.Request) error {
	if s.passkeys == nil {
		return errNoPasskeys
	}
	options, ceremony, err := s.passkeys.BeginDiscoverableLogin()
	if err != nil {
		return fmt.Errorf("begin to sign in with a passkey: %w", err)
	}
	return s.beginCeremony(w, r, ceremony, options)
}

// passkeySignIn signs in whoever's key answered.
func (s *Server) passkeySignIn(w http.ResponseWriter, r *http.Request) error {
	ceremony, err := s.ceremony(w, r)
	if err != nil {
		return err
	}
	var stored *store.Passkey
	find := func(id, _ []byte) (webauthn.User, error) {
		var err error
		if stored, err = s.cfg.Store.PasskeyByCredential(r.Context(), id); err != nil {
			return nil, err
		}
		person, err := s.cfg.Store.Person(r.Context(), stored.PersonID)
		if err != nil {
			return nil, err
		}
		return s.keyHolder(r.Context(), person)
	}
	_, key, err := s.passkeys.FinishPasskeyLogin(find, *ceremony, r)
	if err != nil {
		return errPasskey(err)
	}
	data, err := json.Marshal(key)
	if err != nil {
		return err
	}
	person, signIn, err := s.cfg.Store.UsePasskey(r.Context(), stored.ID, data, s.device(r))
	if errors.Is(err, store.ErrNotFound) { // removed meanwhile
		err = errPasskey(err)
	}
	if err != nil {
		return err
	}
	if err := s.begin(w, r, person, signIn); err != nil {
		return err
	}
	goal, err := s.takeGoal(w, r)
	if err != nil {
		return err
	}
	return answerJSON(w, map[string]string{"to": goal})
}

// beginCeremony remembers what a device is asked, and asks it.
func (s *Server) beginCeremony(w http.ResponseWriter, r *http.Request, ceremony *webauthn.SessionData, options any) error {
	b, err := json.Marshal(ceremony)
	if err != nil {
		return err
	}
	if s.sessions.GetInt64(r.Context(), keyPerson) == 0 { // a stranger's session is for this question alone
		s.sessions.SetDeadline(r.Context(), time.Now().Add(ceremonyMinutes*time.Minute).UTC())
	}
	s.sessions.Put(r.Context(), keyCeremony, string(b))
	return answerJSON(w, options)
}

// ceremony takes what a device was asked: an answer counts once.
func (s *Server) ceremony(w http.ResponseWriter, r *http.Request) (*webauthn.SessionData, error) {
	if s.passkeys == nil {
		return nil, errNoPasskeys
	}
	r.Body = http.MaxBytesReader(w, r.Body, maxForm)
	var out webauthn.SessionData
	text := s.sessions.PopString(r.Context(), keyCeremony)
	if text == "" || json.Unmarshal([]byte(text), &out) != nil {
		return nil, errPasskey(errors.New("nothing was asked"))
	}
	return &out, nil
}

// errPasskey says that a key did not fit, and not why: that helps attackers
// alone.
func errPasskey(error) error {
	return newProblem(http.StatusForbidden, "problem.passkey-refused")
}

func answerJSON(w http.ResponseWriter, v any) error {
	b, err := json.Marshal(v)
	if err != nil {
		return err
	}
	w.Header().Set("Content-Type", "application/json")
	w.Header().Set("Cache-Control", "private, no-store")
	_, err = w.Write(b)
	return err
}
