package store

import (
	"context"
	"fmt"
	"slices"

	"github.com/jackc/pgx/v5"

	"pryday/scheduler"
)

// boxPair is a box of the imported records and its row.
type boxPair struct {
	doc      *scheduler.Box
	id       int64
	hive     int64 // in the database; 0 on none
	position int
	was      *boxPair // what stood before; nil for a new one
}

// boxKey is how boxes are recognised: by their mark on their hive, or among
// those on no hive.
type boxKey struct {
	hive int64
	name string
}

func (in *importing) importBoxes(ctx context.Context) error {
	known, byHive := in.knownBoxes()
	if err := in.pairBoxes(known); err != nil {
		return err
	}
	if err := in.numberBoxes(ctx); err != nil {
		return err
	}
	changed := in.stack(byHive)
	var fresh []*boxPair
	for i := range in.boxes {
		p := &in.boxes[i]
		switch {
		case p.was == nil:
			fresh = append(fresh, p)
			in.counts.Boxes++
		case !equalJSON(boxFields(p.doc), boxFields(p.was.doc)) || p.hive != p.was.hive:
			changed[p.id] = p
		}
	}
	in.counts.Boxes += len(changed)
	var b pgx.Batch
	in.tx.queueBoxUpdates(&b, changed)
	in.tx.queueBoxInserts(&b, fresh)
	if err := in.tx.tx.SendBatch(ctx, &b).Close(); err != nil {
		return err
	}
	return in.importPlaces(ctx)
}

// knownBoxes finds the boxes that stand recorded, and each hive's stack.
func (in *importing) knownBoxes() (map[boxKey][]*boxPair, map[int64][]*boxPair) {
	known, byHive := map[boxKey][]*boxPair{}, map[int64][]*boxPair{}
	add := func(b *scheduler.Box, hive int64, position int) {
		p := &boxPair{doc: b, id: b.ID, hive: hive, position: position}
		known[boxKey{hive, b.Name}] = append(known[boxKey{hive, b.Name}], p)
		if hive != 0 {
			byHive[hive] = append(byHive[hive], p)
		}
	}
	for i := range in.have.Apiaries {
		for j := range in.have.Apiaries[i].Hives {
			h := &in.have.Apiaries[i].Hives[j]
			for k := range h.Boxes {
				add(&h.Boxes[k], h.ID, k+1)
			}
		}
	}
	for i := range in.have.Spare {
		add(&in.have.Spare[i], 0, 0)
	}
	return known, byHive
}

// pairBoxes finds each imported box among the known ones: where it stands, or
// where its history says that it stood.
func (in *importing) pairBoxes(known map[boxKey][]*boxPair) error {
	take := func(k boxKey) *boxPair {
		if len(known[k]) == 0 {
			return nil
		}
		p := known[k][0]
		known[k] = known[k][1:]
		return p
	}
	for i := range in.doc.Apiaries {
		for j := range in.doc.Apiaries[i].Hives {
			h := &in.doc.Apiaries[i].Hives[j]
			for k := range h.Boxes {
				hive := in.hive[h.ID]
				in.boxes = append(in.boxes, boxPair{doc: &h.Boxes[k], hive: hive, position: k + 1, was: take(boxKey{hive, h.Boxes[k].Name})})
			}
		}
	}
	for i := range in.doc.Spare {
		in.boxes = append(in.boxes, boxPair{doc: &in.doc.Spare[i], was: take(boxKey{0, in.doc.Spare[i].Name})})
	}
	for i := range in.boxes {
		p := &in.boxes[i]
		for _, place := range p.doc.Places {
			if p.was != nil {
				break
			}
			hive, ok := in.hive[place.HiveID]
			if place.Where == scheduler.OnHive && !ok {
				return fmt.Errorf("box %q was on hive %d, which is not among the hives", p.doc.Name, place.HiveID)
			}
			p.was = take(boxKey{hive, p.doc.Name})
		}
	}
	return nil
}

func (in *importing) numberBoxes(ctx context.Context) error {
	var fresh []*boxPair
	for i := range in.boxes {
		if p := &in.boxes[i]; p.was != nil {
			p.id = p.was.id
		} else {
			fresh = append(fresh, p)
		}
	}
	ids, err := in.tx.nextIDs(ctx, "box", len(fresh))
	for i, p := range fresh {
		if err == nil {
			p.id = ids[i]
		}
	}
	return err
}

// stack puts boxes that the import does not name on top of those that it does,
// and returns the boxes whose place in the stack is another.
func (in *importing) stack(byHive map[int64][]*boxPair) map[int64]*boxPair {
	height, named := map[int64]int{}, map[int64]bool{}
	changed := map[int64]*boxPair{}
	for i := range in.boxes {
		p := &in.boxes[i]
		named[p.id] = true
		height[p.hive] = max(height[p.hive], p.position)
		if p.was != nil && p.was.position != p.position {
			changed[p.id] = p
		}
	}
	for hive, stack := range byHive {
		for _, p := range stack {
			if named[p.id] {
				continue
			}
			height[hive]++
			if p.position != height[hive] {
				moved := *p
				moved.position, moved.was = height[hive], p
				changed[p.id] = &moved
			}
		}
	}
	return changed
}

// boxFields is a box without what stands in other tables.
func boxFields(b *scheduler.Box) *scheduler.Box {
	return &scheduler.Box{
		Name: b.Name, Kind: b.Kind, SetUpOn: b.SetUpOn, RetiredOn: b.RetiredOn, Repaired: orNil(b.Repaired),
		GuessedOn: b.GuessedOn, GuessAnswered: b.GuessAnswered,
	}
}

func (in *importing) importPlaces(ctx context.Context) error {
	var b pgx.Batch
	for i := range in.boxes {
		p := &in.boxes[i]
		want := slices.Clone(p.doc.Places)
		for k := range want {
			if want[k].Where == scheduler.OnHive {
				want[k].HiveID = in.hive[want[k].HiveID]
			}
		}
		var have []scheduler.BoxPlace
		if p.was != nil {
			have = p.was.doc.Places
		}
		if slices.Equal(want, have) {
			continue
		}
		in.tx.queuePlaces(&b, p.id, want)
		if p.was != nil {
			in.counts.Boxes++
		}
	}
	return in.tx.tx.SendBatch(ctx, &b).Close()
}
