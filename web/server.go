// Package web shows a club its records: pages for people, feeds for their
// calendars, and probes for whoever runs the service.
package web

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"log/slog"
	"net/http"
	"net/url"
	"sync"
	"sync/atomic"
	"time"

	"github.com/alexedwards/scs/v2"
	"github.com/go-webauthn/webauthn/webauthn"
	"github.com/klauspost/compress/gzhttp"

	"pryday/notify"
	"pryday/store"
	"pryday/store/backup"
	"pryday/web/feed"
	"pryday/web/limit"
)

// Config is what the pages need to know.
type Config struct {
	Store     *store.Store
	Clock     notify.Clock
	PublicURL *url.URL // where people reach the service, without a path
	Logger    *slog.Logger
	Demo      bool // say on every page that the clock is set
	Notify    *notify.Service

	Build         Build
	FeedPerMinute int                 // answers to one calendar address, after a burst of as many; 0 means 60
	Proxies       limit.Proxies       // before this service, which say whom they ask for
	Backups       func() backup.State // of the daily backups; nil where none are made
	StateDir      string              // where the service keeps its records; empty when nothing is known of their disk
}

// Server answers every request.
type Server struct {
	cfg      Config
	pages    *pages
	assets   assets
	sessions *scs.SessionManager
	passkeys *webauthn.WebAuthn // nil where browsers offer none
	feeds    *feed.Feeds
	metrics  *metrics

	limits    limits
	imports   imports
	draining  atomic.Bool
	outages   outages
	freeDisk  func(folder string) (uint64, error)
	settingUp sync.Mutex       // one first organiser at a time
	asked     chan signInAsked // for a mail that signs in

	stop       context.CancelFunc
	background sync.WaitGroup // what stop ends
	handler    http.Handler
}

// New prepares the pages and the sessions. Close it when done.
func New(cfg Config) (*Server, error) {
	s := &Server{cfg: cfg, assets: loadAssets(), limits: newLimits(), imports: newImports(), freeDisk: backup.FreeDisk, asked: make(chan signInAsked, mostAsked)}
	var err error
	if s.pages, err = loadPages(); err != nil {
		return nil, err
	}
	if s.passkeys, err = newPasskeys(cfg.PublicURL); err != nil {
		return nil, err
	}
	s.sessions = newSessions(cfg.Store.Sessions(), cfg.PublicURL.Scheme == "https")
	guard := http.NewCrossOriginProtection()
	if err := guard.AddTrustedOrigin(cfg.PublicURL.Scheme + "://" + cfg.PublicURL.Host); err != nil {
		return nil, fmt.Errorf("public address %s: %w", cfg.PublicURL, err)
	}
	// Mail programs and their servers unsubscribe from anywhere (RFC 8058).
	guard.AddInsecureBypassPattern("POST /unsubscribe/{token}")
	s.metrics = newMetrics(s)
	var signer *notify.Signer
	if cfg.Notify != nil {
		signer = cfg.Notify.Signer()
	}
	s.feeds = feed.New(feed.Config{
		Signer: signer, Store: cfg.Store, Clock: cfg.Clock, PublicURL: cfg.PublicURL, Logger: cfg.Logger, PerMinute: cfg.FeedPerMinute, Proxies: cfg.Proxies,
		Took: func(d time.Duration) { s.metrics.feeds.Observe(d.Seconds()) },
	})
	// Calendars are asked for far more often than all else, by programs that
	// need none of what surrounds the pages.
	outer := http.NewServeMux()
	s.feeds.Routes(outer)
	outer.Handle("/", s.logged(secured(guard.Handler(s.routes()))))
	s.handler = s.survived(outer)
	running, stop := context.WithCancel(context.Background())
	s.stop = stop
	s.background.Go(func() { s.forgetSessions(running) })
	s.background.Go(func() { s.mailSignIns(running) })
	return s, nil
}

// Close ends the clean-up of old sessions, owes what mail was asked for, and
// notes who read calendars.
func (s *Server) Close() {
	s.stop()
	s.background.Wait()
	s.feeds.Close()
}

// Drain has /readyz say that the service stops. Everything is answered as before.
func (s *Server) Drain() { s.draining.Store(true) }

// ServeHTTP answers one request.
func (s *Server) ServeHTTP(w http.ResponseWriter, r *http.Request) { s.handler.ServeHTTP(w, r) }

// routes lists every address of the service. Only pages carry a session;
// feeds and probes never set a cookie.
func (s *Server) routes() http.Handler {
	mux := http.NewServeMux()
	page := func(pattern string, h func(http.ResponseWriter, *http.Request) error) {
		mux.Handle(pattern, s.withSession(s.answer(h)))
	}
	member := func(pattern string, h func(http.ResponseWriter, *http.Request, *visitor) error) {
		page(pattern, s.signedIn(h))
	}

	lead := func(pattern string, h func(http.ResponseWriter, *http.Request, *visitor) error) {
		page(pattern, s.organiser(h))
	}

	page("GET /sign-in", s.askSignIn)
	page("POST /sign-in", s.limited(s.limits.signIns, s.mailSignIn))
	page("GET /sign-in/{token}", s.limited(s.limits.signIns, s.confirmSignIn))
	page("POST /sign-in/{token}", s.limited(s.limits.signIns, s.signIn))
	page("POST /sign-in/passkey/ask", s.limited(s.limits.signIns, s.beginPasskeySignIn))
	page("POST /sign-in/passkey", s.limited(s.limits.signIns, s.passkeySignIn))
	page("POST /sign-out", s.signOut)
	member("POST /sign-out-everywhere", s.signOutEverywhere)
	member("GET /sign-ins", s.signIns)
	member("POST /sign-ins/{id}/end", s.endSignIn)

	page("GET /guide", s.guide)
	page("GET /guide/{page}", s.guide)

	page("GET /act/{token}", s.askAct)
	page("POST /act/{token}", s.act)
	page("GET /act/{token}/sheet", s.printLook)
	page("GET /new-address/{token}", s.askAddressLink(notify.NewAddressDeed))
	page("POST /new-address/{token}", s.confirmAddress)
	page("GET /old-address/{token}", s.askAddressLink(notify.OldAddressDeed))
	page("POST /old-address/{token}", s.undoAddress)
	page("GET /unsubscribe/{token}", s.askUnsubscribe)
	page("POST /unsubscribe/{token}", s.unsubscribe)

	member("GET /offline", s.offlineList)
	page("GET /no-signal", s.noSignal)
	member("GET /{$}", s.home)
	member("GET /month", s.month)
	member("GET /year", s.year)
	member("GET /day", s.day)
	member("GET /visit/{uid}", s.visit)
	member("POST /visit/{uid}", s.saveTicks)
	member("GET /visit/{uid}/sheet", s.printVisit)
	member("POST /visit/{uid}/{deed}", s.changeVisit)
	member("GET /visit/{uid}/desk", s.showDesk(s.visitDesk))
	member("POST /visit/{uid}/desk", s.saveDesk(s.visitDesk))
	member("GET /visit/{uid}/record", s.recordVisit)
	member("POST /visit/{uid}/record", s.saveVisitRecord)
	member("GET /map", s.apiariesMap)
	member("GET /map/near.svg", s.spotForMember)
	page("GET /places/near.svg", s.limited(s.limits.places, s.spotForStranger))
	page("GET /places", s.limited(s.limits.places, s.findPlaces))
	page("GET /places/source", s.placeSource)
	member("GET /apiaries", s.apiaries)
	lead("GET /apiaries/new", s.newApiary)
	lead("POST /apiaries", s.addApiary)
	member("GET /apiary/{id}", s.apiary)
	member("GET /apiary/{id}/desk", s.showDesk(s.apiaryDesk))
	member("POST /apiary/{id}/desk", s.saveDesk(s.apiaryDesk))
	member("POST /apiary/{id}/{deed}", s.changeApiary)
	member("GET /find", s.find)
	member("GET /box/{id}", s.box)
	member("GET /hive/{id}", s.hive)
	member("GET /hive/{id}/change", s.hiveSettings)
	member("POST /hive/{id}/{deed}", s.changeHive)
	member("GET /hive/{id}/colony", s.askColony)
	member("GET /hive/{id}/colony/{what}", s.askColony)
	member("POST /hive/{id}/colony/{what}", s.saveColony)
	member("GET /hive/{id}/record", s.recordHive)
	member("POST /hive/{id}/record", s.saveHiveRecord)
	member("POST /hive/{id}/take-back", s.takeBack)

	member("GET /photo/{id}", s.photo)
	member("GET /photo/{id}/large", s.picture(false))
	member("GET /photo/{id}/small", s.picture(true))
	member("POST /photo/{id}/remove", s.removePhoto(false))
	member("POST /photo/{id}/back", s.removePhoto(true))
	member("GET /repairs", s.repairs)
	member("GET /preferences", s.preferences)
	member("POST /preferences", s.savePreferences)
	member("POST /preferences/away", s.changeAway)
	member("GET /invitations", s.invitations)
	member("POST /invitations/{club}/{deed}", s.answerInvitation)
	member("GET /preferences/data", s.personData)
	member("GET /preferences/erase", s.askErase)
	member("POST /preferences/erase", s.erase)
	member("GET /preferences/address", s.ownAddress)
	member("POST /preferences/address", s.ownAddress)
	member("POST /passkeys/ask", s.beginPasskey)
	member("POST /passkeys", s.addPasskey)
	member("POST /passkeys/remove", s.removePasskey)
	s.clubRoutes(page, member)
	page("/", s.nothingHere)
	mux.Handle("GET /assets/{file}", gzhttp.GzipHandler(http.HandlerFunc(s.assets.serve))) // pages hold secrets beside what others can write, and are not packed (BREACH)
	mux.HandleFunc("GET /worker.js", s.assets.serveWorker)
	mux.HandleFunc("GET /app.webmanifest", s.assets.serveManifest)
	mux.HandleFunc("GET /healthz", func(w http.ResponseWriter, _ *http.Request) { fmt.Fprintln(w, "alive") })
	mux.HandleFunc("GET /readyz", s.ready)
	mux.Handle("GET /metrics", s.metrics.handler)
	return mux
}

func (s *Server) ready(w http.ResponseWriter, r *http.Request) {
	if s.draining.Load() {
		http.Error(w, "the service stops", http.StatusServiceUnavailable)
		return
	}
	ctx, cancel := context.WithTimeout(r.Context(), 2*time.Second)
	defer cancel()
	if err := s.cfg.Store.Ready(ctx); err != nil {
		s.cfg.Logger.Warn("not ready", "err", err)
		w.Header().Set("Retry-After", retryAfter)
		http.Error(w, "the database does not answer", http.StatusServiceUnavailable)
		return
	}
	if free, low := s.diskLeft(); low {
		http.Error(w, fmt.Sprintf("the disk is nearly full: %d MB left, %d MB are needed", free>>20, leastDisk>>20), http.StatusServiceUnavailable)
		return
	}
	fmt.Fprintln(w, "ready")
}

// now is the instant that decides which day it is.
func (s *Server) now() time.Time { return s.cfg.Clock.Civil() }

// secured sets the headers that every answer carries.
func secured(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", "default-src 'none'; manifest-src 'self'; worker-src 'self'; style-src 'self'; img-src 'self' data:; script-src 'self'; connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'")
		h.Set("Referrer-Policy", "same-origin")
		h.Set("X-Content-Type-Options", "nosniff")
		next.ServeHTTP(w, r)
	})
}

// logged notes and measures each request, never with what makes its address a
// secret.
func (s *Server) logged(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		began := time.Now()
		r = r.WithContext(store.WithOrigin(r.Context(), store.Origin{Source: s.cfg.Proxies.Source(r)}))
		sw := &statusWriter{ResponseWriter: w, status: http.StatusOK}
		defer func() {
			s.survive(sw, r, recover())
			took := time.Since(began)
			s.metrics.answered(r.Pattern, sw.status, took)
			s.cfg.Logger.Debug("answered", "method", r.Method, "route", r.Pattern, "status", sw.status, "took", took)
		}()
		next.ServeHTTP(sw, r)
	})
}

type statusWriter struct {
	http.ResponseWriter
	status int
}

func (w *statusWriter) WriteHeader(status int) {
	w.status = status
	w.ResponseWriter.WriteHeader(status)
}

func (w *statusWriter) Unwrap() http.ResponseWriter { return w.ResponseWriter }

// fingerprint names bytes by their content.
func fingerprint(b []byte) string {
	sum := sha256.Sum256(b)
	return hex.EncodeToString(sum[:8])
}
