package records

import (
	"bytes"
	"encoding/json"
	"fmt"

	"pryday/scheduler"
)

// Encode writes a club's records as the JSON document. What Parse makes of it
// is the same club with ids from 1. It fails only when the club names an id
// that it does not hold.
func Encode(c *scheduler.Club) ([]byte, error) {
	e := &encoder{club: c, members: map[int64]string{}, hives: map[int64]hiveKey{}, boxes: map[int64]boxKey{}}
	for i := range c.Members {
		e.members[c.Members[i].ID] = c.Members[i].Email
	}
	for a := range c.Apiaries {
		for h := range c.Apiaries[a].Hives {
			e.hives[c.Apiaries[a].Hives[h].ID] = hiveKey{c.Apiaries[a].Name, c.Apiaries[a].Hives[h].Name}
		}
	}
	for key, id := range boxKeys(c) {
		e.boxes[id] = key
	}
	var b bytes.Buffer
	out := json.NewEncoder(&b)
	out.SetEscapeHTML(false)
	if err := out.Encode(e.document()); err != nil {
		return nil, fmt.Errorf("writing the records of %q: %w", c.Name, err)
	}
	if e.err != nil {
		return nil, fmt.Errorf("writing the records of %q: %w", c.Name, e.err)
	}
	return layout(bytes.TrimSpace(b.Bytes()), ""), nil
}

type encoder struct {
	club    *scheduler.Club
	members map[int64]string
	hives   map[int64]hiveKey
	boxes   map[int64]boxKey
	err     error
}

func (e *encoder) missing(what string, id int64) {
	if e.err == nil {
		e.err = fmt.Errorf("no %s has the id %d", what, id)
	}
}

// The document's objects. Keys of the example always stand, others where they
// say something.
type (
	documentJSON struct {
		Club     clubJSON        `json:"club"`
		Rules    json.RawMessage `json:"rules"`
		Apiaries []apiaryJSON    `json:"apiaries"`
		Boxes    []boxJSON       `json:"boxes,omitempty"`
		Visits   []visitJSON     `json:"visits,omitempty"`
		Told     []toldJSON      `json:"told,omitempty"`
	}
	clubJSON struct {
		Name    string       `json:"name"`
		Members []memberJSON `json:"members"`
		Kinds   []kindJSON   `json:"kinds,omitempty"`

		Recalibration *recalibrationJSON `json:"recalibration,omitempty"`
	}
	kindJSON struct {
		Name          string  `json:"name"`
		DepthMM       float64 `json:"depth_mm"`
		EmptyKg       float64 `json:"empty_kg"`
		FullKg        float64 `json:"full_kg"`
		Frames        int     `json:"frames"`
		WidthMM       float64 `json:"width_mm,omitempty"`
		InsideMM      float64 `json:"inside_mm,omitempty"`
		FrameMM       float64 `json:"frame_mm,omitempty"`
		FrameLengthMM float64 `json:"frame_length_mm,omitempty"`
		TopBarMM      float64 `json:"top_bar_mm,omitempty"`
		RestMM        float64 `json:"rest_mm,omitempty"`
	}
	memberJSON struct {
		Name        string           `json:"name"`
		Email       string           `json:"email"`
		Phone       string           `json:"phone,omitempty"`
		Role        string           `json:"role"`
		Apiaries    []string         `json:"apiaries"`
		Timezone    string           `json:"timezone,omitempty"`
		Language    string           `json:"language,omitempty"`
		Units       string           `json:"units,omitempty"`
		Preferences *preferencesJSON `json:"preferences,omitempty"`
		NoGo        []periodJSON     `json:"no_go,omitempty"`
	}
	preferencesJSON struct {
		DaysBefore  []int                   `json:"days_before,omitempty"`
		SendAt      string                  `json:"send_at,omitempty"`
		Mute        []scheduler.MessageKind `json:"mute,omitempty"`
		PausedUntil string                  `json:"paused_until,omitempty"`
		VisitHours  *hoursJSON              `json:"visit_hours,omitempty"`
		LongMail    bool                    `json:"long_mail,omitempty"`
		Invitations bool                    `json:"invitations,omitempty"`
		HoursADay   float64                 `json:"hours_a_day,omitempty"`
		VisitsAWeek int                     `json:"visits_a_week,omitempty"`
		Weekdays    []string                `json:"weekdays,omitempty"`
	}
	hoursJSON struct {
		From  string `json:"from"`
		Until string `json:"until"`
	}
	periodJSON struct {
		From   scheduler.Date `json:"from"`
		Until  string         `json:"until,omitempty"`
		Reason string         `json:"reason,omitempty"`
		After  string         `json:"after,omitempty"`
	}
	apiaryJSON struct {
		Name            string                                     `json:"name"`
		Latitude        float64                                    `json:"latitude"`
		Longitude       float64                                    `json:"longitude"`
		ElevationM      float64                                    `json:"elevation_m"`
		Timezone        string                                     `json:"timezone"`
		SeasonShiftDays int                                        `json:"season_shift_days"`
		Region          string                                     `json:"region,omitempty"`
		Seen            map[scheduler.SeasonEvent][]scheduler.Date `json:"seen,omitempty"`
		Weekdays        []string                                   `json:"weekdays"`
		TravelHours     *float64                                   `json:"travel_hours,omitempty"`
		Trip            string                                     `json:"trip,omitempty"`
		AccessNotes     string                                     `json:"access_notes,omitempty"`
		Keepers         []string                                   `json:"keepers,omitempty"`
		NoGo            []periodJSON                               `json:"no_go,omitempty"`
		Standstill      []periodJSON                               `json:"standstill,omitempty"`
		Hives           []hiveJSON                                 `json:"hives"`
	}
	hiveJSON struct {
		Name       string           `json:"name"`
		BeeSpace   string           `json:"bee_space,omitempty"`
		LeaveAlone []periodJSON     `json:"leave_alone,omitempty"`
		Requeened  []scheduler.Date `json:"requeened,omitempty"`
		RetiredOn  string           `json:"retired_on,omitempty"`
		Events     []eventJSON      `json:"events,omitempty"`
		Boxes      []boxJSON        `json:"boxes"`
	}
)

func (e *encoder) document() documentJSON {
	c := e.club
	d := documentJSON{
		Club:     clubJSON{Name: c.Name, Members: []memberJSON{}},
		Rules:    rulesObject(&c.Rules),
		Apiaries: []apiaryJSON{},
	}
	for i := range c.Members {
		d.Club.Members = append(d.Club.Members, e.member(&c.Members[i]))
	}
	for _, k := range c.Kinds {
		d.Club.Kinds = append(d.Club.Kinds, kindJSON(k))
	}
	if c.Recalibration.Corrects() {
		d.Club.Recalibration = sayRecalibration(&c.Recalibration)
	}
	for i := range c.Apiaries {
		d.Apiaries = append(d.Apiaries, e.apiary(&c.Apiaries[i]))
	}
	for i := range c.Spare {
		d.Boxes = append(d.Boxes, e.box(&c.Spare[i]))
	}
	for i := range c.Visits {
		d.Visits = append(d.Visits, e.visit(&c.Visits[i]))
	}
	for _, t := range c.Told {
		d.Told = append(d.Told, e.told(t))
	}
	return d
}

func (e *encoder) member(m *scheduler.Member) memberJSON {
	out := memberJSON{
		Name: m.Name, Email: m.Email, Phone: m.Phone, Role: string(m.Role), Apiaries: []string{}, Timezone: m.Timezone,
		Language: m.Language, Units: string(m.Units), NoGo: periodsJSON(m.NoGo),
	}
	for i := range e.club.Apiaries {
		if contains(e.club.Apiaries[i].Keepers, m.ID) {
			out.Apiaries = append(out.Apiaries, e.club.Apiaries[i].Name)
		}
	}
	p := preferencesJSON{
		DaysBefore: m.Prefs.DaysBefore, Mute: m.Prefs.Mute, PausedUntil: m.Prefs.PausedUntil.String(),
		LongMail: m.Prefs.LongMail, Invitations: m.Prefs.Invitations,
		HoursADay: m.Prefs.HoursADay, VisitsAWeek: m.Prefs.VisitsAWeek, Weekdays: m.Prefs.Weekdays.Names(),
	}
	if m.Prefs.SendAt != nil {
		p.SendAt = m.Prefs.SendAt.String()
	}
	if h := m.Prefs.VisitHours; h != nil {
		p.VisitHours = &hoursJSON{h.From.String(), h.Until.String()}
	}
	mail := len(p.DaysBefore) > 0 || len(p.Mute) > 0 || p.PausedUntil != "" || p.SendAt != "" || p.LongMail || p.Invitations
	gives := p.VisitHours != nil || p.HoursADay != 0 || p.VisitsAWeek != 0 || len(p.Weekdays) > 0
	if mail || gives {
		out.Preferences = &p
	}
	return out
}

func periodsJSON(periods []scheduler.Period) []periodJSON {
	var out []periodJSON
	for _, p := range periods {
		out = append(out, periodJSON{p.From, p.Until.String(), p.Reason, string(p.After)})
	}
	return out
}

func (e *encoder) apiary(a *scheduler.Apiary) apiaryJSON {
	out := apiaryJSON{
		Name: a.Name, Latitude: a.Latitude, Longitude: a.Longitude, ElevationM: a.ElevationM,
		Timezone: a.Timezone, SeasonShiftDays: a.SeasonShiftDays, Region: regionWord(a), Seen: seenJSON(a.Seen), Weekdays: []string{},
		TravelHours: a.TravelHours, Trip: a.Trip, AccessNotes: a.AccessNotes,
		NoGo: periodsJSON(a.NoGo), Standstill: periodsJSON(a.Standstill), Hives: []hiveJSON{},
	}
	out.Weekdays = append(out.Weekdays, a.Weekdays.Names()...)
	if !e.inMemberOrder(a.Keepers) {
		out.Keepers = e.emails(a.Keepers)
	}
	for i := range a.Hives {
		h := &a.Hives[i]
		hive := hiveJSON{
			Name: h.Name, BeeSpace: string(h.BeeSpace), LeaveAlone: periodsJSON(h.LeaveAlone),
			Requeened: h.Requeened, RetiredOn: h.RetiredOn.String(), Boxes: []boxJSON{},
		}
		for k := range h.Events {
			hive.Events = append(hive.Events, e.event(&h.Events[k], a.Name))
		}
		for b := range h.Boxes {
			hive.Boxes = append(hive.Boxes, e.box(&h.Boxes[b]))
		}
		out.Hives = append(out.Hives, hive)
	}
	return out
}

// inMemberOrder reports whether ids stand in the order of the club's members,
// which is the order that Parse gives when nothing else is said.
func (e *encoder) inMemberOrder(ids []int64) bool {
	next := 0
	for i := range e.club.Members {
		if next < len(ids) && e.club.Members[i].ID == ids[next] {
			next++
		}
	}
	return next == len(ids)
}

func (e *encoder) emails(ids []int64) []string {
	var out []string
	for _, id := range ids {
		if e.members[id] == "" {
			e.missing("member", id)
		}
		out = append(out, e.members[id])
	}
	return out
}
