-- +goose NO TRANSACTION
-- +goose Up

-- The rows that stood before the last step are read through: reading and
-- writing go on meanwhile. A row that violates a check ends this with its
-- name; put the row right and run it again.
ALTER TABLE due VALIDATE CONSTRAINT reason_is_known;
ALTER TABLE due VALIDATE CONSTRAINT last_hard_is_a_degree;
ALTER TABLE box_state VALIDATE CONSTRAINT odds_are_a_chance;
ALTER TABLE box_state VALIDATE CONSTRAINT numbers_are_finite;
ALTER TABLE gap VALIDATE CONSTRAINT place_is_known;
ALTER TABLE opening VALIDATE CONSTRAINT conditions_are_known;
ALTER TABLE message VALIDATE CONSTRAINT kind_is_known;
ALTER TABLE message VALIDATE CONSTRAINT items_are_a_list;
ALTER TABLE told VALIDATE CONSTRAINT kind_is_known;
ALTER TABLE told VALIDATE CONSTRAINT about_its_kind;
ALTER TABLE member VALIDATE CONSTRAINT days_before_are_days;
ALTER TABLE member VALIDATE CONSTRAINT muted_kinds_are_known;
ALTER TABLE hive VALIDATE CONSTRAINT requeened_on_days;
ALTER TABLE box VALIDATE CONSTRAINT repaired_on_days;
ALTER TABLE box_place VALIDATE CONSTRAINT place_in_the_stack;
ALTER TABLE box_kind VALIDATE CONSTRAINT sizes_are_of_boxes;
ALTER TABLE box_kind VALIDATE CONSTRAINT weights_are_of_boxes;
ALTER TABLE box_kind VALIDATE CONSTRAINT holds_some_frames;
ALTER TABLE rules VALIDATE CONSTRAINT document_is_an_object;

-- Keys lead with what a row is looked up by. That is its own id, or its
-- parent's, in all that hangs below an apiary: ids are given once in the whole
-- database, and a club may have a million of these rows. It is the club in what
-- a page lists club by club, newest first or by name: member, rules, box_kind,
-- message, calendar_link, audit. These two were looked up by a member and led
-- with the club all the same.
DROP INDEX CONCURRENTLY IF EXISTS message_of_member;
CREATE INDEX CONCURRENTLY message_of_member ON message (member_id, id) WHERE member_id IS NOT NULL;
DROP INDEX CONCURRENTLY IF EXISTS calendar_link_of_member;
CREATE INDEX CONCURRENTLY calendar_link_of_member ON calendar_link (member_id);
-- A message that is cleared away is looked for in what it told.
DROP INDEX CONCURRENTLY IF EXISTS told_of_message;
CREATE INDEX CONCURRENTLY told_of_message ON told (message_id) WHERE message_id IS NOT NULL;

SET lock_timeout = '10s';
DROP INDEX IF EXISTS message_member, calendar_link_member;
ALTER TABLE gap DROP CONSTRAINT IF EXISTS gap_at_check;
ALTER TABLE message DROP CONSTRAINT IF EXISTS message_kind_check;
RESET lock_timeout;

-- +goose Down
ALTER TABLE message ADD CONSTRAINT message_kind_check CHECK (kind <> '');
ALTER TABLE gap ADD CONSTRAINT gap_at_check CHECK (at <> '');
CREATE INDEX calendar_link_member ON calendar_link (club_id, member_id);
CREATE INDEX message_member ON message (club_id, member_id, id);
DROP INDEX told_of_message, calendar_link_of_member, message_of_member;
