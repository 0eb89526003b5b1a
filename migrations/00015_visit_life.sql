-- +goose Up

-- A visit whose day passed without a word is unanswered before it is missed,
-- and one that a person called off says until when its boxes are left alone.
ALTER TABLE visit DROP CONSTRAINT visit_status_check;
ALTER TABLE visit ADD CONSTRAINT visit_status_check
    CHECK (status IN ('tentative', 'confirmed', 'unanswered', 'done', 'missed', 'cancelled'));
ALTER TABLE visit
    ADD COLUMN off_until date,
    ADD COLUMN off_from  text NOT NULL DEFAULT '' CHECK (off_from IN ('', 'tentative', 'confirmed')),
    ADD CONSTRAINT off_while_cancelled CHECK (status = 'cancelled' OR off_until IS NULL AND off_from = '');
COMMENT ON COLUMN visit.off_until IS 'called off by a person: its boxes are not planned before this day';
COMMENT ON COLUMN visit.off_from IS 'and the state to take it back to';

-- Who goes: expected as the keeper of the place, going by their own word, or
-- not going, which planning remembers.
ALTER TABLE visit_member ADD COLUMN said text NOT NULL DEFAULT '' CHECK (said IN ('', 'going', 'cannot'));

-- What a person gets is counted over all clubs.
ALTER TABLE message ADD COLUMN free boolean NOT NULL DEFAULT false;
COMMENT ON COLUMN message.free IS 'not counted in what a person gets in a week';

CREATE FUNCTION mails_to_members(since date)
    RETURNS TABLE (person_id bigint, on_day date, club_id bigint, free boolean, weekly boolean)
    LANGUAGE sql STABLE SECURITY DEFINER SET search_path = pg_catalog, pg_temp
    AS $$ SELECT m.person_id, g.on_day, g.club_id, g.free, g.kind = 'escalation'
            FROM public.member mine
            JOIN public.member m ON m.person_id = mine.person_id
            JOIN public.message g ON g.club_id = m.club_id AND g.member_id = m.id
           WHERE mine.club_id = public.current_club() AND g.on_day >= since AND g.state IN ('owed', 'sent')
             AND g.kind NOT IN ('sign-in', 'invitation') $$;
COMMENT ON FUNCTION mails_to_members(date) IS
    'the days on which the people of a club were mailed, in whichever club: what one person is told a day has one limit';
REVOKE EXECUTE ON FUNCTION mails_to_members(date) FROM PUBLIC;
GRANT EXECUTE ON FUNCTION mails_to_members(date) TO pryday_app;

-- What was told about overdue boxes is kept by apiary.
ALTER TABLE told ADD COLUMN apiary_id bigint;
ALTER TABLE told ADD FOREIGN KEY (club_id, apiary_id) REFERENCES apiary (club_id, id) ON DELETE CASCADE;
ALTER TABLE told DROP CONSTRAINT about_its_kind;
INSERT INTO told (club_id, member_id, visit_id, about, kind, on_day, told_on, message_id, apiary_id)
SELECT t.club_id, t.member_id, NULL, t.kind || '/' || a.id, t.kind, t.on_day, t.told_on, t.message_id, a.id
  FROM told t JOIN apiary a ON a.club_id = t.club_id
 WHERE t.visit_id IS NULL;
DELETE FROM told WHERE visit_id IS NULL AND apiary_id IS NULL;
ALTER TABLE told ADD CONSTRAINT about_its_kind CHECK (about IN ('', kind) OR apiary_id IS NOT NULL AND about = kind || '/' || apiary_id);

-- One kind of message more: did you go?
ALTER TABLE message DROP CONSTRAINT kind_is_known, ADD CONSTRAINT kind_is_known CHECK (kind IN (
    'digest', 'day', 'overdue', 'escalation', 'moved', 'ask', 'sign-in', 'invitation', 'new-address', 'old-address'));
ALTER TABLE told DROP CONSTRAINT kind_is_known, ADD CONSTRAINT kind_is_known CHECK (kind IN (
    'digest', 'day', 'overdue', 'escalation', 'moved', 'ask', 'sign-in', 'invitation', 'new-address', 'old-address'));
ALTER TABLE member DROP CONSTRAINT muted_kinds_are_known, ADD CONSTRAINT muted_kinds_are_known CHECK (mute <@ ARRAY[
    'digest', 'day', 'overdue', 'escalation', 'moved', 'ask', 'sign-in', 'invitation', 'new-address', 'old-address']);

-- +goose Down
DELETE FROM told WHERE kind = 'ask' OR visit_id IS NULL;
DELETE FROM message WHERE kind = 'ask';
UPDATE member SET mute = array_remove(mute, 'ask');
ALTER TABLE member DROP CONSTRAINT muted_kinds_are_known, ADD CONSTRAINT muted_kinds_are_known CHECK (mute <@ ARRAY[
    'digest', 'day', 'overdue', 'escalation', 'moved', 'sign-in', 'invitation', 'new-address', 'old-address']);
ALTER TABLE told DROP CONSTRAINT kind_is_known, ADD CONSTRAINT kind_is_known CHECK (kind IN (
    'digest', 'day', 'overdue', 'escalation', 'moved', 'sign-in', 'invitation', 'new-address', 'old-address'));
ALTER TABLE message DROP CONSTRAINT kind_is_known, ADD CONSTRAINT kind_is_known CHECK (kind IN (
    'digest', 'day', 'overdue', 'escalation', 'moved', 'sign-in', 'invitation', 'new-address', 'old-address'));
ALTER TABLE told DROP CONSTRAINT about_its_kind, ADD CONSTRAINT about_its_kind CHECK (about IN ('', kind));
ALTER TABLE told DROP COLUMN apiary_id;
DROP FUNCTION mails_to_members(date);
ALTER TABLE message DROP COLUMN free;
DELETE FROM visit_member WHERE said = 'cannot';
ALTER TABLE visit_member DROP COLUMN said;
ALTER TABLE visit DROP COLUMN off_until, DROP COLUMN off_from;
UPDATE visit SET status = 'missed' WHERE status = 'unanswered';
ALTER TABLE visit DROP CONSTRAINT visit_status_check;
ALTER TABLE visit ADD CONSTRAINT visit_status_check
    CHECK (status IN ('tentative', 'confirmed', 'done', 'missed', 'cancelled'));
