package web

import (
	"cmp"
	"net/http"
	"slices"
	"strings"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
)

// findView is what was found, kind by kind.
type findView struct {
	Typed  string
	Groups []findGroup
	Many   bool // there may be more than is shown
	Notes  []noteLine
}

// findGroup is what was found of one kind.
type findGroup struct {
	Head  string // key of a text
	Lines []foundLine
}

type foundLine struct {
	Path, Name, Where string
}

// noteLine is a word that somebody wrote of an opening.
type noteLine struct {
	Path, Box, On, ISO, Note string
}

// findLongest bounds what is looked for.
const findLongest = 80

// find looks for what somebody typed. A whole mark that one box has alone leads
// straight to that box.
func (s *Server) find(w http.ResponseWriter, r *http.Request, who *visitor) error {
	typed := strings.Join(strings.Fields(strings.ToValidUTF8(strings.ReplaceAll(r.URL.Query().Get("q"), "\x00", ""), "")), " ")
	if letters := []rune(typed); len(letters) > findLongest {
		typed = string(letters[:findLongest])
	}
	found := &store.Found{}
	err := s.cfg.Store.InSnapshot(store.MayLag(r.Context()), who.ClubID, func(tx *store.Tx) (err error) {
		tx.Last()
		found, err = tx.Find(r.Context(), typed)
		return err
	})
	if err != nil {
		return err
	}
	if box := onlyBox(found); box != 0 && typed != "" {
		http.Redirect(w, r, boxPath(box), http.StatusSeeOther)
		return nil
	}
	p := &apiaryRecords{club: found.Club, say: speaker(found.Club, who.MemberID)}
	page := findView{Typed: typed}
	if typed != "" {
		page = p.findView(typed, found, who)
	}
	return s.showTo(w, r, who, found.Club, http.StatusOK, "find", p.say.Say("page.find.title"), page)
}

// onlyBox is the one box that has the mark, where nothing else has that name; or
// 0.
func onlyBox(f *store.Found) int64 {
	if len(f.Boxes) == 0 || !f.Boxes[0].Exact || len(f.Boxes) > 1 && f.Boxes[1].Exact {
		return 0
	}
	for _, names := range [][]store.FoundName{f.Hives, f.Apiaries, f.Members} {
		if len(names) > 0 && names[0].Exact {
			return 0
		}
	}
	return f.Boxes[0].ID
}

func (p *apiaryRecords) findView(typed string, f *store.Found, who *visitor) findView {
	v := findView{Typed: typed}
	add := func(head string, n int, line func(i int) foundLine) {
		if n == 0 {
			return
		}
		g := findGroup{Head: head}
		for i := range n {
			g.Lines = append(g.Lines, line(i))
		}
		v.Groups, v.Many = append(v.Groups, g), v.Many || n == store.FoundMost
	}
	byName := p.say.ByName()
	slices.SortStableFunc(f.Boxes, func(a, b store.FoundBox) int {
		return cmp.Or(trueFirst(a.Exact, b.Exact), byName(a.Name, b.Name))
	})
	slices.SortStableFunc(f.Hives, func(a, b store.FoundName) int {
		return cmp.Or(trueFirst(a.Exact, b.Exact), -trueFirst(a.Retired, b.Retired), byName(a.Name, b.Name))
	})
	add("page.season.boxes", len(f.Boxes), func(i int) foundLine {
		b := &f.Boxes[i]
		return foundLine{boxPath(b.ID), b.Name, p.foundWhere(b)}
	})
	add("page.apiary.hives", len(f.Hives), func(i int) foundLine {
		return foundLine{"/hive/" + itoa(f.Hives[i].ID), f.Hives[i].Name, f.Hives[i].Apiary}
	})
	add("page.menu.apiaries", len(f.Apiaries), func(i int) foundLine {
		return foundLine{"/apiary/" + itoa(f.Apiaries[i].ID), f.Apiaries[i].Name, ""}
	})
	add("page.find.members", len(f.Members), func(i int) foundLine {
		line := foundLine{"/members", f.Members[i].Name, ""}
		if who.Role == scheduler.Organiser {
			line.Path = "/members/" + itoa(f.Members[i].ID)
		}
		return line
	})
	for _, n := range f.Notes {
		v.Notes = append(v.Notes, noteLine{boxPath(n.BoxID) + "#" + dayAnchor(n.On), n.Box, p.say.PlainDay(n.On), n.On.String(), n.Note})
	}
	return v
}

func trueFirst(a, b bool) int {
	switch {
	case a == b:
		return 0
	case a:
		return -1
	}
	return 1
}

// foundWhere says where a box is, in short.
func (p *apiaryRecords) foundWhere(b *store.FoundBox) string {
	switch b.Where {
	case scheduler.OnHive:
		return p.say.Say("page.find.on", text.Kind(b.Kind), text.Hive(b.Hive), b.Apiary)
	case scheduler.Retired:
		return p.say.Say("page.find.retired", text.Kind(b.Kind))
	}
	return p.spareWhere(&b.SpareBox)
}
