package records

import (
	"encoding/json"
	"strconv"

	"pryday/scheduler"
)

type (
	boxJSON struct {
		Name          string           `json:"name"`
		Kind          string           `json:"kind"`
		SetUpOn       scheduler.Date   `json:"set_up_on"`
		RetiredOn     string           `json:"retired_on,omitempty"`
		Repaired      []scheduler.Date `json:"repaired,omitempty"`
		GuessedOn     string           `json:"guessed_on,omitempty"`
		GuessAnswered bool             `json:"guess_answered,omitempty"`
		Places        []placeJSON      `json:"places,omitempty"`
		Openings      []openingJSON    `json:"openings"`
	}
	placeJSON struct {
		From     scheduler.Date `json:"from"`
		Where    string         `json:"where"`
		Apiary   string         `json:"apiary,omitempty"`
		Hive     string         `json:"hive,omitempty"`
		Position int            `json:"position,omitempty"`
		LentTo   string         `json:"lent_to,omitempty"`
		Until    string         `json:"until,omitempty"`
	}
	openingJSON struct {
		ID         string                `json:"id,omitempty"`
		On         scheduler.Date        `json:"on"`
		Supersedes string                `json:"supersedes,omitempty"`
		Void       bool                  `json:"void,omitempty"`
		LeftShut   bool                  `json:"left_shut,omitempty"`
		Joint      *int                  `json:"joint"`
		Frames     *int                  `json:"frames"`
		Scraped    json.RawMessage       `json:"scraped,omitempty"`
		Gaps       []gapJSON             `json:"gaps,omitempty"`
		Condition  []scheduler.Condition `json:"condition,omitempty"`
		Note       string                `json:"note,omitempty"`
		By         string                `json:"by,omitempty"`
		OpenedBy   string                `json:"opened_by,omitempty"`
		OpenerName *string               `json:"opened_by_name,omitempty"`
		Said       *forecastJSON         `json:"said,omitempty"`
	}
	gapJSON struct {
		At  string   `json:"at"`
		MM  *float64 `json:"mm,omitempty"`
		Peg string   `json:"peg,omitempty"`
	}
	visitJSON struct {
		UID      string         `json:"uid,omitempty"`
		Apiary   string         `json:"apiary"`
		On       scheduler.Date `json:"on"`
		Status   string         `json:"status"`
		Sequence int            `json:"sequence"`
		Pinned   bool           `json:"pinned,omitempty"`
		For      string         `json:"for,omitempty"`
		SeenOn   string         `json:"seen_on,omitempty"`
		Who      []string       `json:"who,omitempty"`
		Taken    []string       `json:"taken,omitempty"`
		Refused  []string       `json:"refused,omitempty"`
		NoTime   bool           `json:"no_time,omitempty"`
		OffUntil string         `json:"off_until,omitempty"`
		OffFrom  string         `json:"off_from,omitempty"`
		Boxes    []visitBoxJSON `json:"boxes,omitempty"`
		NotBoxes []boxRefJSON   `json:"not_boxes,omitempty"`

		NotOpened []boxRefJSON `json:"not_opened,omitempty"`
		Ticks     []tickJSON   `json:"ticks,omitempty"`
	}
	tickJSON struct {
		Step   scheduler.Step `json:"step"`
		Apiary string         `json:"apiary,omitempty"`
		Hive   string         `json:"hive,omitempty"`
		Box    string         `json:"box,omitempty"`
		Nth    int            `json:"nth,omitempty"`
		By     string         `json:"by,omitempty"`
		On     scheduler.Date `json:"on"`
	}
	boxRefJSON struct {
		Apiary string `json:"apiary,omitempty"`
		Hive   string `json:"hive,omitempty"`
		Box    string `json:"box"`
		Nth    int    `json:"nth,omitempty"`
	}
	visitBoxJSON struct {
		boxRefJSON
		Due    string  `json:"due,omitempty"`
		Reason string  `json:"reason,omitempty"`
		Odds   float64 `json:"odds,omitempty"`
		Stuck  float64 `json:"stuck,omitempty"`
	}
)

func (e *encoder) box(b *scheduler.Box) boxJSON {
	out := boxJSON{
		Name: b.Name, Kind: b.Kind, SetUpOn: b.SetUpOn, RetiredOn: b.RetiredOn.String(),
		Repaired: b.Repaired, GuessedOn: b.GuessedOn.String(), GuessAnswered: b.GuessAnswered, Openings: make([]openingJSON, 0, len(b.Openings)),
	}
	for _, p := range b.Places {
		place := placeJSON{From: p.From, Where: string(p.Where), Position: p.Position, LentTo: p.LentTo, Until: p.Until.String()}
		if p.Where == scheduler.OnHive {
			key, ok := e.hives[p.HiveID]
			if !ok {
				e.missing("hive", p.HiveID)
			}
			place.Apiary, place.Hive = key.apiary, key.hive
		}
		out.Places = append(out.Places, place)
	}
	for i := range b.Openings {
		out.Openings = append(out.Openings, e.opening(&b.Openings[i]))
	}
	return out
}

func (e *encoder) opening(o *scheduler.Opening) openingJSON {
	out := openingJSON{
		ID: o.ID, On: o.On, Supersedes: o.Supersedes, Void: o.Void, LeftShut: o.LeftShut,
		Condition: o.Condition, Note: o.Note,
	}
	degree := func(d scheduler.Difficulty) *int {
		if n := int(d); d != scheduler.NotTried {
			return &n
		}
		return nil
	}
	out.Joint, out.Frames = degree(o.Joint), degree(o.Frames)
	switch {
	case o.Scraped != "":
		out.Scraped = json.RawMessage(strconv.Quote(string(o.Scraped)))
	case o.Difficulty() != scheduler.NotTried && !o.LeftShut: // it must be said that nobody said it
		out.Scraped = json.RawMessage("null")
	case o.Joint != scheduler.NotTried:
		out.Scraped = json.RawMessage(strconv.Quote(string(scheduler.ScrapedNone)))
	}
	for _, g := range o.Gaps {
		gap := gapJSON{At: string(g.At), Peg: string(g.Peg)}
		if g.Peg == "" || g.MM != 0 {
			gap.MM = &g.MM
		}
		out.Gaps = append(out.Gaps, gap)
	}
	if o.By != 0 {
		out.By = e.emails([]int64{o.By})[0]
	}
	switch by := o.Opener; {
	case by == nil:
	case by.Member != 0:
		out.OpenedBy = e.emails([]int64{by.Member})[0]
	default:
		out.OpenerName = &by.Name
	}
	if o.Said != nil {
		out.Said = sayForecast(o.Said)
	}
	return out
}

func (e *encoder) visit(v *scheduler.Visit) visitJSON {
	out := visitJSON{
		UID: v.UID, On: v.On, Status: string(v.Status), Sequence: v.Sequence, Pinned: v.Pinned,
		For: string(v.For), SeenOn: v.FirstSeen.String(), Who: e.emails(v.Who),
		Taken: e.emails(v.Taken), Refused: e.emails(v.Refused), NoTime: v.NoTime, OffUntil: v.OffUntil.String(), OffFrom: string(v.OffFrom),
	}
	if a := e.club.Apiary(v.ApiaryID); a != nil {
		out.Apiary = a.Name
	} else {
		e.missing("apiary", v.ApiaryID)
	}
	for _, b := range v.Boxes {
		out.Boxes = append(out.Boxes, visitBoxJSON{e.boxRef(b.BoxID, out.Apiary), b.Due.String(), string(b.Reason), b.Odds, b.Stuck})
	}
	for _, id := range v.NotBoxes {
		out.NotBoxes = append(out.NotBoxes, e.boxRef(id, out.Apiary))
	}
	for _, id := range v.NotOpened {
		out.NotOpened = append(out.NotOpened, e.boxRef(id, out.Apiary))
	}
	for _, t := range v.Ticks {
		out.Ticks = append(out.Ticks, e.tick(t, out.Apiary))
	}
	return out
}

func (e *encoder) tick(t scheduler.Tick, apiary string) tickJSON {
	out := tickJSON{Step: t.Step, On: t.On}
	switch {
	case t.BoxID != 0:
		ref := e.boxRef(t.BoxID, apiary)
		out.Apiary, out.Hive, out.Box, out.Nth = ref.Apiary, ref.Hive, ref.Box, ref.Nth
	case t.HiveID != 0:
		key, ok := e.hives[t.HiveID]
		if !ok {
			e.missing("hive", t.HiveID)
		}
		if out.Hive = key.hive; key.apiary != apiary {
			out.Apiary = key.apiary
		}
	}
	if t.By != 0 {
		out.By = e.emails([]int64{t.By})[0]
	}
	return out
}

func (e *encoder) boxRef(id int64, apiary string) boxRefJSON {
	key, ok := e.boxes[id]
	if !ok {
		e.missing("box", id)
	}
	ref := boxRefJSON{Hive: key.hive, Box: key.box}
	if key.apiary != apiary {
		ref.Apiary = key.apiary
	}
	if key.nth > 1 {
		ref.Nth = key.nth
	}
	return ref
}
