package store

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"github.com/jackc/pgx/v5"

	"pryday/scheduler"
)

// Imported counts what an import added or changed.
type Imported struct {
	Members, Kinds, Apiaries, Hives, Boxes, Openings, Visits, Rules int
}

// Changed reports whether the import changed anything.
func (i Imported) Changed() bool { return i != Imported{} }

// importing is one import: the records to bring in, those that stand, and
// which of them are the same.
type importing struct {
	tx      *Tx
	doc     *scheduler.Club
	have    *scheduler.Club
	counts  Imported
	asks    bool            // who belongs to another club joins only after saying yes
	members map[int64]int64 // id in doc to id in the database, so also below
	apiary  map[int64]int64
	hive    map[int64]int64
	boxes   []boxPair
}

// Import brings records in whole or not at all, matched by name: apiaries in
// the club, hives in their apiary, boxes in their hive, members by address,
// openings by id, visits by uid. What the records do not name stays. The
// second import of the same records changes nothing. It does not replan.
//
// Ids in c are its own: they only say what belongs together. Zero Rules leave
// the club's as they are.
func (tx *Tx) Import(ctx context.Context, c *scheduler.Club) (Imported, error) {
	return tx.importing(ctx, c, false)
}

// ImportAsking is Import of records that somebody brings: whoever belongs to
// another club is asked to join, and has no part in them before saying yes.
func (tx *Tx) ImportAsking(ctx context.Context, c *scheduler.Club) (Imported, error) {
	return tx.importing(ctx, c, true)
}

func (tx *Tx) importing(ctx context.Context, c *scheduler.Club, asks bool) (Imported, error) {
	in := &importing{tx: tx, asks: asks, doc: c, members: map[int64]int64{}, apiary: map[int64]int64{}, hive: map[int64]int64{}}
	err := in.run(ctx)
	if err != nil {
		return Imported{}, tx.wrap(err, "import the records")
	}
	if in.counts.Changed() {
		tx.feedChanged()
	}
	return in.counts, nil
}

// Export is Club, and what its members were told: what Import of the same
// records would bring back.
func (tx *Tx) Export(ctx context.Context) (*scheduler.Club, error) {
	c, err := tx.Club(ctx)
	if err == nil {
		c.Told, err = tx.Told(ctx)
	}
	return c, err
}

func (in *importing) run(ctx context.Context) error {
	if err := in.lock(ctx); err != nil {
		return err
	}
	var err error
	if in.have, err = in.tx.Club(ctx); err != nil {
		return err
	}
	for _, step := range []func(context.Context) error{
		in.importMembers, in.importKinds, in.importApiaries, in.importHives,
		in.importBoxes, in.importEvents, in.importOpenings, in.importVisits, in.importTold, in.importRules, in.importRecalibration,
	} {
		if err := step(ctx); err != nil {
			return err
		}
	}
	return nil
}

// lock keeps other imports and every planner out until this one is done.
func (in *importing) lock(ctx context.Context) error {
	if _, err := in.tx.tx.Exec(ctx, `SELECT pg_advisory_xact_lock(hashtext('pryday.import'), $1::bigint::int)`, in.tx.club); err != nil {
		return err
	}
	_, err := in.tx.tx.Exec(ctx, `SELECT FROM apiary ORDER BY id FOR NO KEY UPDATE`)
	return err
}

func (in *importing) importMembers(ctx context.Context) error {
	known := map[string]*scheduler.Member{}
	for i := range in.have.Members {
		m := &in.have.Members[i]
		known[strings.ToLower(m.Email)] = m
	}
	for _, m := range in.doc.Members {
		was := known[strings.ToLower(normalEmail(m.Email))]
		docID := m.ID
		if was == nil {
			add := in.tx.AddMember
			if in.asks {
				add = func(ctx context.Context, m scheduler.Member) (id int64, err error) {
					id, _, err = in.tx.AddOrInvite(ctx, m, "")
					return id, err
				}
			}
			id, err := add(ctx, m)
			if err != nil {
				return err
			}
			in.members[docID] = id // 0 for who is asked first
			if id != 0 {
				in.counts.Members++
			}
			continue
		}
		in.members[docID] = was.ID
		m.ID, m.PersonID, m.Email, m.ButtonsEnded = was.ID, was.PersonID, was.Email, was.ButtonsEnded
		if equalJSON(was, &m) {
			continue
		}
		if err := in.tx.UpdateMember(ctx, m); err != nil {
			return err
		}
		in.counts.Members++
	}
	return nil
}

func (in *importing) importKinds(ctx context.Context) error {
	for _, k := range in.doc.Kinds {
		if slices.Contains(in.have.Kinds, k) {
			continue
		}
		if err := in.tx.PutKind(ctx, k); err != nil {
			return err
		}
		in.counts.Kinds++
	}
	return nil
}

func (in *importing) importApiaries(ctx context.Context) error {
	known := map[string]*scheduler.Apiary{}
	for i := range in.have.Apiaries {
		known[in.have.Apiaries[i].Name] = &in.have.Apiaries[i]
	}
	for _, a := range in.doc.Apiaries {
		docID := a.ID
		a.Hives, a.Keepers = nil, slices.Clone(a.Keepers)
		for i, k := range a.Keepers {
			id, ok := in.members[k]
			if !ok {
				return fmt.Errorf("apiary %q names member %d, who is not among the members", a.Name, k)
			}
			a.Keepers[i] = id
		}
		a.Keepers = orNil(slices.DeleteFunc(a.Keepers, func(id int64) bool { return id == 0 }))
		was := known[a.Name]
		if was == nil {
			id, err := in.tx.addApiary(ctx, a)
			if err != nil {
				return err
			}
			in.apiary[docID] = id
			in.counts.Apiaries++
			continue
		}
		in.apiary[docID], a.ID = was.ID, was.ID
		now := *was
		now.Hives = nil
		if equalJSON(&now, &a) {
			continue
		}
		if err := in.tx.updateApiary(ctx, a); err != nil {
			return err
		}
		in.counts.Apiaries++
	}
	return nil
}

func (in *importing) importHives(ctx context.Context) error {
	type key struct {
		apiary int64
		name   string
	}
	known := map[key]*scheduler.Hive{}
	for i := range in.have.Apiaries {
		a := &in.have.Apiaries[i]
		for j := range a.Hives {
			known[key{a.ID, a.Hives[j].Name}] = &a.Hives[j]
		}
	}
	var b pgx.Batch
	for i := range in.doc.Apiaries {
		a := &in.doc.Apiaries[i]
		var fresh []*scheduler.Hive
		for j := range a.Hives {
			h := &a.Hives[j]
			was := known[key{in.apiary[a.ID], h.Name}]
			if was == nil {
				fresh = append(fresh, h)
				continue
			}
			in.hive[h.ID] = was.ID
			now := hiveFields(h, was.ID)
			if !equalJSON(hiveFields(was, was.ID), now) {
				in.tx.queueHiveUpdate(&b, now)
				in.counts.Hives++
			}
			if err := in.importLeaveAlone(ctx, was.ID, was, h); err != nil {
				return err
			}
		}
		ids, err := in.tx.nextIDs(ctx, "hive", len(fresh))
		if err != nil {
			return err
		}
		for k, h := range fresh {
			in.hive[h.ID] = ids[k]
			in.tx.queueHiveInsert(&b, in.apiary[a.ID], hiveFields(h, ids[k]))
			in.counts.Hives++
		}
	}
	if err := in.tx.tx.SendBatch(ctx, &b).Close(); err != nil {
		return err
	}
	for i := range in.doc.Apiaries {
		for j := range in.doc.Apiaries[i].Hives {
			h := &in.doc.Apiaries[i].Hives[j]
			if known[key{in.apiary[in.doc.Apiaries[i].ID], h.Name}] != nil || len(h.LeaveAlone) == 0 {
				continue
			}
			if err := in.tx.setPeriods(ctx, "hive_id", in.hive[h.ID], "leave-alone", h.LeaveAlone); err != nil {
				return err
			}
		}
	}
	return nil
}

func (in *importing) importLeaveAlone(ctx context.Context, id int64, was, now *scheduler.Hive) error {
	if slices.Equal(was.LeaveAlone, now.LeaveAlone) {
		return nil
	}
	changed, err := in.tx.setPeriodsCounted(ctx, "hive_id", id, "leave-alone", now.LeaveAlone)
	if changed {
		in.counts.Hives++
	}
	return err
}

func (in *importing) importRules(ctx context.Context) error {
	if in.doc.Name != "" && in.doc.Name != in.have.Name {
		if err := in.tx.RenameClub(ctx, in.doc.Name); err != nil {
			return err
		}
		in.counts.Rules++
	}
	if in.doc.Rules.OddsLimit == 0 {
		return nil
	}
	done, err := in.tx.saveRules(ctx, RulesEdit{Rules: in.doc.Rules, Note: "imported"})
	if done.Version != done.Replaced {
		in.counts.Rules++
	}
	return err
}
