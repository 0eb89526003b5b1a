package store

import (
	"context"
	"fmt"
	"slices"

	"github.com/jackc/pgx/v5"

	"pryday/scheduler"
)

func (in *importing) importOpenings(ctx context.Context) error {
	known, name := newKnownOpenings(), map[int64]string{}
	for b := range eachBox(in.have) {
		name[b.ID] = b.Name
		for i := range b.Openings {
			known.add(b.ID, &b.Openings[i])
		}
	}
	var fresh []BoxOpening
	for i := range in.boxes {
		p := &in.boxes[i]
		name[p.id] = p.doc.Name
		for _, o := range p.doc.Openings {
			if err := normalIDs(&o); err != nil {
				return fmt.Errorf("an opening of box %q on %s: %w", p.doc.Name, o.On, err)
			}
			switch box, has := known.box[o.ID]; {
			case has && box != p.id:
				return fmt.Errorf("opening %s of box %q is recorded already, as one of another box, %q", o.ID, p.doc.Name, name[box])
			case has:
				continue
			case known.next[o.Supersedes] != "":
				return fmt.Errorf("opening %s of box %q corrects %s: %w", o.ID, p.doc.Name, o.Supersedes, ErrSuperseded)
			}
			if o.By != 0 {
				by, ok := in.members[o.By]
				if !ok {
					return fmt.Errorf("opening %s of box %q is by member %d, who is not among the members", o.ID, p.doc.Name, o.By)
				}
				o.By = by
			}
			if o.Opener != nil && o.Opener.Member != 0 {
				by, ok := in.members[o.Opener.Member]
				if !ok {
					return fmt.Errorf("opening %s of box %q was made by member %d, who is not among the members", o.ID, p.doc.Name, o.Opener.Member)
				}
				o.Opener = &scheduler.Opener{Member: by}
			}
			known.add(p.id, &o)
			fresh = append(fresh, BoxOpening{BoxID: p.id, Opening: o})
		}
	}
	for _, o := range fresh {
		if of := o.Opening.Supersedes; of != "" && known.box[of] != o.BoxID {
			return fmt.Errorf("opening %s of box %q corrects %s: %w", o.Opening.ID, name[o.BoxID], of, ErrNotFound)
		}
	}
	in.counts.Openings += len(fresh)
	if len(fresh) == 0 {
		return nil
	}
	var b pgx.Batch
	in.tx.queueOpeningInserts(&b, fresh)
	return openingError(in.tx.tx.SendBatch(ctx, &b).Close())
}

func (in *importing) importVisits(ctx context.Context) error {
	known := map[string]*scheduler.Visit{}
	for i := range in.have.Visits {
		known[in.have.Visits[i].UID] = &in.have.Visits[i]
	}
	box := make(map[int64]int64, len(in.boxes))
	for i := range in.boxes {
		box[in.boxes[i].doc.ID] = in.boxes[i].id
	}
	var ticks tickRows
	changed := map[string]bool{}
	for _, v := range in.doc.Visits {
		if v.UID == "" {
			return fmt.Errorf("the visit on %s has no uid", v.On)
		}
		now, err := in.visit(v, box)
		if err != nil {
			return fmt.Errorf("visit %s on %s: %w", v.UID, v.On, err)
		}
		for _, t := range now.Ticks {
			ticks.add(v.UID, t)
		}
		now.Ticks = nil // are added to those that stand
		was := known[v.UID]
		if was != nil {
			was.Ticks = nil
			now.ID = was.ID
			if now.FirstSeen == 0 {
				now.FirstSeen = was.FirstSeen
			}
			// A record that people have seen since is newer than this one.
			if equalJSON(was, &now) || was.Sequence > now.Sequence {
				continue
			}
		}
		if err := in.tx.putVisit(ctx, was, now); err != nil {
			return err
		}
		changed[v.UID] = true
	}
	if len(ticks.uid) > 0 {
		rows, err := in.tx.tx.Query(ctx, insertTicks+` RETURNING (SELECT uid FROM visit v WHERE v.id = visit_id)`,
			in.tx.club, ticks.uid, ticks.step, ticks.hive, ticks.box, ticks.by, ticks.on)
		if err != nil {
			return fmt.Errorf("the ticks of visits: %w", err)
		}
		var uid string
		if _, err := pgx.ForEachRow(rows, []any{&uid}, func() error { changed[uid] = true; return nil }); err != nil {
			return fmt.Errorf("the ticks of visits: %w", err)
		}
	}
	in.counts.Visits += len(changed)
	return nil
}

// visit is v with the ids of this club.
func (in *importing) visit(v scheduler.Visit, box map[int64]int64) (scheduler.Visit, error) {
	var ok bool
	if v.ApiaryID, ok = in.apiary[v.ApiaryID]; !ok {
		return v, fmt.Errorf("its apiary is not among the apiaries")
	}
	var err error
	if v.NotBoxes, err = translate(v.NotBoxes, box, "box"); err != nil {
		return v, err
	}
	if v.NotOpened, err = translate(v.NotOpened, box, "box"); err != nil {
		return v, err
	}
	slices.Sort(v.NotBoxes) // sets, kept in this order
	slices.Sort(v.NotOpened)
	for _, list := range []*[]int64{&v.Who, &v.Taken, &v.Refused} {
		if *list, err = translate(*list, in.members, "member"); err != nil {
			return v, err
		}
	}
	boxes := make([]scheduler.VisitBox, len(v.Boxes))
	for i, vb := range v.Boxes {
		if boxes[i].BoxID, ok = box[vb.BoxID]; !ok {
			return v, fmt.Errorf("box %d is not among the boxes", vb.BoxID)
		}
		boxes[i].Due, boxes[i].Reason, boxes[i].Odds, boxes[i].Stuck = vb.Due, vb.Reason, vb.Odds, vb.Stuck
	}
	v.Boxes = orNil(boxes)
	v.Ticks, err = in.ticks(v.Ticks, box)
	return v, err
}

// ticks are ticks with the ids of this club.
func (in *importing) ticks(ticks []scheduler.Tick, box map[int64]int64) ([]scheduler.Tick, error) {
	var out []scheduler.Tick
	for _, t := range ticks {
		for _, ref := range []struct {
			id   *int64
			to   map[int64]int64
			what string
		}{{&t.HiveID, in.hive, "hive"}, {&t.BoxID, box, "box"}, {&t.By, in.members, "member"}} {
			now, ok := ref.to[*ref.id]
			if !ok && *ref.id != 0 {
				return nil, fmt.Errorf("%s %d of a tick is not among them", ref.what, *ref.id)
			}
			*ref.id = now
		}
		out = append(out, t)
	}
	return out, nil
}

func translate(ids []int64, to map[int64]int64, what string) ([]int64, error) {
	var out []int64
	for _, id := range ids {
		now, ok := to[id]
		if !ok {
			return nil, fmt.Errorf("%s %d is not among them", what, id)
		}
		if now != 0 { // 0 is who is asked to join first
			out = append(out, now)
		}
	}
	return out, nil
}
