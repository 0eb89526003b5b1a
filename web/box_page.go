package web

import (
	"cmp"
	"net/http"
	"slices"

	"pryday/scheduler"
	"pryday/store"
)

// boxPage is one box through its life, wherever it is.
type boxPage struct {
	ID         int64
	Name, Kind string
	SetUp      string
	HiveID     int64 // 0 when it stands on none
	Hive       string
	ApiaryID   int64
	Apiary     string
	Where      string
	Why, Sure  string
	Next       *visitLine
	Trends     []string
	History    []openingLine
	Gaps       *boxGaps
	Wrong      []wrongLine
	Repaired   []string
	Places     []placeLine
	Befell     []eventLine // what happened to the colonies that it stood with
	MayTend    bool
}

// wrongLine is what was found wrong on a day.
type wrongLine struct {
	On, What string
	Mended   bool // the box was repaired since
}

// placeLine is where a box was from a day on.
type placeLine struct {
	From, ISO string
	Where     string
	HiveID    int64 // 0 for none
}

func boxPath(id int64) string { return "/box/" + itoa(id) }

func dayAnchor(on scheduler.Date) string { return "on-" + on.String() }

func (s *Server) box(w http.ResponseWriter, r *http.Request, who *visitor) error {
	id := parseID(r.PathValue("id"))
	var p *apiaryRecords
	err := s.inAnyClub(r.Context(), who, func(tx *store.Tx) error {
		tx.Last()
		a, err := tx.RecordsAroundBox(r.Context(), id)
		if err == nil {
			p = s.apiaryRecords(a, who)
		}
		return err
	})
	if err != nil {
		return err
	}
	v := p.boxPage(id, who)
	return s.showTo(w, r, who, p.club, http.StatusOK, "box", v.Name, v)
}

func (p *apiaryRecords) boxPage(id int64, who *visitor) boxPage {
	h, b := p.findBox(id)
	v := boxPage{ID: b.ID, Name: b.Name, Kind: p.say.Kind(b.Kind), SetUp: p.say.Tell(b.SetUp()), Trends: p.trends(b)}
	if h != nil {
		why := p.boxWhy(b, nil)
		v.HiveID, v.Hive, v.ApiaryID, v.Apiary = h.ID, p.say.Hive(h.Name), p.apiary.ID, p.apiary.Name
		v.Why, v.Sure, v.MayTend = why.Why, why.Sure, who.mayTend(p.apiary)
		if at := slices.IndexFunc(p.plan.Visits, func(x scheduler.Visit) bool { return x.Lists(b.ID) }); at >= 0 {
			next := p.visitLine(&p.plan.Visits[at], who.MemberID)
			v.Next = &next
		}
	}
	v.Places = p.placeLines(h, b)
	v.Where = v.Places[0].Where
	v.Befell = p.befell(b, v.HiveID)
	v.found(p, h, b, who)
	v.Gaps = p.boxGaps(h, b)
	for _, d := range slices.Backward(b.Repaired) {
		v.Repaired = append(v.Repaired, p.say.PlainDay(d))
	}
	return v
}

// findBox finds a box and the hive that it stands on, nil for none.
func (p *apiaryRecords) findBox(id int64) (*scheduler.Hive, *scheduler.Box) {
	if p.apiary != nil {
		if h, b := p.apiary.Box(id); b != nil {
			return h, b
		}
	}
	at := slices.IndexFunc(p.club.Spare, func(b scheduler.Box) bool { return b.ID == id })
	return nil, &p.club.Spare[at]
}

// found lists what was found each time and what was wrong, the newest first.
func (v *boxPage) found(p *apiaryRecords, h *scheduler.Hive, b *scheduler.Box, who *visitor) {
	mended := scheduler.Date(0)
	for _, d := range b.Repaired {
		mended = max(mended, d)
	}
	var present int64
	if h != nil {
		present = h.ID
	}
	anchored := scheduler.Date(0)
	for _, o := range slices.Backward(scheduler.Effective(b.Openings)) {
		line := p.openingLine(h, b, &o, who)
		if at := b.HiveOn(o.On, present); at != present {
			line.Where = p.say.Hive(p.names.Hive(at))
		}
		if o.On != anchored {
			line.Anchor, anchored = dayAnchor(o.On), o.On
		}
		v.History = append(v.History, line)
		for _, c := range o.Condition {
			v.Wrong = append(v.Wrong, wrongLine{On: line.On, What: sentence(p.say.Word(c)), Mended: o.On < mended})
		}
	}
}

// placeLines says where a box was, the latest place first.
func (p *apiaryRecords) placeLines(h *scheduler.Hive, b *scheduler.Box) []placeLine {
	places := b.Places
	if len(places) == 0 {
		places = []scheduler.BoxPlace{{From: b.SetUpOn, Where: scheduler.InStore}}
		if h != nil {
			places[0] = scheduler.BoxPlace{From: b.SetUpOn, Where: scheduler.OnHive, HiveID: h.ID}
		}
	}
	var out []placeLine
	for i, at := range slices.Backward(places) {
		if h != nil && i == len(places)-1 { // the stack may have been ordered anew since
			at.Position = 1 + slices.IndexFunc(h.Boxes, func(x scheduler.Box) bool { return x.ID == b.ID })
		}
		line := placeLine{From: p.say.PlainDay(at.From), ISO: at.From.String(), Where: p.placeWords(&at)}
		if at.Where == scheduler.OnHive {
			line.HiveID = at.HiveID
		}
		out = append(out, line)
	}
	return out
}

func (p *apiaryRecords) placeWords(at *scheduler.BoxPlace) string {
	switch {
	case at.Where == scheduler.OnHive && at.Position == 0:
		return p.say.Say("page.box.on-hive", p.hiveWords(at.HiveID))
	case at.Where == scheduler.OnHive:
		return p.say.Say("page.box.on-hive-at", p.hiveWords(at.HiveID), at.Position)
	case at.Where == scheduler.Retired:
		return p.say.Say("page.box.retired")
	case at.Where != scheduler.Lent:
		return p.say.Say("page.box.in-store")
	case at.Until != 0:
		return p.say.Say("page.box.lent-until", cmp.Or(at.LentTo, "?"), at.Until)
	}
	return p.say.Say("page.box.lent", cmp.Or(at.LentTo, "?"))
}

// hiveWords names a hive with its apiary.
func (p *apiaryRecords) hiveWords(id int64) string {
	for i := range p.club.Apiaries {
		if h := p.club.Apiaries[i].Hive(id); h != nil {
			return p.say.Say("page.found.at", p.say.Hive(h.Name), p.club.Apiaries[i].Name)
		}
	}
	return "?"
}
