package web

import (
	"context"
	"net/url"
	"slices"
	"strings"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
)

// What the field opened_by says instead of a member's id; empty is whoever writes
// it down.
const (
	openerNamed   = "name" // in the field opened_by_name
	openerUnknown = "unknown"
)

// maxOpener is how long the name of somebody without an account may be.
const maxOpener = 200 // characters

// openerView asks who opened the boxes of a form.
type openerView struct {
	Members []choice // but for whoever fills it in
	Chosen  string   // the value of opened_by
	Name    string
	Says    string // who that is
	Unknown bool   // may be chosen
	Problem text.Text
}

// Folded reports whether the question may stay out of sight.
func (v *openerView) Folded() bool { return v.Chosen == "" && v.Problem.IsZero() }

// readOpener reads who opened, if the form asks for it: forms of earlier builds
// and those behind mailed addresses do not.
func (rec *recorder) readOpener(f *form) {
	_, asks := f.values["opened_by"]
	if !asks && !f.has("opened_by_name") {
		return
	}
	name := strings.Join(strings.Fields(f.text("opened_by_name", maxOpener)), " ")
	by := scheduler.Opener{Name: name}
	switch chosen := f.values.Get("opened_by"); chosen {
	case "", openerUnknown:
		if name == "" && chosen == "" {
			by.Member = rec.who.MemberID
		}
	case openerNamed:
		if name == "" {
			f.bad("opened_by", "form.opener-nameless")
		}
	default:
		by = scheduler.Opener{Member: parseID(chosen)}
		switch {
		case rec.p.club.Member(by.Member) == nil:
			f.bad("opened_by", "form.opener-nobody")
		case name != "":
			f.bad("opened_by", "form.opener-two", rec.p.names.Member(by.Member), cut(name))
		}
	}
	if strings.Contains(by.Name, "@") {
		f.bad("opened_by", "form.opener-address", cut(by.Name))
	}
	if m := rec.memberNamed(by.Name); m != 0 {
		by = scheduler.Opener{Member: m}
	}
	rec.opener = &by
}

// memberNamed finds the one member of a name; 0 for none or several.
func (rec *recorder) memberNamed(name string) (id int64) {
	for i := range rec.p.club.Members {
		switch m := &rec.p.club.Members[i]; {
		case m.Name != name:
		case id != 0:
			return 0
		default:
			id = m.ID
		}
	}
	return id
}

// sayOpener notes who made an opening of a box: as the form says, or, where it
// does not say and corrects another opening, whoever made that one.
func (rec *recorder) sayOpener(b *scheduler.Box, o *scheduler.Opening) {
	if rec.opener != nil {
		o.NameOpener(*rec.opener)
	} else if was := openingOf(b, o.Supersedes); was != nil {
		o.NameOpener(was.OpenedBy())
	}
}

// openerOf asks who opened, with an answer chosen.
func (rec *recorder) openerOf(by scheduler.Opener, unknown bool) *openerView {
	v := &openerView{Name: by.Name, Unknown: unknown}
	switch {
	case by.Member == rec.who.MemberID:
		v.Says = rec.p.say.Say("page.record.opener-me")
	case by.Member != 0:
		v.Chosen, v.Says = itoa(by.Member), rec.p.names.Member(by.Member)
	case by.Name != "":
		v.Chosen, v.Says = openerNamed, by.Name
	default:
		v.Chosen, v.Says = openerUnknown, rec.p.say.Say("page.record.opener-unknown")
	}
	for i := range rec.p.club.Members {
		if m := &rec.p.club.Members[i]; m.ID != rec.who.MemberID {
			v.Members = append(v.Members, choice{m.ID, m.Name, m.ID == by.Member})
		}
	}
	return v
}

// askOpener asks who opened the boxes of the form, nil behind a mailed address;
// f is the form that comes back, or nil.
func (rec *recorder) askOpener(f *form) *openerView {
	if rec.who.person == nil {
		return nil
	}
	by := scheduler.Opener{Member: rec.who.MemberID}
	if rec.opener != nil {
		by = *rec.opener
	}
	v := rec.openerOf(by, false)
	if f != nil {
		v.typed(f)
	}
	return v
}

// typed puts back what was typed.
func (v *openerView) typed(f *form) {
	if _, asked := f.values["opened_by"]; asked {
		v.Chosen, v.Name, v.Problem = f.values.Get("opened_by"), f.values.Get("opened_by_name"), f.Problems["opened_by"]
		if v.Problem.IsZero() {
			v.Problem = f.Problems["opened_by_name"]
		}
		for i := range v.Members {
			v.Members[i].Chosen = itoa(v.Members[i].ID) == v.Chosen
		}
		if v.Chosen == "" && v.Name != "" {
			v.Chosen = openerNamed
		}
	}
}

// openerFrom takes who opened from an address, so that it is chosen once for a
// whole visit.
func (rec *recorder) openerFrom(q url.Values) {
	if q.Get("opened_by") != "" || q.Get("opened_by_name") != "" {
		f := &form{values: q, Problems: map[string]text.Text{}}
		if rec.readOpener(f); !f.ok() {
			rec.opener = nil
		}
	}
}

// openerIn writes that into an address.
func (rec *recorder) openerIn(q url.Values) {
	switch by := rec.opener; {
	case by == nil || by.Member == rec.who.MemberID:
	case by.Member != 0:
		q.Set("opened_by", itoa(by.Member))
	case by.Name != "":
		q.Set("opened_by", openerNamed)
		q.Set("opened_by_name", by.Name)
	}
}

// whoOpened says who made an opening, and who wrote it down only where that was
// another; empty where nobody knows either.
func (p *apiaryRecords) whoOpened(o *scheduler.Opening) string {
	by, writer := o.OpenedBy(), p.names.Member(o.By)
	opener := by.Name
	if by.Member != 0 {
		opener = p.names.Member(by.Member)
	}
	switch {
	case o.Opener == nil:
		return writer
	case opener == "" && writer == "":
		return ""
	case opener == "":
		return p.say.Say("page.found.written-by", writer)
	case writer == "":
		return p.say.Say("page.found.opened-by", opener)
	}
	return p.say.Say("page.found.opened-written", opener, writer)
}

// noteOpeners notes in the trail of changes what a member wrote down of
// somebody else's, if it was new.
func (rec *recorder) noteOpeners(ctx context.Context, tx *store.Tx, openings []store.BoxOpening, out *store.Recorded) error {
	var boxes []string
	var of scheduler.Opener
	for _, o := range openings {
		if by := o.Opening.Opener; by != nil && !o.Opening.Void && !slices.Contains(out.Yielded, o.BoxID) && (*by != scheduler.Opener{}) {
			of = *by
			_, box := rec.p.names.Box(o.BoxID)
			boxes = append(boxes, box)
		}
	}
	if len(boxes) == 0 || len(out.New) == 0 {
		return nil
	}
	name := of.Name
	if of.Member != 0 {
		name = rec.p.names.Member(of.Member)
	}
	subject := text.New("audit.about.opened-written", rec.p.apiary.Name, boxes, text.Full(rec.on), name, rec.p.names.Member(rec.who.MemberID))
	return rec.who.noteIn(ctx, tx, "write down for another", subject)
}
