package notify

import (
	"net/url"
	"strconv"
	"strings"
	"time"

	"pryday/notify/mail"
	"pryday/scheduler"
)

// The paths that mails point to. The first four carry a token of Signer and
// ask before they do anything; the pages behind the others ask to sign in.
const (
	NewAddressPath  = "/new-address/" // then a token; confirms it
	OldAddressPath  = "/old-address/" // then a token; brings it back
	ActionPath      = "/act/"         // then a token: look, record, opened, rained-off, cant-go
	UnsubscribePath = "/unsubscribe/" // then a token; a POST unsubscribes at once (RFC 8058)
	SignInPath      = "/sign-in/"     // then a token of store.NewSignIn
	VisitPath       = "/visit/"       // then the visit's UID, ?club=ID
	ApiaryPath      = "/apiary/"      // then the apiary's id, ?club=ID
	PreferencesPath = "/preferences"  // ?club=ID
	CalendarsPath   = "/links"        // ?club=ID; the member's calendar addresses
)

const (
	actionLife      = 90 * 24 * time.Hour  // from when the mail was owed, on the real clock
	unsubscribeLife = 400 * 24 * time.Hour // mail lies about for long
)

// addresses makes the addresses in one member's mail.
type addresses struct {
	public *url.URL
	sign   *Signer
}

func (a addresses) to(path string, club int64) string {
	u := *a.public
	u.Path = strings.TrimSuffix(u.Path, "/") + path
	if club != 0 {
		u.RawQuery = "club=" + strconv.FormatInt(club, 10)
	}
	return u.String()
}

// forMember returns the addresses in a mail that was owed at a moment: an
// attempt made later writes the same ones.
func (a addresses) forMember(c *scheduler.Club, m *scheduler.Member, visits map[string]*scheduler.Visit, owedAt time.Time) mail.Links {
	act := func(do Deed, v *scheduler.Visit) string { return a.answer(do, c.ID, m, v, owedAt) }
	return mail.Links{
		Visit: func(uid string) mail.VisitLinks {
			v := visits[uid]
			if v != nil && v.Status == scheduler.Done {
				return mail.VisitLinks{
					SignedInPage: a.to(VisitPath+url.PathEscape(uid), c.ID),
					Record:       act(RecordDeed, v), AlsoOpened: act(AlsoOpenedDeed, v), NotOpened: act(NotOpenedDeed, v),
				}
			}
			if v == nil || !v.Status.Open() && v.Status != scheduler.Unanswered {
				return mail.VisitLinks{}
			}
			return mail.VisitLinks{
				Page:          act(LookDeed, v),
				SignedInPage:  a.to(VisitPath+url.PathEscape(uid), c.ID),
				Record:        act(RecordDeed, v),
				AlreadyOpened: act(OpenedDeed, v),
				RainedOff:     act(RainedOffDeed, v),
				CantGo:        act(CantGoDeed, v),
				Take:          act(GoDeed, v),
			}
		},
		Apiary:      func(id int64) string { return a.to(ApiaryPath+strconv.FormatInt(id, 10), c.ID) },
		Preferences: a.to(PreferencesPath, c.ID),
		Calendars:   a.to(CalendarsPath, c.ID),
		Unsubscribe: a.act(UnsubscribePath, Action{Do: UnsubscribeDeed, Club: c.ID, Member: m.ID, Expires: owedAt.Add(unsubscribeLife)}),
	}
}

// answer is where one member does something about a visit without signing in.
func (a addresses) answer(do Deed, club int64, m *scheduler.Member, v *scheduler.Visit, owedAt time.Time) string {
	return a.act(ActionPath, Action{
		Do: do, Club: club, Member: m.ID, VisitUID: v.UID, Sequence: v.Sequence, On: v.On, Expires: owedAt.Add(actionLife), Ended: m.ButtonsEnded,
	})
}

func (a addresses) act(path string, action Action) string { return a.to(path+a.sign.Sign(action), 0) }

// CalendarAction lets a member see a visit from an entry of an own calendar, as
// long after its day as from a mail. It says the same for as long as the visit
// stays on its day; days in tokens are real ones, so ahead is how far the day
// of visits is from that.
func CalendarAction(club int64, m *scheduler.Member, link int64, v *scheduler.Visit, ahead time.Duration) Action {
	return Action{Do: LookDeed, Club: club, Member: m.ID, Link: link, VisitUID: v.UID, Expires: v.On.At(0, time.UTC).Add(actionLife - ahead), Ended: m.ButtonsEnded}
}

// signIn is the address that signs a person in with a token of the store.
func (a addresses) signIn(token string) string { return a.to(SignInPath+token, 0) }
