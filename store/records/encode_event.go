package records

import "pryday/scheduler"

type (
	eventJSON struct {
		ID         string         `json:"id"`
		On         scheduler.Date `json:"on"`
		What       string         `json:"what"`
		Other      *hiveRefJSON   `json:"other,omitempty"`
		FromApiary string         `json:"from_apiary,omitempty"`
		Queen      string         `json:"queen,omitempty"`
		Boxes      []eventBoxJSON `json:"boxes,omitempty"`
		Under      []boxRefJSON   `json:"under,omitempty"`
		Alone      *periodJSON    `json:"alone,omitempty"`
		Ended      bool           `json:"ended,omitempty"`
		Whom       string         `json:"whom,omitempty"`
		Note       string         `json:"note,omitempty"`
		By         string         `json:"by,omitempty"`
	}
	hiveRefJSON struct {
		Apiary string `json:"apiary,omitempty"`
		Hive   string `json:"hive"`
	}
	eventBoxJSON struct {
		boxRefJSON
		Position int  `json:"position"`
		Listed   bool `json:"listed,omitempty"`
		Openings int  `json:"openings,omitempty"`
	}
)

// event writes what happened to the colony of a hive of an apiary.
func (e *encoder) event(x *scheduler.ColonyEvent, apiary string) eventJSON {
	out := eventJSON{
		ID: x.ID, On: x.On, What: string(x.What), Queen: string(x.Queen), Ended: x.Ended, Whom: x.Whom, Note: x.Note,
	}
	if x.OtherID != 0 {
		key, ok := e.hives[x.OtherID]
		if !ok {
			e.missing("hive", x.OtherID)
		}
		if out.Other = (&hiveRefJSON{Hive: key.hive}); key.apiary != apiary {
			out.Other.Apiary = key.apiary
		}
	}
	if x.FromApiary != 0 {
		a := e.club.Apiary(x.FromApiary)
		if a == nil {
			e.missing("apiary", x.FromApiary)
		} else {
			out.FromApiary = a.Name
		}
	}
	for _, b := range x.Boxes {
		out.Boxes = append(out.Boxes, eventBoxJSON{e.boxRef(b.BoxID, apiary), b.Position, b.Listed, b.Openings})
	}
	for _, id := range x.Under {
		out.Under = append(out.Under, e.boxRef(id, apiary))
	}
	if x.Alone.From != 0 {
		out.Alone = &periodJSON{x.Alone.From, x.Alone.Until.String(), x.Alone.Reason, string(x.Alone.After)}
	}
	if x.By != 0 {
		out.By = e.emails([]int64{x.By})[0]
	}
	return out
}
