// Package records reads and writes the portable forms of a club's records:
// the JSON document, lists of openings as CSV, and the rules file as TOML.
//
// A form is read whole or not at all. Whatever is wrong with it comes back as
// Problems, each naming the line, the path, the value and what is allowed.
//
// # The document
//
// A file of one club is an object with the keys club, rules, apiaries, boxes,
// visits and told. Days are written 2027-05-31, times of day 07:00, gaps in millimetres.
// (o) marks what may be left out.
//
//	club       name, members, kinds (o), recalibration (o)
//	recalibration  made_on, openings, hard {intercept, slope}, stuck: how the odds are
//	           corrected by what the club found
//	member     name, email, role, phone (o), apiaries (o), timezone (o), language (o),
//	           units (o), preferences (o), no_go (o)
//	           apiaries: the names of those that the member looks after
//	preferences (all o)  days_before, send_at, mute, paused_until,
//	           visit_hours {from, until}, long_mail, invitations (a calendar
//	           answers them), and what the member can give: hours_a_day,
//	           visits_a_week, weekdays
//	period     from, until (o: not known yet), reason (o)
//	kind       name, depth_mm, empty_kg, full_kg, frames, and (o) width_mm,
//	           inside_mm, frame_mm, frame_length_mm, top_bar_mm, rest_mm
//	rules (o)  the keys of the rules file as an object; left out: the defaults
//	apiary     name, latitude, longitude, elevation_m, timezone, hives,
//	           season_shift_days (o), region (o), seen (o), weekdays (o: any), travel_hours (o),
//	           trip (o: apiaries of one name are one journey), access_notes (o), no_go (o), standstill (o), keepers (o)
//	           region: whose stage dates hold there, or by-place: those of where
//	           it lies. Left out it is by-place, and continental where there is a
//	           shift: before there were regions, shifts were from that table
//	           seen (all o): days observed there, as lists: first-pollen,
//	           supers-on, supers-off
//	           keepers: the members who look after it, the lead first, where
//	           that is not the order of the members
//	hive       name, boxes from the bottom up, bee_space (o), leave_alone (o),
//	           requeened (o: days), retired_on (o), events (o: by day)
//	event      what happened to the colony: id (a UUID), on, what (swarmed, requeened, split,
//	           united, moved, sold, died, new-colony), and (o) other {apiary, hive} (that a
//	           split made, or that took the boxes in), from_apiary (where it stood), queen
//	           (unknown, stays, goes), boxes {hive, box, position, listed, openings} (that went,
//	           from where in the stack, whether it had places, and how many openings it had),
//	           under {hive, box} (the other stack before), alone (as leave_alone), ended (the hive, with
//	           it), whom (sold to), note, by. Boxes are named by where they stand today
//	box        name, kind, set_up_on, openings, retired_on (o), repaired (o:
//	           days), places (o: always on this hive), guessed_on (o: the day on which
//	           set_up_on was guessed, since nobody knew when it was last opened, or was
//	           taken to be that of its first opening),
//	           guess_answered (o: true once somebody was asked)
//	place      from, where (hive, store, lent, retired), and (o) apiary, hive,
//	           position, lent_to, until
//	opening    on, joint (null: nobody said how hard, and scraped may be left
//	           out), frames (o or null: no frame was tried), scraped, or difficulty
//	           in place of joint and frames; id (o), supersedes (o),
//	           void (o), left_shut (o), gaps (o), condition (o), note (o), by (o: who
//	           wrote it down), opened_by (o: the member who opened the box, where
//	           that was another) or opened_by_name (o: somebody without an account;
//	           empty where nobody knows who), said (o)
//	           scraped may be left out beside difficulty, void and left_shut
//	said       made_on, openings, hard, stuck, model_hard, model_stuck, and (o) rules,
//	           recalibrated_on: what was said before the opening was made
//	gap        at, and mm or peg or both
//	boxes (o)  boxes that stand on no hive
//	visit (o)  apiary, on, status, and (o) uid, sequence, pinned, for, seen_on,
//	           who, no_time (nobody was asked), boxes {hive, box, due, reason, odds, stuck}, not_boxes {hive, box},
//	           not_opened {hive, box} (of a done visit, as somebody said), ticks
//	told (o)   member, kind, told_on, and visit (its uid) or apiary, on (o: the visit's day
//	           as it was told): what a member was mailed last, so that nobody is again
//	tick       step, on, and (o) hive, box, by: a step of the visit's checklist that was
//	           done at a box, at a hive, or at the apiary
//	           a box on no hive is named without a hive, and by nth among
//	           several of one name; one at another apiary with its apiary
//
// Members are named by their e-mail addresses in by, opened_by, who and keepers. Names are
// unique where they are looked up: members' addresses and apiaries in the club,
// hives in their apiary, boxes in their hive. A box with retired_on, or whose last
// place is no hive, is read from under a hive as well, and written under boxes.
package records
