-- Two invented clubs as they stood in a database at version 9: at least one row
-- of every table, and every value that a later migration moves or checks.
-- Frozen: a later migration is tried on this as it is.

INSERT INTO person (id, email, sessions_since, refused_at, refused_reply) VALUES
    (1, 'ansel@example.org', '-infinity', NULL, NULL),
    (2, 'Brida@example.org', '2027-03-01 10:00+00', '2027-04-02 06:00+00', '550 no such user');

INSERT INTO club (id, name, feed_version) VALUES (1, 'Old Mill Beekeepers', 41), (2, 'Far Ridge Bees', 7);

INSERT INTO member (club_id, id, person_id, name, role, timezone, language, units, days_before, send_at, mute,
                    paused_until, visit_from, visit_until) VALUES
    (1, 11, 1, 'Ansel Whitlow', 'organiser', '', '', '', NULL, NULL, '{}', NULL, NULL, NULL),
    (1, 12, 2, 'Brida Okonjo', 'keeper', 'Europe/Vienna', 'de', 'in', '{0,7,60}', 390,
     '{digest,day,overdue,escalation,moved}', '2027-08-01', 540, 1020),
    (2, 21, 2, 'Brida', 'organiser', 'Europe/Vienna', 'en', 'mm', '{}', 0, '{overdue}', NULL, NULL, NULL);

INSERT INTO rules (club_id, version, document, author_id, note) VALUES
    (1, 1, '{}', NULL, 'as it comes'),
    (1, 2, '{"odds_limit": 0.15}', 11, 'after a stuck spring'),
    (2, 1, '{}', 21, '');

INSERT INTO box_kind (club_id, name, depth_mm, empty_kg, full_kg, frames, width_mm, inside_mm, frame_mm,
                      frame_length_mm, top_bar_mm, rest_mm) VALUES
    (1, 'nuc', 240, 4, 17, 5, 0, 0, 0, 0, 0, 0),
    (1, 'half', 170, 5.5, 20, 11, 412, 467, 159, 448, 483, 9.5);

INSERT INTO apiary (club_id, id, name, latitude, longitude, elevation_m, timezone, travel_hours, season_shift_days,
                    weekdays, access_notes, planned_on, planned_rules) VALUES
    (1, 101, 'Orchard', 47.5, 15.2, 640, 'Europe/Vienna', 0.5, -6, 96, 'gate 4711', '2027-06-01', 2),
    (1, 102, 'Quarry', 48.5, 15, 300, 'Europe/Vienna', NULL, 0, 0, '', NULL, NULL),
    (2, 201, 'Orchard', -37.8, 145, 31, 'Australia/Melbourne', 2, 0, 0, '', '2027-06-01', 1);

INSERT INTO apiary_keeper (club_id, apiary_id, member_id, position) VALUES (1, 101, 12, 1), (1, 101, 11, 2), (2, 201, 21, 1);

INSERT INTO hive (club_id, id, apiary_id, name, bee_space, requeened, retired_on) VALUES
    (1, 1001, 101, 'Larch', 'top', '{2025-06-03,2026-06-10}', NULL),
    (1, 1002, 102, 'Birch', '', '{}', NULL),
    (1, 1003, 102, 'Alder', 'bottom', '{}', '2026-10-01'),
    (2, 2001, 201, 'Wattle', '', '{}', NULL);

INSERT INTO box (club_id, id, name, kind, set_up_on, retired_on, repaired, hive_id, position) VALUES
    (1, 10001, 'R14', 'deep', '2025-05-01', NULL, '{2026-01-15}', 1001, 1),
    (1, 10002, 'R15', 'half', '2025-05-01', NULL, '{}', 1001, 2),
    (1, 10003, 'S1', 'medium', '2025-05-01', NULL, '{}', NULL, NULL),
    (1, 10004, 'S2', 'nuc', '2024-05-01', '2026-09-01', '{}', NULL, NULL),
    (1, 10005, 'B1', 'deep', '2025-05-01', NULL, '{}', 1002, 1),
    (2, 20001, 'W1', 'deep', '2025-05-01', NULL, '{}', 2001, 1);

INSERT INTO box_place (club_id, box_id, n, from_day, place, hive_id, position, lent_to, until_day) VALUES
    (1, 10003, 1, '2025-05-01', 'hive', 1003, 1, '', NULL),
    (1, 10003, 2, '2026-10-01', 'store', NULL, 0, '', NULL),
    (1, 10003, 3, '2027-02-01', 'lent', NULL, 0, 'Far Ridge Bees', '2027-09-01'),
    (1, 10004, 1, '2024-05-01', 'store', NULL, 0, '', NULL),
    (1, 10004, 2, '2026-09-01', 'retired', NULL, 0, '', NULL);

INSERT INTO leave_alone (club_id, id, kind, hive_id, apiary_id, member_id, from_day, until_day, reason) VALUES
    (1, 1, 'leave-alone', 1001, NULL, NULL, '2027-06-21', '2027-07-01', 'new queen'),
    (1, 2, 'standstill', NULL, 102, NULL, '2027-05-20', NULL, 'foul brood order'),
    (1, 3, 'no-go', NULL, 101, NULL, '2027-07-10', '2027-07-12', 'hay'),
    (1, 4, 'no-go', NULL, NULL, 12, '2027-06-04', '2027-06-05', '');

INSERT INTO opening (club_id, id, box_id, on_day, joint, frames, left_shut, scraped, condition, note, by_member,
                     supersedes, void) VALUES
    (1, '00000000-0000-4000-8000-000000000001', 10001, '2026-04-20', 2, 1, false, 'all', '{warped}', 'zäh', 12, NULL, false),
    (1, '00000000-0000-4000-8000-000000000002', 10001, '2026-04-20', 3, -1, false, 'part',
     '{warped,cracked,rot,corner-loose,rest-worn,lug-broken,frame-broken,frame-missing}', '', 12,
     '00000000-0000-4000-8000-000000000001', false),
    (1, '00000000-0000-4000-8000-000000000003', 10002, '2026-05-02', 4, -1, true, 'none', '{}', '', NULL, NULL, false),
    (1, '00000000-0000-4000-8000-000000000004', 10002, '2026-05-02', 0, -1, false, '', '{}', 'wrong box', 11,
     '00000000-0000-4000-8000-000000000003', true),
    (2, '00000000-0000-4000-8000-000000000005', 20001, '2026-11-01', 1, 0, false, 'all',
     '{comb-damaged,wax-moth,hive-beetle,lid-damaged,floor-damaged,excluder-bent,mixed-makers,brood-suspect}', '', 21, NULL, false);

INSERT INTO gap (club_id, opening_id, n, at, mm, peg) VALUES
    (1, '00000000-0000-4000-8000-000000000002', 1, 'above-frames', 8.5, ''),
    (1, '00000000-0000-4000-8000-000000000002', 2, 'between-frames', 0, 'thin-goes'),
    (1, '00000000-0000-4000-8000-000000000002', 3, 'end-bar-to-box', 0, 'thin-wont-go'),
    (1, '00000000-0000-4000-8000-000000000002', 4, 'frame-to-wall', 0, 'thick-goes'),
    (1, '00000000-0000-4000-8000-000000000002', 5, 'between-boxes', 12.7, ''),
    (1, '00000000-0000-4000-8000-000000000002', 6, 'below-frames', 25, ''),
    (1, '00000000-0000-4000-8000-000000000002', 7, 'entrance', 100, ''),
    (1, '00000000-0000-4000-8000-000000000002', 8, 'frame-lug', 1.5, '');

-- Taken off visits: two boxes, one box twice, one that is gone, and nothing.
INSERT INTO visit (club_id, id, uid, apiary_id, on_day, status, sequence, pinned, not_boxes, duty, day0,
                   cancelled_until) VALUES
    (1, 501, 'visit-501', 101, '2027-06-12', 'confirmed', 3, true, '{10002,10001}', '', '2027-05-20', NULL),
    (1, 502, 'visit-502', 101, '2027-09-20', 'tentative', 0, false, '{10002,10002,99999}', 'visit', '2027-05-21', NULL),
    (1, 503, 'visit-503', 102, '2027-05-01', 'done', 2, false, '{}', 'opening', NULL, NULL),
    (1, 504, 'visit-504', 102, '2027-04-01', 'missed', 1, false, '{}', '', '2027-03-01', NULL),
    (2, 601, 'visit-601', 201, '2027-10-01', 'cancelled', 5, false, '{20001}', '', '2027-05-22', '2027-07-01');

INSERT INTO visit_box (club_id, visit_id, n, box_id, due, reason, odds) VALUES
    (1, 502, 1, 10002, '2027-10-01', 'odds', 0.19), (1, 502, 2, 10001, NULL, 'above', 0),
    (1, 503, 1, 10005, '2027-05-03', 'required', 0.02), (1, 504, 1, 10005, '2027-04-02', 'longest-wait', 1),
    (2, 601, 1, 20001, NULL, '', 0.5);

INSERT INTO visit_member (club_id, visit_id, member_id, n) VALUES (1, 501, 12, 1), (1, 501, 11, 2);

INSERT INTO due (club_id, box_id, apiary_id, hive_id, since, last_opened, last_hard, odds_day, due, reason, moved,
                 left_alone) VALUES
    (1, 10001, 101, 1001, '2026-04-20', '2026-04-20', 3, '2027-06-12', '2027-06-12', 'odds', 'out of winter', ''),
    (1, 10002, 101, 1001, '2025-05-01', NULL, -1, NULL, '2027-10-01', 'longest-wait', '', ''),
    (1, 10005, 102, 1002, '2025-05-01', NULL, -1, NULL, '2027-05-03', 'required', 'out of days when every keeper is away', 'standstill: foul brood order'),
    (2, 20001, 201, 2001, '2026-11-01', '2026-11-01', 1, NULL, NULL, '', '', '');

INSERT INTO box_state (club_id, box_id, on_day, sealing_days, rate_mean, rate_variance, odds, overdue) VALUES
    (1, 10001, '2027-06-01', 212.5, 0.31, 0.2, 0.41, false), (1, 10002, '2027-06-01', 402, 0, 0.45, 0.33, true),
    (1, 10005, '2027-06-01', 0, -0.2, 0.45, 0, true), (2, 20001, '2027-06-01', 96, 0.1, 0.4, 1, false);

INSERT INTO message (club_id, id, key, kind, member_id, address, on_day, reason, items, message_id, state, sent_at,
                     closed_at, attempts, last_attempt_at, reply) VALUES
    (1, 1, 'daily/1/12/2027-05-20', 'digest', 12, 'Brida@example.org', '2027-05-20', 'days-before',
     '[{"kind": "digest", "visit_uid": "visit-501"}]', 'm1', 'sent', '2027-05-20 05:00+00', NULL, 1, '2027-05-20 05:00+00', '250 ok'),
    (1, 2, 'daily/1/12/2027-05-21', 'moved', 12, 'Brida@example.org', '2027-05-21', '', '[]', 'm2', 'owed', NULL, NULL, 0, NULL, ''),
    (1, 3, 'daily/1/11/2027-05-21', 'overdue', 11, 'ansel@example.org', '2027-05-21', '', '[]', 'm3', 'passed-over', NULL, '2027-05-21 05:00+00', 0, NULL, 'late'),
    (1, 4, 'daily/1/11/2027-05-22', 'escalation', NULL, 'cato@example.org', '2027-05-22', '', '[]', 'm4', 'refused', NULL, '2027-05-22 05:00+00', 2, '2027-05-22 05:00+00', '550'),
    (1, 5, 'daily/1/11/2027-05-23', 'day', 11, 'ansel@example.org', '2027-05-23', '', '[]', 'm5', 'given-up', NULL, '2027-05-27 05:00+00', 9, '2027-05-27 05:00+00', 'no route'),
    (2, 6, 'daily/2/21/2027-05-20', 'day', 21, 'Brida@example.org', '2027-05-20', '', '[]', 'm6', 'sent', '2027-05-20 05:00+00', NULL, 1, '2027-05-20 05:00+00', '250 ok');

INSERT INTO told (club_id, member_id, visit_id, about, kind, on_day, told_on, message_id) VALUES
    (1, 12, 501, '', 'moved', '2027-06-12', '2027-05-21', 2),
    (1, 12, 504, '', 'digest', NULL, '2027-03-25', NULL),
    (1, 11, NULL, 'overdue', 'overdue', NULL, '2027-05-21', 3),
    (1, 11, NULL, 'escalation', 'escalation', NULL, '2027-05-22', NULL);

INSERT INTO decided (club_id, at) VALUES (1, '2027-06-01 04:00+00'), (2, '-infinity');

INSERT INTO calendar_link (club_id, id, token_hash, kind, member_id, apiary_id, label, confirmed_only, alarms, timed, far,
                           exact_place, replaced_at, revoked_at, fetched_at, fetched_by, fetches) VALUES
    (1, 1, decode(repeat('a1', 32), 'hex'), 'member', 12, NULL, 'phone', true, true, true, true, true, NULL, NULL, '2027-05-30 10:00+00', 'a phone', 12),
    (1, 2, decode(repeat('a2', 32), 'hex'), 'apiary', 11, 101, 'shed', false, false, false, false, false, NULL, '2027-05-01 10:00+00', NULL, '', 0),
    (2, 3, decode(repeat('a3', 32), 'hex'), 'club', 21, NULL, '', false, false, false, false, false, '2027-05-01 10:00+00', NULL, NULL, '', 0);

INSERT INTO sessions (token, data, expiry) VALUES ('s1', '\x00', '2027-08-01 10:00+00');
INSERT INTO sign_in_token (token_hash, person_id, created_at, expires_at, used_at) VALUES
    (decode(repeat('b1', 32), 'hex'), 1, '2027-05-01 10:00+00', '2027-05-01 11:00+00', '2027-05-01 10:05+00'),
    (decode(repeat('b2', 32), 'hex'), 2, '2027-05-01 10:00+00', '2027-05-01 11:00+00', NULL);
INSERT INTO passkey (id, person_id, credential, data, label) VALUES (1, 1, '\x0102', '{"id": "AQI"}', 'phone');
INSERT INTO secret (name, value) VALUES ('mailed addresses', decode(repeat('c1', 32), 'hex'));
INSERT INTO audit (club_id, id, member_id, action, subject, detail) VALUES
    (1, 1, 11, 'change rules', 'version 2', '{"from": 1}'), (1, 2, NULL, 'import', 'records', NULL), (2, 3, 21, 'make link', 'club', NULL);
