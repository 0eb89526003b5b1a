package store

import (
	"context"

	"pryday/scheduler"
)

// Told reads what every member was told last, about a visit or an apiary.
func (tx *Tx) Told(ctx context.Context) ([]scheduler.Told, error) {
	out, err := list[scheduler.Told](ctx, tx, `
		SELECT t.member_id, t.kind, coalesce(v.uid, '') AS visit_uid, coalesce(t.apiary_id, 0) AS apiary_id, t.on_day AS on, t.told_on
		  FROM told t LEFT JOIN visit v ON v.club_id = t.club_id AND v.id = t.visit_id
		 WHERE t.member_id = ANY(ARRAY(SELECT id FROM member)) AND (v.id IS NOT NULL OR t.apiary_id IS NOT NULL)
		 ORDER BY t.member_id, v.uid NULLS LAST, t.apiary_id, t.kind`)
	return out, tx.wrap(err, "read what members were told")
}

// importTold notes what members were told, so that nobody is told again. What is
// known here and later stays.
func (in *importing) importTold(ctx context.Context) error {
	n := len(in.doc.Told)
	member, uid, kind := make([]int64, n), make([]string, n), make([]string, n)
	on, toldOn, apiary := make([]scheduler.Date, n), make([]scheduler.Date, n), make([]int64, n)
	for i, t := range in.doc.Told {
		member[i], uid[i], kind[i], on[i], toldOn[i] = in.members[t.MemberID], t.VisitUID, string(t.Kind), t.On, t.ToldOn
		apiary[i] = in.apiary[t.ApiaryID]
	}
	if n == 0 {
		return nil
	}
	_, err := in.tx.tx.Exec(ctx, `
		INSERT INTO told (club_id, member_id, visit_id, about, apiary_id, kind, on_day, told_on)
		SELECT DISTINCT ON (1, 2, 3, 4) $1::bigint, u.member, v.id, CASE WHEN u.uid = '' THEN u.kind || '/' || u.apiary ELSE '' END,
		       CASE WHEN u.uid = '' THEN u.apiary END, u.kind, u.on_day, u.told_on
		  FROM unnest($2::bigint[], $3::text[], $4::text[], $5::date[], $6::date[], $7::bigint[])
		       AS u(member, uid, kind, on_day, told_on, apiary)
		  LEFT JOIN visit v ON v.uid = u.uid
		 WHERE u.member <> 0 AND (u.uid = '' OR v.id IS NOT NULL)
		 ORDER BY 1, 2, 3, 4, u.told_on DESC
		ON CONFLICT (club_id, member_id, visit_id, about) DO UPDATE SET
			kind = excluded.kind, on_day = excluded.on_day, told_on = excluded.told_on, message_id = NULL
		 WHERE told.told_on < excluded.told_on`,
		in.tx.club, member, uid, kind, on, toldOn, apiary)
	return err
}
